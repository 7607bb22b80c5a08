"""What the options of an order make is proven: planned, written, read back, cut in simulation, judged."""

import math
from dataclasses import replace
from typing import Any

import pytest
from shapely.geometry import Polygon, box

from tests.support.specimens import (
    BASSWOOD,
    MACHINE,
    clearing,
    cutout,
    design,
    disc,
    drill,
    incise,
    mill,
    plan_length_mm,
    region,
)
from workers.contracts.dialect import Dialect
from workers.dialects.inch_arcs import INCH_ARCS
from workers.dialects.inch_lines import INCH_LINES
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.errors import NotCuttableError
from workers.interpretation.interpreter import read_program
from workers.layout.ground import raised_to_edge
from workers.toolpaths.paths_file import read_paths, write_paths
from workers.toolpaths.plan import Planned, plan
from workers.values.cuts import ClearCut, CutoutCut, CutoutSide, DrillCut
from workers.values.design import Design, Hole
from workers.values.keep_out import KeepOut
from workers.verification.verified import Verified
from workers.verification.verify import verify

SIGN = design(region(box(30, 30, 90, 34)), width_mm=120, height_mm=80, thickness_mm=12)


def proven(
    sign: Design = SIGN, cut: CutoutCut | None = None, dialect: Dialect = METRIC_LINES
) -> tuple[Planned, Verified]:
    """The plan of a sign with grooves and a cutout, and the proof of its programs."""
    grooves = incise(90, 2.0)
    planned = plan(sign, grooves, None, cut, None, BASSWOOD, MACHINE)
    programs = write_programs(planned.plan, MACHINE, dialect)
    return planned, verify(programs, sign.board, MACHINE, sign, grooves, cut)


@pytest.mark.parametrize("dialect", [METRIC_LINES, INCH_LINES], ids=lambda dialect: dialect.name)
@pytest.mark.parametrize(
    "options",
    [
        {},
        {"tabs_count": None},
        {"climb": False},
        {"side": CutoutSide.ON},
        {"side": CutoutSide.INSIDE},
        {"tabs_sloped": True},
        {"last_layer_mm": 0.4},
        {"wall_allowance_mm": 0.3},
        {"pass_depth_mm": 1.0},
        {"wall_allowance_mm": 0.3, "tabs_sloped": True, "side": CutoutSide.INSIDE, "climb": False},
    ],
    ids=str,
)
def test_every_kind_of_cutout_is_proven(options: dict[str, Any], dialect: Dialect) -> None:
    """Grooves, bridges and outline are as ordered; nothing is left standing and nothing cut away."""
    _, verified = proven(cut=replace(cutout(4), cutter=mill(3.0), **options), dialect=dialect)

    assert verified.proof.passed, verified.proof.findings
    assert verified.bridges_count == 4


def test_sloped_tabs_on_a_round_board_are_proven() -> None:
    """Along a bend what stands at the edge falls apart at a slope's foot: the pieces belong to the tab."""
    sign = design(region(box(30, 30, 60, 34)), 93, 72, 18, corner_radius_mm=36)
    _, verified = proven(sign, replace(cutout(None), tabs_sloped=True), INCH_ARCS)  # type: ignore[arg-type]

    assert verified.proof.passed, verified.proof.findings


@pytest.mark.parametrize(("height_mm", "fits"), [(1.0, True), (1.1, False)])
def test_tabs_higher_than_the_ground_beside_the_board_leaves_are_refused(
    height_mm: float, fits: bool
) -> None:
    """Of a board of 3 mm with ground 2 mm deep, out over its edge, 1 mm is left for tabs."""
    stands = design(region(box(30, 25, 60, 35)), 90, 60, 3)
    sign = raised_to_edge(stands, 3.0)
    cut = replace(cutout(3, 6.0, height_mm), cutter=mill(3.0))
    if fits:
        assert proven(sign, cut)[1].proof.passed
        return
    with pytest.raises(NotCuttableError, match=r"1\.00 mm are left") as refused:
        plan(sign, incise(90, 2.0), None, cut, None, BASSWOOD, MACHINE)
    assert refused.value.field == "/inputs/cutout/tabs/height"
    assert "make tabs 1.00 mm high or lower" in str(refused.value.remedy)


@pytest.mark.parametrize("side", [CutoutSide.INSIDE, CutoutSide.OUTSIDE])
def test_tabs_round_a_bend_are_left_by_the_round_along_the_wall_too(side: CutoutSide) -> None:
    """The way along the wall is longer or shorter than the rough one: neither cuts what the other leaves."""
    sign = design(region(box(25, 20, 36, 24)), 61.54, 42.69, 19.05, corner_radius_mm=21)
    free = replace(cutout(None, 8.55, 2.97, 0.19), cutter=mill(3.0))  # type: ignore[arg-type]
    _, verified = proven(sign, replace(free, side=side, wall_allowance_mm=0.43, climb=False))

    assert verified.proof.passed, verified.proof.findings


@pytest.mark.parametrize(
    ("ordered", "made", "code"),
    [
        ({"tabs_sloped": True}, {"tabs_sloped": True, "tab_height_mm": 1.5}, "tabs-too-weak"),
        ({"tabs_sloped": True}, {"tabs_sloped": True, "tabs_count": 3}, "tabs-too-weak"),
        ({}, {"side": CutoutSide.ON}, "overcut"),
        ({"side": CutoutSide.ON}, {"side": CutoutSide.OUTSIDE}, "not-cut-free"),
        ({"tabs_count": None}, {"tabs_count": 2}, "tabs-too-weak"),
    ],
)
def test_another_cutout_than_the_ordered_one_is_refused(
    ordered: dict[str, Any], made: dict[str, Any], code: str
) -> None:
    """Lower or fewer bridges, or another side of the line: the proof names it."""
    base = replace(cutout(4), cutter=mill(3.0))
    programs = write_programs(
        plan(SIGN, incise(90, 2.0), None, replace(base, **made), None, BASSWOOD, MACHINE).plan,
        MACHINE,
        METRIC_LINES,
    )
    proof = verify(programs, SIGN.board, MACHINE, SIGN, incise(90, 2.0), replace(base, **ordered)).proof

    assert not proof.passed
    assert code in {finding.code for finding in proof.findings}


@pytest.mark.parametrize("off_mm", [-1e-3, -1e-8, 0.0, 1e-8, 1e-4, 1e-3, 0.003, 0.01])
@pytest.mark.parametrize("angle_deg", [30, 60, 90])
def test_a_stroke_just_as_wide_as_the_limit_cuts_is_cut(angle_deg: float, off_mm: float) -> None:
    """V-01: a stroke of width 2 k D is D deep; rounding must not lose it between stroke and floor."""
    half_mm = 2.0 * math.tan(math.radians(angle_deg / 2)) + off_mm / 2
    sign = design(region(box(30, 30 - half_mm, 60, 30 + half_mm)), 90, 60, 12)
    grooves = incise(angle_deg, 2.0)
    programs = write_programs(
        plan(sign, grooves, None, None, None, BASSWOOD, MACHINE).plan, MACHINE, METRIC_LINES
    )

    assert verify(programs, sign.board, MACHINE, sign, grooves).proof.findings == ()


CLAMP = KeepOut(left_mm=-40, bottom_mm=30, right_mm=-10, top_mm=50, height_mm=18)


def test_traverses_go_over_the_clamps() -> None:
    """P-10: 5 mm over the highest clamp where that is more than the machine's own clearance."""
    planned = plan(SIGN, incise(90, 2.0), None, cutout(4), None, BASSWOOD, MACHINE, keep_outs=[CLAMP])
    lower = replace(CLAMP, height_mm=0.0)

    assert planned.plan.clearance_mm == 23.0
    assert plan(SIGN, incise(90, 2.0), None, None, None, BASSWOOD, MACHINE, keep_outs=[lower]) is not None
    assert planned.findings == ()


def test_a_cut_through_a_clamp_is_refused_with_its_place() -> None:
    """The cutout's bit of 3.175 mm reaches 3.175 mm past the board; a clamp stands 2 mm off it."""
    near = replace(CLAMP, right_mm=-2)

    with pytest.raises(NotCuttableError, match="keep-out zone 2") as refused:
        plan(SIGN, incise(90, 2.0), None, cutout(4), None, BASSWOOD, MACHINE, keep_outs=[CLAMP, near])
    [finding] = refused.value.findings
    assert finding.code == "cut-through-clamp"
    assert finding.at_mm is not None
    x_mm, y_mm = finding.at_mm
    assert x_mm == pytest.approx(-1.5875, abs=0.01)
    assert 30 <= y_mm <= 50


def test_a_cut_near_a_clamp_is_a_warning() -> None:
    """P-11: 5 mm beside the cutter; here 2.8 are left."""
    near = replace(CLAMP, right_mm=-6)
    planned = plan(SIGN, incise(90, 2.0), None, cutout(4), None, BASSWOOD, MACHINE, keep_outs=[near])

    [finding] = planned.findings
    assert finding.code == "cut-near-clamp"
    assert "within 2.8 mm" in finding.message


def test_clamps_too_high_for_the_machine_are_refused() -> None:
    """90 mm of Z travel: 80 over the face, 5 more, and 12 mm of board do not fit."""
    with pytest.raises(NotCuttableError, match=r"85\.0 mm over the face.*90 mm of Z travel"):
        plan(
            SIGN, incise(90, 2.0), None, None, None, BASSWOOD, MACHINE,
            keep_outs=[replace(CLAMP, height_mm=80)],
        )  # fmt: skip


@pytest.mark.parametrize("dialect", [METRIC_LINES, INCH_LINES], ids=lambda dialect: dialect.name)
def test_the_proof_finds_every_motion_through_a_clamp(dialect: Dialect) -> None:
    """Programs planned without knowing of the clamps: traverses at 5 mm and the cutout run into them."""
    beside, over = replace(CLAMP, right_mm=-1), KeepOut(
        left_mm=50, bottom_mm=50, right_mm=60, top_mm=60, height_mm=8
    )  # fmt: skip
    cut = replace(cutout(4), cutter=mill(3.0))
    planned = plan(SIGN, incise(90, 2.0), None, cut, None, BASSWOOD, MACHINE)
    programs = write_programs(planned.plan, MACHINE, dialect)
    grooves = incise(90, 2.0)
    found = verify(programs, SIGN.board, MACHINE, SIGN, grooves, cut, keep_outs=[beside, over]).proof
    aware = plan(SIGN, grooves, None, cut, None, BASSWOOD, MACHINE, keep_outs=[over]).plan
    again = verify(
        write_programs(aware, MACHINE, dialect), SIGN.board, MACHINE, SIGN, grooves, cut, keep_outs=[over]
    ).proof

    assert {finding.code for finding in found.findings} == {"through-clamp"}
    assert any("keep-out zone 1, 18 mm high" in finding.message for finding in found.findings)
    assert again.passed


WIDE = design(
    region(
        box(20, 20, 100, 60).difference(disc(60, 40, 9)),
        Polygon([(20, 70), (58, 70), (22, 76)]),
        box(70, 66, 110, 76).difference(box(80, 69, 84, 80)),
    ),
    width_mm=120,
    height_mm=90,
    thickness_mm=12,
)


@pytest.mark.parametrize("dialect", [METRIC_LINES, INCH_LINES], ids=lambda dialect: dialect.name)
@pytest.mark.parametrize(
    "clear",
    [
        clearing(),
        clearing(mill(6.35, name="flat-1/4in"), mill(3.175), mill(1.5, name="flat-1.5mm")),
        replace(clearing(), climb=False),
        replace(clearing(), grain_deg=0.0),
        replace(clearing(mill(6.35, name="flat-1/4in"), mill(2.0, name="flat-2mm")), grain_deg=30.0),
        replace(clearing(), pass_depth_mm=0.4, grain_deg=90.0, climb=False),
    ],
    ids=[
        "one mill",
        "three mills",
        "conventional",
        "along x",
        "30 degrees, two mills",
        "along y, thin passes",
    ],
)
def test_every_way_of_clearing_is_proven(clear: ClearCut, dialect: Dialect) -> None:
    """Floors at the limit, no ridge above 0.03 mm, islands and walls as drawn."""
    grooves = incise(60, 2.0)
    planned = plan(WIDE, grooves, clear, None, None, BASSWOOD, MACHINE)
    verified = verify(
        write_programs(planned.plan, MACHINE, dialect), WIDE.board, MACHINE, WIDE, grooves, cell_mm=0.05
    )

    assert verified.proof.passed, verified.proof.findings
    assert verified.proof.undercut is not None
    assert verified.proof.undercut.max_mm < 0.032 + 0.0013
    kinds = [operation.kind.value for operation in planned.plan.operations]
    assert kinds == ["clear"] * len(clear.mills) + ["incise"]


def test_finer_mills_leave_less_to_the_v_bit() -> None:
    """The V-bit's own way on floors shortens by more than a half."""
    grooves = incise(60, 2.0)
    coarse = mill(6.35, name="flat-1/4in")
    lengths = [
        plan_length_mm(plan(WIDE, grooves, clear, None, None, BASSWOOD, MACHINE).plan.operations[-1].paths)
        for clear in (clearing(coarse), clearing(coarse, mill(1.5, name="flat-1.5mm")))
    ]

    assert lengths[1] < 0.5 * lengths[0]


@pytest.mark.parametrize("dialect", [METRIC_LINES, INCH_LINES], ids=lambda dialect: dialect.name)
def test_peck_and_dwell_reach_the_program_and_are_proven(dialect: Dialect) -> None:
    """12.3 mm in pecks of 2.5: five of them, a dwell of half a second at the bottom of each of two holes."""
    sign = replace(
        SIGN, holes=(Hole(x_mm=15, y_mm=60, diameter_mm=5), Hole(x_mm=105, y_mm=60, diameter_mm=5))
    )
    grooves, cut = incise(90, 2.0), DrillCut(cutter=drill(), peck_mm=2.5, dwell_s=0.5)
    planned = plan(sign, grooves, None, None, cut, BASSWOOD, MACHINE)
    programs = write_programs(planned.plan, MACHINE, dialect)
    [drilled] = [program for program in programs if "drill" in program.name]
    trace = read_program(drilled.text, drilled.name)

    assert verify(programs, sign.board, MACHINE, sign, grooves, drill=cut).proof.findings == ()
    finer = replace(cut, peck_mm=2.4)
    [found] = verify(programs, sign.board, MACHINE, sign, grooves, drill=finer).proof.findings
    assert found.code == "peck-too-deep"
    assert drilled.text.count("G4 P0.50\n") == 2
    assert trace.dwell_s == pytest.approx(3.0 + 2 * 0.5)
    assert [len(path.points_mm) for path in planned.plan.operations[-1].paths] == [
        5 + 4
    ] * 2  # each peck but the last is followed by a lift
    assert read_paths(write_paths(planned.plan), "/inputs/paths").operations[-1].paths[0].dwell_s == 0.5
