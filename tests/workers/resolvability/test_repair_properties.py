"""What holds of any repair, on strokes made up by a general library."""

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString, MultiLineString

from tests.support.specimens import BASSWOOD, incise
from workers.geometry.polygon_repair import on_grid
from workers.resolvability.examine import examine
from workers.resolvability.repair import repair
from workers.resolvability.topology import parts_and_holes
from workers.resolvability.wishes import RepairWishes, Walls
from workers.values.cuts import InciseCut
from workers.values.examination import Verdict
from workers.values.region import Region

WOOD = replace(BASSWOOD, shows_depth_mm=0.4, thinnest_wall_mm=0.6)
CUT = incise(90, 3, 0.2)  # a stroke shows from 1 mm on
SOME = settings(deadline=None, max_examples=15)

places = st.tuples(st.integers(0, 16), st.integers(0, 10))
strokes = st.lists(st.lists(places, min_size=2, max_size=3, unique=True), min_size=1, max_size=3)
widths_mm = st.floats(0.3, 1.6)


def drawn(lines: list[list[tuple[int, int]]], width_mm: float) -> Region:
    """Return strokes of one width, 2.5 mm to the unit."""
    middle = MultiLineString([LineString([(2.5 * x, 2.5 * y) for x, y in line]) for line in lines])
    return on_grid(middle.buffer(width_mm / 2, quad_segs=8))


def thin_mm(region: Region, cut: InciseCut = CUT) -> float:
    """Return how much stroke does not show."""
    return sum(
        run.length_mm for run in examine(region, cut, WOOD).strokes if run.verdict is not Verdict.SHOWS
    )


@SOME
@given(strokes, widths_mm, st.sampled_from(list(Walls)))
def test_repairing_twice_changes_nothing(
    lines: list[list[tuple[int, int]]], width_mm: float, walls: Walls
) -> None:
    """Whatever is drawn and whatever becomes of walls."""
    wishes = RepairWishes(walls=walls)
    once = repair(drawn(lines, width_mm), CUT, WOOD, wishes=wishes).region

    assert repair(once, CUT, WOOD, wishes=wishes).region is once


@SOME
@given(strokes, widths_mm)
def test_a_repair_adds_ink_keeps_parts_and_holes_and_never_shows_less(
    lines: list[list[tuple[int, int]]], width_mm: float
) -> None:
    """Thickening is all it does."""
    before = drawn(lines, width_mm)

    after = repair(before, CUT, WOOD).region

    assert parts_and_holes(after) == parts_and_holes(before)
    assert shapely.difference(before.polygons.buffer(-1e-4), after.polygons).is_empty
    assert thin_mm(after) <= thin_mm(before) + 1e-9


@SOME
@given(strokes, st.floats(0.3, 0.9), st.floats(0.1, 0.4))
def test_no_outline_moves_farther_than_asked(
    lines: list[list[tuple[int, int]]], width_mm: float, at_most_mm: float
) -> None:
    """The new ink lies within the distance of the old, by the general library's own buffer."""
    before = drawn(lines, width_mm)

    done = repair(before, CUT, WOOD, wishes=RepairWishes(at_most_mm=at_most_mm))

    assert shapely.difference(done.region.polygons, before.polygons.buffer(at_most_mm + 1e-3)).is_empty
    assert done.moved_mm <= at_most_mm + 1e-4


@SOME
@given(st.floats(0.3, 0.9), st.integers(0, 359), st.floats(0.1, 0.5))
def test_thicker_ink_is_never_worse(width_mm: float, turn_deg: int, more_mm: float) -> None:
    """A crooked stroke with a branch: more width never leaves more of it unseen, share by share."""
    lines = MultiLineString([[(0, 0), (12, 3), (25, -4)], [(12, 3), (14, 15)]])
    thin, thick = (
        on_grid(affinity.rotate(lines, turn_deg, origin=(0, 0)).buffer(width / 2, quad_segs=8))
        for width in (width_mm, width_mm + more_mm)
    )

    assert thin_mm(thick) <= thin_mm(thin) + 2 * more_mm  # its middle line is longer by what its ends gain


@SOME
@given(strokes, st.floats(0.4, 0.8), st.integers(1, 359))
def test_a_turned_drawing_is_repaired_as_the_drawing_is(
    lines: list[list[tuple[int, int]]], width_mm: float, turn_deg: int
) -> None:
    """The area added, and how far outlines move, do not hang on how the drawing lies."""
    straight = drawn(lines, width_mm)
    turned = on_grid(affinity.rotate(straight.polygons, turn_deg, origin=(0, 0)))

    here, there = (repair(region, CUT, WOOD) for region in (straight, turned))

    added_mm2 = [done.region.polygons.area - done.region_before.polygons.area for done in (here, there)]
    assert added_mm2[1] == pytest.approx(added_mm2[0], rel=0.05, abs=0.5)


@SOME
@given(strokes, st.floats(0.4, 0.8), st.floats(1.2, 3.0))
def test_a_drawing_and_all_limits_scaled_alike_are_repaired_alike(
    lines: list[list[tuple[int, int]]], width_mm: float, scale: float
) -> None:
    """Twice the drawing, twice the tip, the depth that shows and the walls: twice the repair."""
    small = drawn(lines, width_mm)
    large = on_grid(affinity.scale(small.polygons, scale, scale, origin=(0, 0)))
    wood = replace(WOOD, shows_depth_mm=0.4 * scale, thinnest_wall_mm=0.6 * scale)

    here, there = repair(small, CUT, WOOD), repair(large, incise(90, 3 * scale, 0.2 * scale), wood)

    added_mm2 = [done.region.polygons.area - done.region_before.polygons.area for done in (here, there)]
    assert math.sqrt(max(added_mm2[1], 0) + 1) == pytest.approx(
        math.sqrt(max(added_mm2[0], 0) * scale**2 + 1), rel=0.05, abs=0.3
    )
