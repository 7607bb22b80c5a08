"""The designed surface against closed forms of V-carved shapes.

Source: the integral of the distance to the outline over elementary shapes (V-20 to V-36),
worked by hand and checked by 2-D quadrature and by the areas of polygon insets:
volume = 1/k times the integral of Area(inset by r) for r up to k D; floor = Area(inset by k D).
Dimensions mm.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from workers.values.cuts import InciseCut
from workers.values.cutter import VeeCutter
from workers.values.region import Region
from workers.verification.designed_depth import incised_depth
from workers.verification.grid import Grid

NO_LIMIT_MM = 60.0


def regular(sides: int, apothem: float) -> Polygon:
    """Return a regular polygon."""
    radius = apothem / math.cos(math.pi / sides)
    angles = [2 * math.pi * (corner + 0.5) / sides for corner in range(sides)]
    return Polygon([(radius * math.cos(angle), radius * math.sin(angle)) for angle in angles])


def disc(radius: float) -> Polygon:
    """Return a circle as 1440 chords of the true area."""
    share = math.pi / 720
    return Point(0, 0).buffer(radius * math.sqrt(share / math.sin(share)), quad_segs=360)


ELL = Polygon([(0, 0), (60, 0), (60, 12), (12, 12), (12, 40), (0, 40)])
TEE = box(-30, 0, 30, 12).union(box(-6, -30, 6, 0))
SHAPES: dict[str, BaseGeometry] = {
    "V-20 rectangle": box(0, 0, 60, 20),
    "V-21 square": box(0, 0, 40, 40),
    "V-22 circle": disc(10),
    "V-23 triangle": regular(3, 8),
    "V-24 hexagon": regular(6, 10),
    "V-25 annulus": disc(30).difference(disc(20)),
    "V-26 L": ELL,
    "V-27 right triangle": Polygon([(0, 0), (40, 0), (0, 30)]),
    "V-28 wedge": Polygon([(0, 0), (60, 0), (30, 12)]),
    "V-29 slot": box(-37, -3, 37, 3).union(Point(-37, 0).buffer(3, 360)).union(Point(37, 0).buffer(3, 360)),
    "V-30 cross": box(-30, -6, 30, 6).union(box(-6, -30, 6, 30)),
    "V-31 T": TEE,
    "V-32 half disc": disc(20).intersection(box(-30, 0, 30, 30)),
    "V-33 pentagon": regular(5, 12),
    "V-34 stroke": box(0, 0, 100, 3),
    "V-35 square frame": box(0, 0, 60, 60).difference(box(10, 10, 50, 50)),
    "V-36 ellipse": affinity.scale(disc(1), 30, 12),
}
CASES = [  # shape, included angle, deepest, volume without a limit, depth limit, volume at it, floor area
    ("V-20 rectangle", 60, 17.320508, 9237.604307, 6, 5633.231225, 693.743742),
    ("V-21 square", 90, 20.0, 10666.666667, 8, 8362.666667, 576.0),
    ("V-22 circle", 60, 17.320508, 1813.799364, 5, 1160.979717, 158.959268),
    ("V-23 triangle", 90, 8.0, 886.810013, 4, 775.958762, 83.138439),
    ("V-24 hexagon", 60, 17.320508, 2000.0, 10, 1849.001795, 61.880215),
    ("V-25 annulus", 60, 8.660254, 6801.747616, 4, 4832.145816, 845.276581),
    ("V-26 L", 60, 12.175342, 5268.697611, 5, 3895.160464, 513.771413),
    ("V-27 right triangle", 90, 10.0, 2000.0, 4, 1568.0, 216.0),
    ("V-28 wedge", 60, 10.006875, 1200.825027, 3, 788.578099, 176.503897),
    ("V-29 slot", 60, 5.196152, 1202.518421, 2, 754.679923, 283.801852),
    ("V-30 cross", 90, 8.485281, 3829.129099, 4, 3367.646023, 413.734518),
    ("V-31 T", 60, 12.990381, 5428.085452, 6, 4466.270700, 426.473715),
    ("V-32 half disc", 90, 10.0, 2411.012427, 5, 2008.275834, 206.255191),
    ("V-33 pentagon", 120, 6.928203, 1208.072229, 3, 987.874473, 168.166775),
    ("V-34 stroke", 30, 5.598076, 831.314317, 4, 764.546389, 83.804859),
    ("V-35 square frame", 90, 5.857864, 5041.398111, None, None, None),
    ("V-36 ellipse", 90, 12.0, 5540.627782, None, None, None),
]


def incise(angle_deg: float, limit_mm: float, tip_mm: float = 0.0) -> InciseCut:
    """Return an order for a V bit wide enough for anything."""
    return InciseCut(
        cutter=VeeCutter(
            name="v", diameter_mm=200, cutting_length_mm=100, flutes_count=2,
            included_angle_deg=angle_deg, tip_mm=tip_mm,
        ),
        depth_limit_mm=limit_mm,
    )  # fmt: skip


def region_of(shape: BaseGeometry, turn_deg: float = 11.0) -> Region:
    """Return a shape, turned so that its edges are in no row."""
    turned = affinity.rotate(shape, turn_deg, origin=(0, 0))
    return Region(turned if isinstance(turned, MultiPolygon) else MultiPolygon([turned]))


def grid_for(region: Region, cell_mm: float = 0.1) -> Grid:
    """Return a grid over a region, off its corners."""
    left, bottom, right, top = region.polygons.bounds
    return Grid(
        left_mm=left - 0.537, bottom_mm=bottom - 0.411, right_mm=right + 1, top_mm=top + 1, cell_mm=cell_mm
    )


@pytest.mark.parametrize(("name", "angle_deg", "deepest", "volume"), [case[:4] for case in CASES])
def test_without_a_limit_volume_and_depth_are_the_closed_forms(
    name: str, angle_deg: float, deepest: float, volume: float
) -> None:
    """Column "volume, no limit" to 0.02 %, and the inscribed circle's depth to a cell."""
    region = region_of(SHAPES[name])
    depth = incised_depth(region, incise(angle_deg, NO_LIMIT_MM), grid_for(region))
    k = math.tan(math.radians(angle_deg / 2))
    assert depth.sum(dtype=np.float64) * 0.01 == pytest.approx(volume, rel=2e-4)
    assert deepest - 0.08 / k <= depth.max() <= deepest + 1e-3


@pytest.mark.parametrize(
    ("name", "angle_deg", "limit", "volume", "floor"),
    [(case[0], case[1], case[4], case[5], case[6]) for case in CASES if case[4] is not None],
)
def test_at_a_limit_volume_and_floor_are_the_closed_forms(
    name: str, angle_deg: float, limit: float, volume: float, floor: float
) -> None:
    """Columns "volume at D" to 0.02 % and "floor area" to 0.2 %."""
    region = region_of(SHAPES[name])
    depth = incised_depth(region, incise(angle_deg, limit), grid_for(region))
    assert depth.sum(dtype=np.float64) * 0.01 == pytest.approx(volume, rel=2e-4)
    assert np.count_nonzero(depth >= limit - 1e-6) * 0.01 == pytest.approx(floor, rel=2e-3, abs=0.3)


@pytest.mark.parametrize("name", ["V-26 L", "V-29 slot", "V-31 T", "V-35 square frame"])
def test_every_cell_is_at_the_distance_that_a_general_library_finds(name: str) -> None:
    """min(D, d / k) with d by shapely (GEOS), to 0.001 mm, inside; 0 outside."""
    region = region_of(SHAPES[name])
    grid = grid_for(region, 0.5)
    depth = incised_depth(region, incise(60, 4), grid)
    rows, columns = np.indices(depth.shape)
    points = shapely.points(
        grid.left_mm + (columns + 0.5) * grid.cell_mm, grid.bottom_mm + (rows + 0.5) * grid.cell_mm
    )
    away = shapely.distance(region.polygons.boundary, points)
    inside = shapely.contains(region.polygons, points)
    expected = np.where(inside, np.minimum(4, away / math.tan(math.radians(30))), 0)
    assert np.abs(depth - expected).max() < 1e-3


@pytest.mark.parametrize("tip_mm", [0.1, 0.25, 0.8])
@pytest.mark.parametrize("angle_deg", [60, 90])
def test_a_flat_tip_leaves_a_trapezoid_in_a_long_stroke(tip_mm: float, angle_deg: float) -> None:
    """V-03: cross-section (w^2 - t^2) / (4 k), its floor t wide at depth (w - t) / (2 k).

    A long stroke's ends weigh little: compared over the middle rows only.
    """
    width, k = 3.0, math.tan(math.radians(angle_deg / 2))
    region = Region(MultiPolygon([box(0, 0, width, 30)]))
    grid = Grid(left_mm=-1.013, bottom_mm=-1, right_mm=5, top_mm=32, cell_mm=0.02)
    depth = incised_depth(region, incise(angle_deg, NO_LIMIT_MM, tip_mm), grid)
    row = depth[len(depth) // 2]
    assert row.sum() * grid.cell_mm == pytest.approx((width**2 - tip_mm**2) / (4 * k), rel=2e-3)
    assert row.max() == pytest.approx((width - tip_mm) / (2 * k), abs=2e-3)


@pytest.mark.parametrize("tip_mm", [0.1, 0.2, 1.0])
def test_a_flat_tip_spreads_the_depth_of_its_centre(tip_mm: float) -> None:
    """Against max over |p - x| <= q of min(D, (d(p) - q) / k), sought at 541 places with shapely (GEOS).

    The seeking finds at most what there is, so the surface may be a little deeper, and
    shallower by no more than the 0.003 mm sideways that is promised.
    """
    region = region_of(SHAPES["V-26 L"])
    grid = grid_for(region)
    limit, q, k = 5.0, tip_mm / 2, math.tan(math.radians(30))
    depth = incised_depth(region, incise(60, limit, tip_mm), grid)
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
        away = shapely.distance(region.polygons.boundary, places)
        away[~shapely.contains(region.polygons, places)] = 0
        expected = np.maximum(expected, np.minimum(limit, (away - q) / k))
    difference = depth[rows[picked], columns[picked]] - expected
    assert difference.min() > -0.003 / k
    assert difference.max() < 0.06 * q / k


def test_a_stroke_narrower_than_the_tip_is_not_cut() -> None:
    """Lost strokes: no place for the tip's centre."""
    region = Region(MultiPolygon([box(0, 0, 0.45, 20)]))
    assert not incised_depth(region, incise(60, 3, 0.5), grid_for(region, 0.05)).any()


def test_corners_are_rounded_by_the_tip() -> None:
    """A 90 degree corner misses (sqrt 2 - 1) q along its bisector: uncut there, cut just past it."""
    q, k = 0.5, math.tan(math.radians(45))
    region = Region(MultiPolygon([box(0, 0, 10, 10)]))
    grid = Grid(left_mm=-1, bottom_mm=-1, right_mm=11, top_mm=11, cell_mm=0.02)
    depth = incised_depth(region, incise(90, 3, 2 * q), grid)
    along = np.diagonal(depth)  # cell i has its centre at i * 0.02 - 0.99 on both axes
    first = (np.flatnonzero(along > 0)[0] + 0.5) * grid.cell_mm - 1
    assert k == pytest.approx(1)
    assert first * math.sqrt(2) == pytest.approx((math.sqrt(2) - 1) * q, abs=0.03)
