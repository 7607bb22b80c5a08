"""Growth keeps parts apart and gaps open."""

import shapely
from shapely.geometry import MultiPolygon, Point, Polygon, box

from workers.geometry.polygon_repair import region_of
from workers.resolvability.topology import grown
from workers.values.region import Region

ROOM_MM = 0.5


def counts(region: Region) -> tuple[int, int]:
    """Return how many parts and holes a region has."""
    parts = region.polygons.geoms
    return len(parts), sum(len(part.interiors) for part in parts)


def test_growth_that_harms_nothing_is_taken_whole() -> None:
    """A block with a block beside it becomes one larger block."""
    result = grown(region_of(box(0, 0, 4, 4)), box(3.9, 1, 6, 3), ROOM_MM)

    assert result.polygons.symmetric_difference(box(0, 0, 4, 4) | box(3.9, 1, 6, 3)).area < 1e-9


def test_a_bridge_between_two_parts_is_taken_back() -> None:
    """Two parts stay two, and other growth stays."""
    parts = region_of(MultiPolygon([box(0, 0, 4, 4), box(6, 0, 10, 4)]))
    bridge, knob = box(3.9, 1, 6.1, 2), box(-1, 1, 0.1, 2)

    result = grown(parts, MultiPolygon([bridge, knob]), ROOM_MM)

    assert counts(result) == (2, 0)
    assert result.polygons.covers(knob)


def test_a_bay_that_growth_would_close_is_opened_again() -> None:
    """A lid on a cup makes a hole of the bay: it is taken back, growth elsewhere is not."""
    cup = region_of(box(0, 0, 10, 10) - box(2, 2, 8, 11))
    lid, knob = box(1.9, 9, 8.1, 10), box(-1, 1, 0.1, 2)

    result = grown(cup, MultiPolygon([lid, knob]), ROOM_MM)

    assert counts(result) == (1, 0)
    assert result.polygons.covers(knob)


def test_a_hole_is_never_filled() -> None:
    """Growth over all of a hole is taken back there."""
    ring = region_of(Point(0, 0).buffer(3) - Point(0, 0).buffer(1))

    result = grown(ring, Point(0, 0).buffer(1.5), ROOM_MM)

    assert counts(result) == (1, 1)


def test_a_hole_is_never_split() -> None:
    """Growth across a hole would make two of it."""
    frame = region_of(box(0, 0, 10, 10) - box(2, 2, 8, 8))

    result = grown(frame, box(4, 1, 5, 9), ROOM_MM)

    assert counts(result) == (1, 1)


def test_a_tiny_pocket_in_new_ink_is_filled() -> None:
    """A speck of paper left inside growth would only break out."""
    pierced = box(3.9, 1, 6, 3) - box(5, 2, 5.1, 2.1)

    result = grown(region_of(box(0, 0, 4, 4)), pierced, ROOM_MM)

    assert counts(result) == (1, 0)


def test_a_tiny_hole_of_the_drawing_stays() -> None:
    """A speck that was drawn is not filled."""
    drawing = region_of(box(0, 0, 4, 4) - box(2, 2, 2.1, 2.1))

    assert counts(grown(drawing, box(3.9, 1, 6, 3), ROOM_MM)) == (1, 1)


def test_growth_that_stands_apart_is_dropped() -> None:
    """No new part appears."""
    result = grown(region_of(box(0, 0, 4, 4)), box(5, 5, 6, 6), ROOM_MM)

    assert counts(result) == (1, 0)
    assert result.polygons.area == 16


def test_an_island_in_a_hole_stays_an_island() -> None:
    """A part inside another's hole is a part of its own and may not be joined to it."""
    target = region_of(shapely.union(box(0, 0, 10, 10) - box(2, 2, 8, 8), box(4, 4, 6, 6)))
    spoke = Polygon([(1.9, 4.5), (4.1, 4.5), (4.1, 5.5), (1.9, 5.5)])

    assert counts(grown(target, spoke, ROOM_MM)) == (2, 1)


def test_rings_within_rings_may_grow() -> None:
    """The middle of a hole may lie in a hole of the island in it; that is no fault of growth."""
    target = region_of(
        shapely.union(
            Point(0, 0).buffer(10) - Point(0, 0).buffer(9), Point(0, 0).buffer(5) - Point(0, 0).buffer(4)
        )
    )
    knob = box(9.5, -1, 12, 1)

    result = grown(target, knob, ROOM_MM)

    assert counts(result) == (2, 2)
    assert result.polygons.covers(knob)


def test_growth_that_cannot_be_mended_is_left_out_and_the_rest_is_kept() -> None:
    """A plate over all of a bay, far wider than any ring taken back: without it the knob still grows."""
    cup = region_of(box(0, 0, 100, 100) - box(2, 2, 98, 101))
    lid, knob = box(1.9, 50, 98.1, 99), box(-1, 1, 0.1, 2)

    result = grown(cup, MultiPolygon([lid, knob]), 0.01)

    assert counts(result) == (1, 0)
    assert result.polygons.covers(knob)
