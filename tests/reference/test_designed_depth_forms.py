"""The designed surface against closed forms of V-carved shapes; dimensions mm.

Source: tests/support/closed_forms.py, unless a test names its own.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from tests.support.closed_forms import FORMS, ClosedForm, forms
from tests.support.specimens import incise, region
from workers.values.region import Region
from workers.verification.designed_depth import incised_depth
from workers.verification.grid import Grid

NO_LIMIT_MM = 60.0


def turned(shape: BaseGeometry) -> Region:
    """Return a shape as ink, turned so that its edges are in no row."""
    return region(affinity.rotate(shape, 11.0, origin=(0, 0)))


def grid_for(ink: Region, cell_mm: float = 0.1) -> Grid:
    """Return a grid over some ink, off its corners."""
    left, bottom, right, top = ink.polygons.bounds
    return Grid(
        left_mm=left - 0.537, bottom_mm=bottom - 0.411, right_mm=right + 1, top_mm=top + 1, cell_mm=cell_mm
    )


@pytest.mark.parametrize("form", FORMS.values(), ids=str)
def test_without_a_limit_volume_and_depth_are_the_closed_forms(form: ClosedForm) -> None:
    """Column "volume, no limit" to 0.02 %, and the inscribed circle's depth to a cell."""
    ink = turned(form.shape)
    depth = incised_depth(ink, incise(form.angle_deg, NO_LIMIT_MM), grid_for(ink))
    assert depth.sum(dtype=np.float64) * 0.01 == pytest.approx(form.volume_mm3, rel=2e-4)
    assert form.deepest_mm - 0.08 / form.slope <= depth.max() <= form.deepest_mm + 1e-3


@pytest.mark.parametrize("form", [form for form in FORMS.values() if form.limit_mm > 0], ids=str)
def test_at_a_limit_volume_and_floor_are_the_closed_forms(form: ClosedForm) -> None:
    """Columns "volume at D" to 0.02 % and "floor area" to 0.2 %."""
    ink = turned(form.shape)
    depth = incised_depth(ink, incise(form.angle_deg, form.limit_mm), grid_for(ink))
    assert depth.sum(dtype=np.float64) * 0.01 == pytest.approx(form.limited_mm3, rel=2e-4)
    floor_mm2 = np.count_nonzero(depth >= form.limit_mm - 1e-6) * 0.01
    assert floor_mm2 == pytest.approx(form.floor_mm2, rel=2e-3, abs=0.3)


@pytest.mark.parametrize("form", forms("V-26", "V-29", "V-31", "V-35"), ids=str)
def test_every_cell_is_at_the_distance_that_a_general_library_finds(form: ClosedForm) -> None:
    """min(D, d / k) with d by shapely (GEOS), to 0.001 mm, inside; 0 outside."""
    ink = turned(form.shape)
    grid = grid_for(ink, 0.5)
    depth = incised_depth(ink, incise(60, 4), grid)
    rows, columns = np.indices(depth.shape)
    points = shapely.points(
        grid.left_mm + (columns + 0.5) * grid.cell_mm, grid.bottom_mm + (rows + 0.5) * grid.cell_mm
    )
    away = shapely.distance(ink.polygons.boundary, points)
    inside = shapely.contains(ink.polygons, points)
    expected = np.where(inside, np.minimum(4, away / math.tan(math.radians(30))), 0)
    assert np.abs(depth - expected).max() < 1e-3


@pytest.mark.parametrize("tip_mm", [0.1, 0.25, 0.8])
@pytest.mark.parametrize("angle_deg", [60, 90])
def test_a_flat_tip_leaves_a_trapezoid_in_a_long_stroke(tip_mm: float, angle_deg: float) -> None:
    """V-03: cross-section (w^2 - t^2) / (4 k), its floor t wide at depth (w - t) / (2 k).

    A long stroke's ends weigh little: compared over the middle rows only.
    """
    width, k = 3.0, math.tan(math.radians(angle_deg / 2))
    ink = region(box(0, 0, width, 30))
    grid = Grid(left_mm=-1.013, bottom_mm=-1, right_mm=5, top_mm=32, cell_mm=0.02)
    depth = incised_depth(ink, incise(angle_deg, NO_LIMIT_MM, tip_mm), grid)
    row = depth[len(depth) // 2]
    assert row.sum() * grid.cell_mm == pytest.approx((width**2 - tip_mm**2) / (4 * k), rel=2e-3)
    assert row.max() == pytest.approx((width - tip_mm) / (2 * k), abs=2e-3)


@pytest.mark.parametrize("tip_mm", [0.1, 0.2, 1.0])
def test_a_flat_tip_spreads_the_depth_of_its_centre(tip_mm: float) -> None:
    """Against max over |p - x| <= q of min(D, (d(p) - q) / k), sought at 541 places with shapely (GEOS).

    The seeking finds at most what there is, so the surface may be a little deeper, and
    shallower by no more than the 0.003 mm sideways that is promised.
    """
    ink = turned(FORMS["V-26"].shape)
    grid = grid_for(ink)
    limit, q, k = 5.0, tip_mm / 2, math.tan(math.radians(30))
    depth = incised_depth(ink, incise(60, limit, tip_mm), grid)
    rows, columns = np.nonzero(depth > 0)
    picked = np.random.default_rng(5).choice(len(rows), 800, replace=False)
    x = grid.left_mm + (columns[picked] + 0.5) * grid.cell_mm
    y = grid.bottom_mm + (rows[picked] + 0.5) * grid.cell_mm
    expected = np.zeros(len(picked))
    for way, angle in [
        (0.0, 0.0),
        *[(s, a) for s in (0.2, 0.4, 0.6, 0.8, 0.9, 1.0) for a in range(0, 360, 4)],
    ]:
        places = shapely.points(
            x + way * q * math.cos(math.radians(angle)), y + way * q * math.sin(math.radians(angle))
        )
        away = shapely.distance(ink.polygons.boundary, places)
        away[~shapely.contains(ink.polygons, places)] = 0
        expected = np.maximum(expected, np.minimum(limit, (away - q) / k))
    difference = depth[rows[picked], columns[picked]] - expected
    assert difference.min() > -0.003 / k
    assert difference.max() < 0.06 * q / k


@pytest.mark.parametrize("off_mm", [(0.0, 0.0), (0.03, 0.02), (0.05, 0.05), (0.07, 0.01), (0.02, 0.08)])
@pytest.mark.parametrize("sides", [3, 4, 5])
def test_the_summit_of_a_shape_is_as_deep_wherever_it_lies_in_its_cell(
    sides: int, off_mm: tuple[float, float]
) -> None:
    """With an inscribed circle of radius r a regular polygon is (r - q) / k deep within q of its middle."""
    inner_mm, q, k = 2.0, 0.1, math.tan(math.radians(30))
    corners_mm = [
        (
            off_mm[0] + inner_mm / math.cos(math.pi / sides) * math.cos(0.3 + 2 * math.pi * number / sides),
            off_mm[1] + inner_mm / math.cos(math.pi / sides) * math.sin(0.3 + 2 * math.pi * number / sides),
        )
        for number in range(sides)
    ]
    grid = Grid(left_mm=-5, bottom_mm=-5, right_mm=5, top_mm=5, cell_mm=0.1)
    depth = incised_depth(region(shapely.Polygon(corners_mm)), incise(60, NO_LIMIT_MM, 2 * q), grid)

    centres_mm = grid.left_mm + (np.arange(grid.columns) + 0.5) * grid.cell_mm
    under = np.hypot(centres_mm - off_mm[0], centres_mm[:, np.newaxis] - off_mm[1]) < q - 1e-6
    assert under.any()
    assert depth[under].min() == pytest.approx((inner_mm - q) / k, abs=0.003 / k)
    assert depth.max() < (inner_mm - q) / k + 1e-4


def test_a_stroke_narrower_than_the_tip_is_not_cut() -> None:
    """Lost strokes: no place for the tip's centre."""
    ink = region(box(0, 0, 0.45, 20))
    assert not incised_depth(ink, incise(60, 3, 0.5), grid_for(ink, 0.05)).any()


def test_corners_are_rounded_by_the_tip() -> None:
    """A 90 degree corner misses (sqrt 2 - 1) q along its bisector: uncut there, cut just past it."""
    q, k = 0.5, math.tan(math.radians(45))
    ink = region(box(0, 0, 10, 10))
    grid = Grid(left_mm=-1, bottom_mm=-1, right_mm=11, top_mm=11, cell_mm=0.02)
    depth = incised_depth(ink, incise(90, 3, 2 * q), grid)
    along = np.diagonal(depth)  # cell i has its centre at i * 0.02 - 0.99 on both axes
    first = (np.flatnonzero(along > 0)[0] + 0.5) * grid.cell_mm - 1
    assert k == pytest.approx(1)
    assert first * math.sqrt(2) == pytest.approx((math.sqrt(2) - 1) * q, abs=0.03)
