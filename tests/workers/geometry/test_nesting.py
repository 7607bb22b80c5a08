"""Areas within areas: hairs between outlines go, what is wide enough stays as it was."""

import numpy as np
import pytest
import shapely
from shapely.geometry import MultiPolygon, Polygon, box

from tests.support.specimens import disc, region
from workers.geometry.nesting import nested, opened
from workers.geometry.polygon_repair import is_on_grid, on_grid
from workers.values.region import Region

OUTER = region(box(0, 0, 60, 30))


def wavering(shape: Polygon, by_mm: float) -> Polygon:
    """The same outline, read another time: each corner off by up to a distance."""
    noise = np.random.default_rng(7)
    corners_mm = shapely.get_coordinates(shapely.segmentize(shape, 0.7))[:-1]
    return Polygon(corners_mm + noise.uniform(-by_mm, by_mm, corners_mm.shape))


def test_an_outline_read_twice_becomes_one() -> None:
    """The right half of a bar, its three outer sides off by up to 0.03 mm: those become the bar's own."""
    inner = region(wavering(box(30, 0, 60, 30), 0.03))

    found = nested(OUTER, inner, 0.1)

    rim = OUTER.polygons.difference(found.polygons)
    assert isinstance(rim, Polygon)
    assert rim.bounds == pytest.approx((0, 0, 30, 30), abs=0.05)
    assert rim.boundary.intersection(box(30.1, -1, 61, 31)).is_empty
    assert found.polygons.difference(OUTER.polygons).area < 1e-4


def test_what_is_wide_enough_stays_as_it_was() -> None:
    """A disc well inside, and a ring of 0.3 mm left round another: no corner moves by more than the grid."""
    inner = region(disc(15, 15, 8), disc(45, 15, 14.7))

    found = nested(OUTER, inner, 0.1)

    assert found.polygons.symmetric_difference(on_grid(inner.polygons).polygons).area < 1e-3
    assert shapely.hausdorff_distance(found.polygons, inner.polygons) < 1e-4


def test_a_narrow_rim_goes_all_round() -> None:
    """A rim of 0.05 mm on all sides: both areas are the same afterwards."""
    found = nested(OUTER, region(box(0.05, 0.05, 59.95, 29.95)), 0.1)

    assert found.polygons.equals(OUTER.polygons)


def test_what_reaches_beyond_is_cut_off_and_dust_is_left_out() -> None:
    """Ink beside the outer area is none, and a speck narrower than a rim neither."""
    found = nested(OUTER, region(box(50, 10, 70, 20), box(10, 10, 10.05, 10.05)), 0.1)

    assert found.polygons.bounds == (50, 10, 60, 20)


def test_the_result_is_on_the_grid() -> None:
    """As all ink is: a design read back from a file is the same design."""
    assert is_on_grid(nested(region(disc(30, 30, 20)), region(disc(36, 30, 14.0)), 0.1))


def test_an_inner_area_may_be_missing_or_all() -> None:
    """Nothing stays nothing; everything stays everything."""
    assert nested(OUTER, Region(MultiPolygon()), 0.1).polygons.is_empty
    assert nested(OUTER, region(box(-9, -9, 99, 99)), 0.1).polygons.equals(OUTER.polygons)


@pytest.mark.parametrize("corner_deg", [30, 60, 90, 120])
def test_corners_of_what_is_wide_stay_sharp(corner_deg: float) -> None:
    """An isosceles triangle with such a corner at its top keeps its area to a ten-thousandth."""
    half_mm = 20 * np.tan(np.radians(corner_deg) / 2)
    wedge = Polygon([(-half_mm, 0), (half_mm, 0), (0, 20)])

    assert opened(wedge, 0.1).area == pytest.approx(wedge.area, rel=1e-4)
