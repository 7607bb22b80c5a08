"""Insets and outsets of shapes whose areas are known in closed form.

Sources: Steiner's formula for convex shapes (A + P r + pi r^2); tests/support/closed_forms.py: the flat floor
left at a depth limit is the shape inset by k D, and the volume of a V-carving without limit is 1/k times the
integral of the inset's area over the distance.
"""

import math
from collections.abc import Callable

import numpy as np
import pytest
import shapely
from shapely.geometry import MultiPolygon, Polygon, box

from tests.support.closed_forms import L_SHAPE, RECTANGLE, ClosedForm, forms, polygon_about
from workers.geometry.offsets import inset, inset_levels, outset
from workers.geometry.polygon_repair import region_of
from workers.values.region import Region

CASES = forms(
    "V-20", "V-21", "V-23", "V-24", "V-25", "V-26", "V-27", "V-28", "V-30", "V-31", "V-33", "V-34"
)  # fmt: skip


@pytest.mark.parametrize("form", CASES, ids=str)
def test_the_floor_at_a_depth_limit_has_the_area_worked_out(form: ClosedForm) -> None:
    """The inset's area is the case's, but for what round joins drawn with chords may add."""
    floor = inset(region_of(form.shape), form.limit_mm * form.slope)

    assert floor.polygons.area == pytest.approx(form.floor_mm2, rel=1e-4)


@pytest.mark.parametrize("form", CASES, ids=str)
def test_insets_add_up_to_the_volume_of_the_carving(form: ClosedForm) -> None:
    """Integrated over the distance (trapezia, 200 levels), the areas give the case's volume."""
    distances_mm = np.linspace(0, form.inscribed_mm, 201)

    areas_mm2 = [level.polygons.area for level in inset_levels(region_of(form.shape), distances_mm.tolist())]

    assert np.trapezoid(areas_mm2, distances_mm) / form.slope == pytest.approx(form.volume_mm3, rel=3e-4)


@pytest.mark.parametrize("distance_mm", [0.2, 3.0, 40.0])
@pytest.mark.parametrize("shape", [RECTANGLE, polygon_about(8, 3), polygon_about(12, 5)])
def test_an_outset_obeys_steiner(shape: Polygon, distance_mm: float) -> None:
    """A + P r + pi r^2."""
    expected_mm2 = shape.area + shape.length * distance_mm + math.pi * distance_mm**2

    assert outset(region_of(shape), distance_mm).polygons.area == pytest.approx(expected_mm2, rel=2e-4)


def test_an_inset_of_convex_corners_keeps_them_sharp() -> None:
    """A rectangle's inset is a rectangle."""
    assert inset(region_of(RECTANGLE), 3).polygons.equals(MultiPolygon([box(3, 3, 57, 17)]))


def wavy(rough_mm: float) -> Region:
    """Return a ring with a wavy outline of many small sides."""
    angle = np.linspace(0, 2 * math.pi, 3000)[:-1]
    radius = 20 + rough_mm * np.sin(7 * angle) + rough_mm / 9 * np.sin(61 * angle)
    around = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    return region_of(Polygon(around, [around[::-1] * 0.4]))


@pytest.mark.parametrize("distance_mm", [0.3, 1.7, 4.0])
@pytest.mark.parametrize("offset", [inset, outset])
def test_the_new_outline_is_at_the_distance_all_round(
    offset: Callable[[Region, float], Region], distance_mm: float
) -> None:
    """Measured every 0.05 mm by the library's own distance, it is nowhere 0.005 mm off."""
    region = wavy(2.0)

    found = offset(region, distance_mm)

    along = shapely.points(shapely.get_coordinates(found.polygons.segmentize(0.05)))
    off_mm = shapely.distance(along, region.polygons.boundary) - distance_mm
    assert np.abs(off_mm).max() < 0.005


def test_holes_grow_when_the_area_shrinks() -> None:
    """A hole is kept and grows by the same distance."""
    (frame,) = inset(region_of(box(0, 0, 60, 60) - box(20, 20, 40, 40)), 5).polygons.geoms

    (hole,) = frame.interiors
    assert Polygon(hole).area == pytest.approx(400 + 80 * 5 + math.pi * 25, rel=1e-4)


def test_an_inset_past_the_middle_is_empty() -> None:
    """Nothing is as far in as that."""
    assert inset(region_of(RECTANGLE), 10.001).polygons.is_empty


def test_no_distance_no_change() -> None:
    """An inset by nothing is the area itself."""
    region = region_of(L_SHAPE)

    assert inset(region, 0) is region
