"""Drawings of the development data at 80 mm, for a 90 degree bit with a tip of 0.2 mm.

Bar: after repair no stroke is lost or faint, no hole or gap closed, the outline's movement bounded; the proof
of the sign passes. Parts and holes are counted by a general library, and so is how far outlines moved.
The drawings are public domain (their README); those beside the tests stand in where the data is absent.
"""

import json
from functools import cache
from pathlib import Path

import pytest
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon, box

from tests.support.development_data import DATA
from tests.support.specimens import vee
from workers.cutting_data import tables
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.geometry.polygon_repair import region_of
from workers.resolvability.repair import Repaired, repair
from workers.toolpaths.plan import plan
from workers.values.cuts import ClearCut, InciseCut
from workers.values.cutter import EndMill
from workers.values.design import Board, Design
from workers.values.examination import Verdict
from workers.values.region import Region
from workers.verification.verify import verify

OWN = Path(__file__).parents[1] / "support" / "drawings"
CASES = DATA / "cases" if (DATA / "cases").exists() else OWN
NAMES = sorted(path.name.removesuffix(".truth.json") for path in CASES.glob("*.truth.json"))
WIDTH_MM, MARGIN_MM = 80.0, 10.0
BIT = vee(90, tip_mm=0.2, diameter_mm=12.7, length_mm=6.25)
CUT = InciseCut(cutter=BIT, depth_limit_mm=2.5)
WOOD = tables.material("basswood", "/")  # shows from 0.5 mm, so strokes from 1.2 mm


def drawing(name: str) -> Region:
    """Return the ink of a drawing, 80 mm wide, a margin away from the origin."""
    rings = json.loads((CASES / f"{name}.truth.json").read_text())["polygons"]
    ink = MultiPolygon([Polygon(ring[0], ring[1:]) for ring in rings])
    left, _, right, lowest = ink.bounds
    scale = WIDTH_MM / (right - left)
    moved = affinity.translate(ink, -left, -lowest)
    return region_of(
        affinity.translate(affinity.scale(moved, scale, -scale, origin=(0, 0)), MARGIN_MM, MARGIN_MM)
    )


@cache
def repaired(name: str) -> Repaired:
    """Return a drawing's repair."""
    return repair(drawing(name), CUT, WOOD)


@pytest.mark.parametrize("name", NAMES)
def test_every_stroke_shows_and_nothing_is_closed_after_repair(name: str) -> None:
    """The bar; and repairing again changes nothing."""
    result = repaired(name)
    before, after = result.region_before.polygons, result.region.polygons

    assert {run.verdict for run in result.examination.strokes} == {Verdict.SHOWS}
    assert Verdict.GONE not in {run.verdict for run in result.examination.walls}
    assert len(after.geoms) == len(before.geoms)
    assert shapely.get_num_interior_rings(shapely.get_parts(after)).sum() == (
        shapely.get_num_interior_rings(shapely.get_parts(before)).sum()
    )
    new_outline = shapely.points(shapely.get_coordinates(shapely.segmentize(after.boundary, 0.1)))
    assert shapely.distance(new_outline, before.boundary).max() < 1.2
    assert repair(result.region, CUT, WOOD).region is result.region


@pytest.mark.parametrize("name", NAMES)
def test_the_repaired_drawing_is_cut_with_a_passing_proof(name: str) -> None:
    """Planned, written, read back and swept: no finding that spoils the board."""
    ink = repaired(name).region
    _, _, right, top = ink.polygons.bounds
    board = Board(
        width_mm=right + MARGIN_MM, height_mm=top + MARGIN_MM, thickness_mm=19.0, material="basswood"
    )
    design = Design(board=board, outline=box(0, 0, board.width_mm, board.height_mm), ink=ink)
    machine = tables.machine("bench-600", "/")
    mill = tables.bit("flat-1/16in", "/")
    assert isinstance(mill, EndMill)

    planned = plan(design, CUT, ClearCut(mills=(mill,)), None, None, WOOD, machine)
    programs = write_programs(planned.plan, machine, METRIC_LINES)
    verified = verify(programs, board, machine, design, CUT, None, None)

    assert [found.message for found in verified.proof.findings if found.severity.value == "error"] == []
    assert verified.proof.passed
