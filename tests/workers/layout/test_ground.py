"""Raised art: the ground around it is cut, to the volume that geometry says."""

import math
from dataclasses import replace

import numpy as np
import pytest
from pydantic import ValidationError
from shapely.geometry import MultiPolygon, box

from schemas.boards import Raised
from tests.support.specimens import (
    BASSWOOD,
    MACHINE,
    clearing,
    cutout,
    design,
    disc,
    incise,
    mill,
    region,
)
from workers.contracts.dialect import Dialect
from workers.dialects.inch_lines import INCH_LINES
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.errors import ParameterOutOfRangeError
from workers.layout.design_file import draw_design, read_design, write_design
from workers.layout.ground import raised, raised_to_edge
from workers.toolpaths.plan import plan
from workers.values.cuts import CutoutSide
from workers.values.finding import Severity
from workers.values.height_field import HeightField
from workers.values.region import Region
from workers.verification.designed_depth import inside_of
from workers.verification.grid import Grid
from workers.verification.verify import verify

RADIUS_MM, MARGIN_MM = 15.0, 8.0
SIGN = design(region(disc(60, 40, RADIUS_MM)), 120, 80, 12, corner_radius_mm=0)
WIDTH_MM, HEIGHT_MM = 120 - 2 * MARGIN_MM, 80 - 2 * MARGIN_MM


def test_the_ground_is_the_panel_without_the_art() -> None:
    """A frame of the margin's width and the art stand; nothing else does."""
    ground = raised(SIGN, MARGIN_MM).ink.polygons

    assert ground.area == pytest.approx(WIDTH_MM * HEIGHT_MM - math.pi * RADIUS_MM**2, rel=1e-4)
    assert ground.bounds == (8, 8, 112, 72)
    assert len(ground.geoms[0].interiors) == 1


@pytest.mark.parametrize("dialect", [METRIC_LINES, INCH_LINES], ids=lambda dialect: dialect.name)
def test_volume_and_floor_of_raised_art(dialect: Dialect) -> None:
    """V-20's law for a panel with a round island, out of the proven programs within 0.5 %.

    Area inset by r: (W - 2r)(H - 2r) - pi (R + r)^2; volume its integral to k D over k, elementary.
    """
    depth_mm, slope = 3.0, math.tan(math.radians(30))
    foot_mm = slope * depth_mm
    sign, grooves = raised(SIGN, MARGIN_MM), incise(60, depth_mm)
    planned = plan(sign, grooves, clearing(mill(6.35), mill(2.0)), None, None, BASSWOOD, MACHINE)
    verified = verify(write_programs(planned.plan, MACHINE, dialect), sign.board, MACHINE, sign, grooves)
    volume_mm3 = (
        WIDTH_MM * HEIGHT_MM * foot_mm
        - (WIDTH_MM + HEIGHT_MM) * foot_mm**2
        + 4 * foot_mm**3 / 3
        - math.pi * ((RADIUS_MM + foot_mm) ** 3 - RADIUS_MM**3) / 3
    ) / slope
    floor_mm2 = (WIDTH_MM - 2 * foot_mm) * (HEIGHT_MM - 2 * foot_mm) - math.pi * (RADIUS_MM + foot_mm) ** 2
    flat_mm2 = np.count_nonzero(verified.field.depth_mm >= depth_mm - 0.02) * verified.field.cell_mm**2

    assert verified.proof.passed, verified.proof.findings
    assert verified.proof.carved_volume_mm3 == pytest.approx(volume_mm3, rel=0.005)
    assert flat_mm2 == pytest.approx(floor_mm2, rel=0.005)


def test_a_margin_that_leaves_no_ground_is_refused() -> None:
    """40 mm from each edge of 80 mm."""
    with pytest.raises(ParameterOutOfRangeError, match="leaves no ground") as refused:
        raised(SIGN, 40.0)
    assert refused.value.field == "/inputs/raised/margin"


def test_art_that_covers_the_ground_is_refused() -> None:
    """Nothing would be left to cut."""
    covered = design(region(box(5, 5, 115, 75)), 120, 80, 12, corner_radius_mm=0)

    with pytest.raises(ParameterOutOfRangeError, match="covers all of the ground"):
        raised(covered, MARGIN_MM)


@pytest.mark.parametrize("dialect", [METRIC_LINES, INCH_LINES], ids=lambda dialect: dialect.name)
@pytest.mark.parametrize("corner_mm", [0.0, 12.0], ids=["square corners", "round corners"])
@pytest.mark.parametrize("is_cut_out", [False, True], ids=["a board", "a blank"])
def test_volume_of_raised_art_on_ground_to_the_edge(
    dialect: Dialect, corner_mm: float, is_cut_out: bool
) -> None:
    """All of the board to 2 mm but a cone's frustum: pi z (R^2 + R r + r^2) / 3 with r = R + k z, elementary.

    Out of the proven programs, on the board alone, within 0.5 %: no rim is left along the edge.
    """
    depth_mm, foot_mm = 2.0, 2.0 * math.tan(math.radians(30))
    plain = design(region(disc(60, 40, RADIUS_MM)), 120, 80, 12, corner_radius_mm=corner_mm)
    sign, grooves = raised_to_edge(plain, 4.0), incise(60, depth_mm)
    cut = cutout(4) if is_cut_out else None
    planned = plan(sign, grooves, clearing(mill(6.35)), cut, None, BASSWOOD, MACHINE)
    verified = verify(write_programs(planned.plan, MACHINE, dialect), sign.board, MACHINE, sign, grooves, cut)
    field = verified.field
    on_board = inside_of(Region(MultiPolygon([sign.outline.buffer(-0.1)])), _grid(field))
    volume_mm3 = float(field.depth_mm[on_board].sum(dtype=np.float64)) * field.cell_mm**2
    wide_mm = RADIUS_MM + foot_mm
    frustum_mm3 = math.pi * depth_mm * (RADIUS_MM**2 + RADIUS_MM * wide_mm + wide_mm**2) / 3

    assert verified.proof.passed, verified.proof.findings
    assert volume_mm3 == pytest.approx(sign.outline.buffer(-0.1).area * depth_mm - frustum_mm3, rel=0.005)
    assert "floor-without-clear-bit" not in {finding.code for finding in planned.findings}


def _grid(field: HeightField) -> Grid:
    rows, columns = field.depth_mm.shape
    return Grid(
        left_mm=field.left_mm,
        bottom_mm=field.bottom_mm,
        right_mm=field.left_mm + columns * field.cell_mm,
        top_mm=field.bottom_mm + rows * field.cell_mm,
        cell_mm=field.cell_mm,
    )


def test_the_mill_runs_past_the_edge_by_what_is_asked_and_no_farther() -> None:
    """Its edge, 4 mm past the board: at 1.0 mm of radius its middle comes to 3 mm."""
    sign = raised_to_edge(SIGN, 4.0)
    planned = plan(sign, incise(60, 2.0), clearing(mill(2.0)), None, None, BASSWOOD, MACHINE)
    points_mm = np.concatenate([path.points_mm for path in planned.plan.operations[0].paths])

    assert points_mm[:, :2].min(axis=0) == pytest.approx([-3.0, -3.0], abs=0.01)
    assert points_mm[:, :2].max(axis=0) == pytest.approx([123.0, 83.0], abs=0.01)


def test_art_beside_the_edge_gets_its_wall() -> None:
    """1 mm from the edge, with a wall that would reach 1.7 mm: the V-bit runs beside the board."""
    plain = design(region(box(1, 20, 30, 60)), 120, 80, 12)
    sign, grooves = raised_to_edge(plain, 3.0), incise(60, 3.0)
    planned = plan(sign, grooves, clearing(mill(2.0)), cutout(4), None, BASSWOOD, MACHINE)
    programs = write_programs(planned.plan, MACHINE, METRIC_LINES)

    assert verify(programs, sign.board, MACHINE, sign, grooves, cutout(4)).proof.passed


def test_a_cut_on_the_line_leaves_room_over_the_edge() -> None:
    """What is left of the board is smaller by half a bit; ground was cut past its edge as ordered."""
    sign, grooves = raised_to_edge(SIGN, 4.0), incise(60, 2.0)
    cut = replace(cutout(4), side=CutoutSide.ON)
    planned = plan(sign, grooves, clearing(mill(2.0)), cut, None, BASSWOOD, MACHINE)
    programs = write_programs(planned.plan, MACHINE, METRIC_LINES)

    assert verify(programs, sign.board, MACHINE, sign, grooves, cut).proof.passed


def test_ground_past_square_corners_is_room_however_much_the_cutout_takes() -> None:
    """Cut 6.35 mm inside the line: at the ordered corners a thin bit cuts past as ordered, no farther."""
    sharp = replace(SIGN, outline=box(0, 0, 120, 80))
    cut = replace(cutout(4), cutter=mill(6.35, name="flat-1/4in"), side=CutoutSide.INSIDE)
    sign, grooves = raised_to_edge(sharp, 8.0), incise(60, 2.0)
    codes = []
    for made in (sign, raised_to_edge(sharp, 10.0)):
        planned = plan(made, grooves, clearing(mill(1.5)), cut, None, BASSWOOD, MACHINE)
        programs = write_programs(planned.plan, MACHINE, METRIC_LINES)
        proof = verify(programs, sign.board, MACHINE, sign, grooves, cut, cell_mm=0.2).proof
        codes.append({finding.code for finding in proof.findings if finding.severity is Severity.ERROR})

    assert codes == [set(), {"cuts-beside-board"}]


def test_a_rim_left_along_the_edge_is_found() -> None:
    """Planted: the programs of the way with a frame of 3 mm."""
    sign, grooves = raised_to_edge(SIGN, 4.0), incise(60, 2.0)
    framed = plan(raised(SIGN, 3.0), grooves, clearing(mill(3.0)), None, None, BASSWOOD, MACHINE)
    programs = write_programs(framed.plan, MACHINE, METRIC_LINES)
    found = verify(programs, sign.board, MACHINE, sign, grooves).proof.findings

    assert "undercut" in {finding.code for finding in found}


def test_ground_cut_over_the_edge_of_a_board_with_a_frame_is_found() -> None:
    """Planted the other way round: the frame is cut away."""
    sign, grooves = raised(SIGN, 6.0), incise(60, 2.0)
    open_ground = plan(raised_to_edge(SIGN, 4.0), grooves, clearing(mill(3.0)), None, None, BASSWOOD, MACHINE)
    programs = write_programs(open_ground.plan, MACHINE, METRIC_LINES)
    found = verify(programs, sign.board, MACHINE, sign, grooves).proof.findings

    assert {"overcut", "cuts-beside-board"} <= {finding.code for finding in found}


def test_a_design_with_open_ground_is_read_as_it_was_written() -> None:
    """JSON and drawing both tell how far past the edge it is cut."""
    sign = raised_to_edge(SIGN, 4.0)

    for data in (write_design(sign), draw_design(sign)):
        assert read_design(data, "/inputs/design").past_edge_mm == 4.0


@pytest.mark.parametrize("given", [{}, {"margin": 5, "past_edge": 3}], ids=["neither", "both"])
def test_raised_ends_in_one_way(given: dict[str, float]) -> None:
    """A frame or over the edge: the error names both."""
    with pytest.raises(ValidationError, match="either 'margin'"):
        Raised.model_validate(given)
