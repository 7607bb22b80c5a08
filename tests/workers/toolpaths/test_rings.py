"""Rings inside rings: complete, inner ones first, linked only through the area."""

import itertools

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon, box

from tests.support.specimens import disc, region
from workers.geometry.medial_axis import medial_axis
from workers.toolpaths.groove import Groove, floor_middles
from workers.toolpaths.rings import Room, covering, linked_rings, pockets, ring_levels
from workers.values.region import Region

ANNULUS = region(Polygon(disc(0, 0, 20).exterior, [disc(0, 0, 8).exterior]))
SQUARE = region(box(0, 0, 40, 40))


def test_levels_go_on_until_nothing_is_left() -> None:
    """A 40 mm square at 3 mm: itself, six insets, and an empty one."""
    levels = ring_levels(SQUARE, 3.0)

    assert [round(level.polygons.area) for level in levels if not level.polygons.is_empty] == [
        (40 - 6 * number) ** 2 for number in range(7)
    ]


def test_inner_rings_come_before_outer_ones() -> None:
    """The last ring is the one along the wall."""
    [rings] = pockets(ring_levels(SQUARE, 3.0))
    lengths_mm = [ring.length_mm for ring in rings]

    assert lengths_mm == sorted(lengths_mm)
    assert lengths_mm[-1] == 160


def test_rings_round_an_island_follow_one_another() -> None:
    """Those of the rim come in a row, then those of the island: two long runs, not one jump a ring."""
    [rings] = pockets(ring_levels(ANNULUS, 1.0))

    runs = linked_rings(rings, Room(ANNULUS), 2.0)

    assert sum(len(run) for run in runs) == len(rings)
    assert len(runs) <= 2


def test_links_never_cross_an_island() -> None:
    """However long they may be."""
    two = region(box(0, 0, 40, 10).difference(box(19, 2, 21, 8)))
    [rings] = pockets(ring_levels(two, 1.0))

    for run in linked_rings(rings, Room(two), 1000.0):
        for before, after in itertools.pairwise(run):
            link = LineString([before.points_mm[-1], after.points_mm[0]])
            assert two.polygons.buffer(0.004).covers(link)


def test_separate_areas_are_separate_pockets() -> None:
    """Nothing links them."""
    assert len(pockets(ring_levels(region(box(0, 0, 9, 9), box(20, 0, 29, 9)), 2.0))) == 2


def test_no_area_has_no_rings() -> None:
    """Empty in, empty out."""
    assert pockets(ring_levels(Region(MultiPolygon()), 1.0)) == []


@pytest.mark.parametrize(
    "shape",
    [
        box(0, 0, 13.1, 7.3),
        Polygon([(0, 0), (30, 0), (30, 5)]),
        Polygon([(0, 0), (20, 2), (0, 4), (5, 2)]),
        disc(0, 0, 6.7, 90).difference(disc(1, 0, 2.2, 60)),
        box(0, 0, 20, 6).union(box(0, 0, 6, 20)),
    ],
    ids=["rectangle", "sharp wedge", "arrow", "eccentric ring", "L"],
)
def test_no_point_is_far_from_rings_lines_and_edge(shape: Polygon) -> None:
    """Random points of the area: none farther than 0.6 of a step and the rounding from what is run."""
    area, step_mm = region(shape), 0.5
    middles = floor_middles(medial_axis(area), Groove(slope=1.0, tip_radius_mm=0.0, depth_mm=0.0))

    cover = covering(area, step_mm, 0.6 * step_mm, [line[:, :2] for line in middles.lines()], Room(area))

    run = shapely.union_all(
        [area.polygons.boundary]
        + [LineString(ring.points_mm) for level in cover.levels for part in level for ring in part]
        + [LineString(line) for line in cover.lines_mm]
    )
    x_mm, y_mm = np.random.default_rng(5).uniform(-8, 31, (2, 40_000))
    inside = shapely.contains_xy(area.polygons, x_mm, y_mm)
    shapely.prepare(run)
    far_mm = shapely.distance(run, shapely.points(x_mm[inside], y_mm[inside]))
    assert far_mm.max() <= 0.7 * step_mm
    assert np.quantile(far_mm, 0.999) <= 0.61 * step_mm
