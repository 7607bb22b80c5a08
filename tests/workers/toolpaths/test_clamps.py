"""What holds the bit, against clamps: refused in planning wherever the proof would refuse it (P-11)."""

from dataclasses import replace

import pytest
from shapely.geometry import box

from tests.support.specimens import BASSWOOD, MACHINE, cutout, design, incise, mill, region
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.errors import NotCuttableError
from workers.toolpaths.over_the_edges import widest_below_mm
from workers.toolpaths.plan import plan
from workers.values.cutter import EndMill
from workers.values.cutting_plan import CuttingPlan
from workers.values.finding import Finding
from workers.values.keep_out import KeepOut
from workers.verification.verify import verify

SIGN = design(region(box(30, 30, 90, 34)), width_mm=120, height_mm=80, thickness_mm=12)
GROOVES = incise(90, 2.0)
CLAMP = KeepOut(left_mm=-40, bottom_mm=30, right_mm=-10, top_mm=50, height_mm=18)
SHORT = mill(3.0, length_mm=14)  # its nut is 20 mm over the tip, and in a cut 12.3 mm deep 7.7 over the face


def planned(bit: EndMill, *clamps: KeepOut) -> CuttingPlan:
    """The plan of a board that is cut free with a bit."""
    free = replace(cutout(4), cutter=bit)
    return plan(SIGN, GROOVES, None, free, None, BASSWOOD, MACHINE, keep_outs=clamps).plan


def refusal(bit: EndMill, clamp: KeepOut) -> Finding:
    """The only finding with which a plan is refused."""
    with pytest.raises(NotCuttableError) as refused:
        planned(bit, clamp)
    [finding] = refused.value.findings
    return finding


def proof_codes(bit: EndMill, clamp: KeepOut) -> set[str]:
    """What the proof finds with a clamp of which the plan knew only the height."""
    aware_of_height = replace(clamp, left_mm=-400, right_mm=-300)
    programs = write_programs(planned(bit, aware_of_height), MACHINE, METRIC_LINES)
    free = replace(cutout(4), cutter=bit)
    proof = verify(programs, SIGN.board, MACHINE, SIGN, GROOVES, free, keep_outs=[clamp], cell_mm=0.2).proof
    return {finding.code for finding in proof.findings}


def test_a_nut_that_would_run_into_a_clamp_is_refused_with_what_helps() -> None:
    """Bit's middle at x -1.5, nut to x -13.5, clamp to x -10; over 18 mm the nut is free: 18 + 12.3."""
    finding = refusal(SHORT, CLAMP)

    assert finding.code == "holder-into-clamp"
    assert "its nut, 24 mm thick and 20 mm over the tip, 3.5 mm into keep-out zone 1" in finding.message
    assert "3.5 mm away" in finding.remedy
    assert "stand out 30.3 mm" in finding.remedy
    assert finding.at_mm is not None
    assert finding.at_mm[0] == pytest.approx(-1.5, abs=0.01)


@pytest.mark.parametrize(
    ("bit", "clamp"),
    [(SHORT, replace(CLAMP, right_mm=-13.5)), (replace(SHORT, stick_out_mm=30.3), CLAMP)],
    ids=["moved", "standing out"],
)
def test_either_remedy_is_enough_for_plan_and_proof(bit: EndMill, clamp: KeepOut) -> None:
    """A clamp moved, or a bit that stands out, by as much as was said."""
    programs = write_programs(planned(bit, clamp), MACHINE, METRIC_LINES)
    free = replace(cutout(4), cutter=bit)
    proof = verify(programs, SIGN.board, MACHINE, SIGN, GROOVES, free, keep_outs=[clamp], cell_mm=0.2).proof

    assert proof.passed, proof.findings


@pytest.mark.parametrize(
    ("clamp", "what", "free_mm"),
    [
        (replace(CLAMP, right_mm=-16.5), "the nut of flat-1/8in", 3.0),
        (replace(CLAMP, right_mm=-36.0, left_mm=-60, height_mm=26), "the spindle of flat-1/8in", 2.0),
        (replace(CLAMP, right_mm=-5.0, height_mm=1.5), "flat-1/8in", 2.0),
    ],
    ids=["nut", "spindle", "bit"],
)
def test_what_comes_near_a_clamp_is_told_with_how_far_to_move_it(
    clamp: KeepOut, what: str, free_mm: float
) -> None:
    """Bit's middle at x -1.5: its edge at -3, its nut at -13.5 and its spindle at -34; 5 mm are usual (P-11).

    Its shank, a little thicker than its edges, is 1.7 mm over the face at the deepest.
    """
    free = replace(cutout(4), cutter=SHORT)
    found = plan(SIGN, GROOVES, None, free, None, BASSWOOD, MACHINE, keep_outs=[clamp]).findings
    near = [finding for finding in found if finding.code == "cut-near-clamp"]

    assert [finding.message.partition(" of keep-out")[0] for finding in near] == [
        f"{what} comes within {free_mm:.1f} mm"
    ]
    assert near[0].remedy == f"move the clamp and its zone {5 - free_mm:.1f} mm farther away"


def test_a_spindle_over_a_high_clamp_is_refused() -> None:
    """Spindle of 65 mm, 36 mm over the tip, 23.7 over the face: a clamp 26 mm high at x -20 is under it."""
    finding = refusal(SHORT, replace(CLAMP, right_mm=-20, height_mm=26))

    assert "its spindle, 65 mm thick and 36 mm over the tip, 14.0 mm into" in finding.message
    assert "stand out 22.3 mm" in finding.remedy


def test_a_thick_shank_is_refused_without_the_advice_to_stand_out() -> None:
    """A shank of 8 mm begins at the end of the edges, wherever the nut is."""
    thick = replace(SHORT, shank_mm=8.0, stick_out_mm=40)
    finding = refusal(thick, replace(CLAMP, right_mm=-4))

    assert "its shank, 8 mm thick" in finding.message
    assert "stand out" not in finding.remedy


@pytest.mark.parametrize("right_mm", [-14.0, -13.6, -13.4, -13.0])
def test_plan_and_proof_agree_where_a_clamp_is_in_the_nuts_way(right_mm: float) -> None:
    """Each by its own geometry, on either side of x -13.5."""
    clamp = replace(CLAMP, right_mm=right_mm)
    struck = "through-clamp" in proof_codes(SHORT, clamp)

    assert struck == (right_mm > -13.5)
    if struck:
        assert refusal(SHORT, clamp).code == "holder-into-clamp"
    else:
        planned(SHORT, clamp)


@pytest.mark.parametrize(("over_tip_mm", "radius_mm"), [(10, 1.5), (15, 1.5875), (25, 12.0), (40, 32.5)])
def test_the_widest_part_is_told_by_height(over_tip_mm: float, radius_mm: float) -> None:
    """Edges to 14 mm, shank of 1/8 in, nut of 24 mm from 20, spindle of 65 mm from 36."""
    assert widest_below_mm(SHORT, MACHINE, over_tip_mm) == radius_mm
