"""What the options of an order make is proven: planned, written, read back, cut in simulation, judged."""

import math
from dataclasses import replace
from typing import Any

import pytest
from shapely.geometry import box

from tests.support.specimens import BASSWOOD, MACHINE, cutout, design, incise, mill, region
from workers.contracts.dialect import Dialect
from workers.dialects.inch_lines import INCH_LINES
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.toolpaths.plan import Planned, plan
from workers.values.cuts import CutoutCut, CutoutSide
from workers.values.design import Design
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
