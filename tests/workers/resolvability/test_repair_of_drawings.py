"""Real drawings, made small: repair keeps what they are, reaches what it is for, and then is done."""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon

from tests.support.specimens import BASSWOOD, incise
from workers.geometry.polygon_repair import GRID_MM, region_of
from workers.resolvability.repair import Repaired, repair
from workers.resolvability.topology import parts_and_holes
from workers.resolvability.wishes import PLAIN_REPAIR, RepairWishes, Walls
from workers.values.examination import Examination, Judged, Verdict
from workers.values.region import Region

DRAWINGS = Path(__file__).parents[2] / "support" / "drawings"
NAMES = ("anchor", "rope_locker")  # the teacup, much richer, is among the drawings of tests/reference
WOOD = replace(BASSWOOD, shows_depth_mm=0.5)
CUT = incise(90, 2.5, 0.2)  # strokes show from 1.2 mm on
WIDTH_MM = 80.0


def drawing(name: str, width_mm: float = WIDTH_MM) -> Region:
    """Return the inked area of a drawing, y up, at a width."""
    truth = json.loads((DRAWINGS / f"{name}.truth.json").read_text())
    ink = MultiPolygon([Polygon(rings[0], rings[1:]) for rings in truth["polygons"]])
    left, _, right, _ = ink.bounds
    scale = width_mm / (right - left)
    return region_of(affinity.scale(ink, scale, -scale, origin=(0, 0)))


@cache
def repaired(name: str, wishes: RepairWishes = PLAIN_REPAIR) -> Repaired:
    """Return the repair of a drawing 80 mm wide."""
    return repair(drawing(name), CUT, WOOD, wishes=wishes)


def thin(examination: Examination) -> list[Judged]:
    """Return the strokes that do not show."""
    return [run for run in examination.strokes if run.verdict is not Verdict.SHOWS]


def length_mm(runs: list[Judged]) -> float:
    """Return how long runs are together."""
    return sum(run.length_mm for run in runs)


def weak_mm(examination: Examination) -> float:
    """Return the length of walls that do not stand."""
    return length_mm([run for run in examination.walls if run.verdict is not Verdict.STANDS])


@pytest.mark.parametrize("name", NAMES)
def test_a_repaired_drawing_shows_and_keeps_its_parts_holes_and_ink(name: str) -> None:
    """All strokes show, no wall is gone, parts and holes are as many, no ink is taken but for rounding."""
    result = repaired(name)

    assert thin(result.examination_before)
    assert not thin(result.examination)
    assert all(wall.verdict is not Verdict.GONE for wall in result.examination.walls)
    assert parts_and_holes(result.region) == parts_and_holes(result.region_before)
    kept = result.region_before.polygons.buffer(-3 * GRID_MM)
    assert shapely.difference(kept, result.region.polygons).is_empty
    assert result.moved_mm < 1.2  # less than the width of the strokes made


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("walls", list(Walls))
def test_repairing_twice_changes_nothing(name: str, walls: Walls) -> None:
    """The very same area comes back, whatever becomes of walls."""
    once = repaired(name, RepairWishes(walls=walls)).region

    assert repair(once, CUT, WOOD, wishes=RepairWishes(walls=walls)).region is once


def test_a_drawing_too_small_to_show_is_repaired_as_far_as_it_goes_and_no_further() -> None:
    """An anchor 20 mm wide has no room for all its strokes: most come to show, and then there is an end."""
    crowded = drawing("anchor", 20)

    once = repair(crowded, CUT, WOOD)

    assert 0 < length_mm(thin(once.examination)) < 0.5 * length_mm(thin(once.examination_before))
    assert any(note.code == "strokes-still-thin" for note in once.notes)
    assert parts_and_holes(once.region) == parts_and_holes(crowded)
    assert repair(once.region, CUT, WOOD).region is once.region


@pytest.mark.parametrize("name", NAMES)
def test_opened_walls_stand_and_strokes_still_show(name: str) -> None:
    """Less weak wall than a plain repair leaves, no stroke faint, and the same parts and holes."""
    plain, result = repaired(name), repaired(name, RepairWishes(walls=Walls.OPEN))

    assert weak_mm(result.examination) < weak_mm(plain.examination)
    assert not thin(result.examination)
    assert parts_and_holes(result.region) == parts_and_holes(result.region_before)


@pytest.mark.parametrize("name", NAMES)
def test_fused_walls_are_gone_and_the_change_is_named(name: str) -> None:
    """No weak wall is left; where parts or holes changed, the finding gives both counts."""
    result = repaired(name, RepairWishes(walls=Walls.FUSE))

    assert weak_mm(result.examination) == 0
    assert not thin(result.examination)
    before, after = parts_and_holes(result.region_before), parts_and_holes(result.region)
    named = [note.message for note in result.notes if note.code == "walls-fused"]
    assert bool(named) == (before != after)
    if named:
        assert f"{before[0]} part" in named[0]
        assert f"{after[0]} part" in named[0].split("became")[1]


@pytest.mark.parametrize("name", NAMES)
def test_no_outline_moves_farther_than_allowed(name: str) -> None:
    """Measured another way, by a general library's distance of the outlines; the moves told agree with it."""
    wishes = RepairWishes(at_most_mm=0.2)
    result = repaired(name, wishes)

    outlines = (result.region.polygons.boundary, result.region_before.polygons.boundary)
    new = shapely.segmentize(outlines[0], 0.05)
    farthest_mm = float(shapely.distance(shapely.points(shapely.get_coordinates(new)), outlines[1]).max())
    assert farthest_mm <= wishes.at_most_mm + 2e-5
    assert result.moved_mm == pytest.approx(farthest_mm, abs=0.01)
    assert repair(result.region, CUT, WOOD, wishes=wishes).region.polygons.equals(result.region.polygons)


def test_a_finding_tells_what_was_done() -> None:
    """The note gives the length and how far outlines moved."""
    result = repaired("rope_locker")

    note = result.notes[0]
    assert note.code == "strokes-thickened"
    assert f"{result.moved_mm:.2f} mm" in note.message
