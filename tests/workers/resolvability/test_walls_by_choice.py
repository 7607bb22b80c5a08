"""Walls too thin to stand are left, cut wider, or filled, as wished."""

from dataclasses import replace

import pytest
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, box

from tests.support.specimens import BASSWOOD, incise
from workers.geometry.polygon_repair import region_of
from workers.resolvability.repair import Repaired, repair
from workers.resolvability.topology import parts_and_holes
from workers.resolvability.wishes import RepairWishes, Walls
from workers.values.examination import Verdict

WOOD = replace(BASSWOOD, shows_depth_mm=0.4, thinnest_wall_mm=0.6)
CUT = incise(90, 3, 0.2)  # a stroke shows from 1 mm on
PAIR = MultiPolygon([box(0, 0, 30, 3), box(0, 3.3, 30, 6.3)])  # 0.3 mm apart


def repaired(shape: shapely.Geometry, walls: Walls, at_most_mm: float = 9.0) -> Repaired:
    """Return the repair of a shape."""
    return repair(region_of(shape), CUT, WOOD, wishes=RepairWishes(walls=walls, at_most_mm=at_most_mm))


def test_a_thin_wall_is_kept_unless_asked_otherwise() -> None:
    """Nothing is changed."""
    result = repaired(PAIR, Walls.KEEP)

    assert result.region is result.region_before


def test_an_opened_wall_stands_and_takes_the_same_from_both_sides() -> None:
    """0.3 mm become 0.6 and a hair more, in the middle of where the wall was."""
    result = repaired(PAIR, Walls.OPEN)

    lower, upper = result.region.polygons.geoms
    assert shapely.distance(lower, upper) == pytest.approx(0.62, abs=0.01)
    across = result.region.polygons.intersection(LineString([(15, -1), (15, 8)]))
    assert [part.bounds[1::2] for part in across.geoms] == [
        pytest.approx((0, 2.84), abs=0.01),
        pytest.approx((3.46, 6.3), abs=0.01),
    ]
    assert {wall.verdict for wall in result.examination.walls} == {Verdict.STANDS}
    assert [note.code for note in result.notes] == ["walls-opened"]
    assert {move.added for move in result.moves} == {False}


def test_a_wall_is_opened_no_farther_than_its_strokes_can_spare() -> None:
    """Two strokes that only just show give nothing away: the wall stays weak, and they show."""
    tight = MultiPolygon([box(0, 0, 30, 1.03), box(0, 1.33, 30, 2.36)])

    result = repaired(tight, Walls.OPEN)

    assert {stroke.verdict for stroke in result.examination.strokes} == {Verdict.SHOWS}
    assert {wall.verdict for wall in result.examination.walls} == {Verdict.FRAGILE}


def test_a_fused_wall_makes_one_part_of_two_and_that_is_told() -> None:
    """The gap is ink, and nothing else."""
    result = repaired(PAIR, Walls.FUSE)

    assert parts_and_holes(result.region) == (1, 0)
    assert result.region.polygons.symmetric_difference(box(0, 0, 30, 6.3)).area < 0.1
    (note,) = result.notes
    assert note.code == "walls-fused"
    assert "2 parts and 0 holes became 1 part and 0 holes" in note.message


def test_a_peg_of_paper_is_filled_when_walls_are_fused() -> None:
    """A sliver of 0.4 mm in the ink would break out: it becomes ink."""
    pierced = box(0, 0, 10, 10) - Point(5, 5).buffer(0.2, quad_segs=16)

    result = repaired(pierced, Walls.FUSE)

    assert parts_and_holes(result.region) == (1, 0)


def test_a_wall_that_stands_is_never_fused_nor_opened() -> None:
    """0.7 mm are enough."""
    apart = MultiPolygon([box(0, 0, 30, 3), box(0, 3.7, 30, 6.7)])

    for walls in Walls:
        assert repaired(apart, walls).region.polygons.equals(apart)


@pytest.mark.parametrize(("at_most_mm", "parts"), [(0.1, 2), (0.2, 1)])
def test_a_wall_wider_than_the_allowed_moves_is_not_fused(at_most_mm: float, parts: int) -> None:
    """To fill 0.3 mm both outlines move 0.15."""
    assert parts_and_holes(repaired(PAIR, Walls.FUSE, at_most_mm).region)[0] == parts


@pytest.mark.parametrize("walls", [Walls.OPEN, Walls.FUSE])
def test_doing_it_twice_changes_nothing(walls: Walls) -> None:
    """The same area comes back."""
    once = repaired(PAIR, walls).region

    assert repaired(once.polygons, walls).region.polygons.equals(once.polygons)
