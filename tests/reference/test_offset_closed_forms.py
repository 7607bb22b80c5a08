"""Insets and outsets of shapes whose areas are known in closed form.

Sources: Steiner's formula for convex shapes (A + P r + pi r^2); the trade's worked cases V-20 to V-34: the
flat floor left at a depth limit is the shape inset by k D, and the volume of a V-carving without limit is
1/k times the integral of the inset's area over the distance, whose closed forms stand in table 3.3.
"""

import math
from collections.abc import Callable

import numpy as np
import pytest
import shapely
from shapely.geometry import MultiPolygon, Point, Polygon, box

from workers.geometry.offsets import inset, inset_levels, outset
from workers.geometry.polygon_repair import region_of
from workers.values.region import Region


def polygon_about(apothem_mm: float, sides: int) -> Polygon:
    """Return a regular polygon round an inscribed circle."""
    angle = np.arange(sides) * 2 * math.pi / sides
    return Polygon(np.column_stack([np.cos(angle), np.sin(angle)]) * apothem_mm / math.cos(math.pi / sides))


RECTANGLE = box(0, 0, 60, 20)
L_SHAPE = Polygon([(0, 0), (60, 0), (60, 12), (12, 12), (12, 40), (0, 40)])
CROSS = shapely.union(box(-30, -6, 30, 6), box(-6, -30, 6, 30))
T_SHAPE = shapely.union(box(-30, 0, 30, 12), box(-6, -30, 6, 0))
ANNULUS = Point(0, 0).buffer(30, quad_segs=400) - Point(0, 0).buffer(20, quad_segs=400)

CASES = {  # shape, bit's angle, inset at the limit, floor area, volume without limit, largest radius
    "V-20": (RECTANGLE, 60, 3.464102, 693.743742, 9237.604307, 10.0),
    "V-21": (box(0, 0, 40, 40), 90, 8.0, 576.0, 10666.666667, 20.0),
    "V-23": (polygon_about(8, 3), 90, 4.0, 83.138439, 886.810013, 8.0),
    "V-24": (polygon_about(10, 6), 60, 5.773503, 61.880215, 2000.0, 10.0),
    "V-25": (ANNULUS, 60, 2.309401, 845.276581, 6801.747616, 5.0),
    "V-26": (L_SHAPE, 60, 2.886751, 513.771413, 5268.697611, 7.029437),
    "V-27": (Polygon([(0, 0), (40, 0), (0, 30)]), 90, 4.0, 216.0, 2000.0, 10.0),
    "V-28": (Polygon([(0, 0), (60, 0), (30, 12)]), 60, 1.732051, 176.503897, 1200.825027, 5.777472),
    "V-30": (CROSS, 90, 4.0, 413.734518, 3829.129099, 8.485281),
    "V-31": (T_SHAPE, 60, 3.464102, 426.473715, 5428.085452, 7.5),
    "V-33": (polygon_about(12, 5), 120, 5.196152, 168.166775, 1208.072229, 12.0),
    "V-34": (box(0, 0, 100, 3), 30, 1.071797, 83.804859, 831.314317, 1.5),
}


@pytest.mark.parametrize("name", CASES)
def test_the_floor_at_a_depth_limit_has_the_area_worked_out(name: str) -> None:
    """The inset's area is the case's, but for what round joins drawn with chords may add."""
    shape, _, distance_mm, floor_mm2, _, _ = CASES[name]

    assert inset(region_of(shape), distance_mm).polygons.area == pytest.approx(floor_mm2, rel=1e-4)


@pytest.mark.parametrize("name", CASES)
def test_insets_add_up_to_the_volume_of_the_carving(name: str) -> None:
    """Integrated over the distance (trapezia, 200 levels), the areas give the case's volume."""
    shape, angle_deg, _, _, volume_mm3, largest_mm = CASES[name]
    distances_mm = np.linspace(0, largest_mm, 201)

    areas_mm2 = [level.polygons.area for level in inset_levels(region_of(shape), distances_mm.tolist())]

    assert np.trapezoid(areas_mm2, distances_mm) / math.tan(math.radians(angle_deg / 2)) == pytest.approx(
        volume_mm3, rel=3e-4
    )


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
