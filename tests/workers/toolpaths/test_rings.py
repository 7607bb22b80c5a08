"""Rings inside rings: complete, inner ones first, linked only through the area."""

import itertools

from shapely.geometry import LineString, MultiPolygon, Polygon, box

from tests.support.specimens import disc, region
from workers.toolpaths.rings import Room, linked_rings, nested, pockets, ring_levels, ring_parts
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


def test_a_ring_far_from_those_outside_it_begins_a_part_of_its_own() -> None:
    """With a limit, what only happens to be a level further in is no neighbour."""
    near, far = region(box(1, 1, 9, 9)), region(box(30, 0, 39, 9))
    levels = [ring_parts(region(box(0, 0, 10, 10))), [*ring_parts(near), *ring_parts(far)]]

    assert [len(part) for part in nested(levels)] == [3]
    assert [len(part) for part in nested(levels, 1.5)] == [2, 1]
