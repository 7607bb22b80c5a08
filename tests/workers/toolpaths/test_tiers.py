"""Tones at depths of their own: every mixture of them is proven, nothing is cut twice, faults are found."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from tests.support.specimens import BASSWOOD, MACHINE, clearing, design, disc, incise, mill, region
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.errors import NotCuttableError, ParameterOutOfRangeError
from workers.geometry.nesting import nested
from workers.toolpaths.paths_file import write_paths
from workers.toolpaths.plan import Planned, plan
from workers.values.cuts import ClearCut, InciseCut
from workers.values.cutting_plan import CutPath, OperationKind
from workers.values.design import Design
from workers.verification.verified import Verified
from workers.verification.verify import verify

CUT = replace(incise(90, 2.0), paler_limits_mm=(1.0,))
PALE = (box(10, 10, 70, 40), disc(95, 28, 15), box(10, 48, 110, 50), box(10, 58, 40, 68))
DARK = (
    box(40, 10, 70, 40),  # half of a bar: three of its sides are the bar's own
    disc(95, 28, 8),  # within a ring
    box(15, 24, 40, 27.5),  # a stroke over pale ink that runs into the dark half
    box(40, 48, 80, 50),  # a stretch of a stroke on bare wood
    box(10, 58, 40, 68),  # dark all over
)
SIGN_INK = region(*PALE)
DARK_INK = nested(SIGN_INK, region(shapely.union_all(DARK)))
SIGN = replace(design(SIGN_INK, 120, 80, 19, 0), darker=(DARK_INK,))


def planned(sign: Design = SIGN, cut: InciseCut = CUT, clear: ClearCut | None = None) -> Planned:
    """The plan, with an end mill of 1/8 in unless told otherwise."""
    return plan(sign, cut, clear or clearing(), None, None, BASSWOOD, MACHINE)


def proven(done: Planned, sign: Design = SIGN, cut: InciseCut = CUT) -> Verified:
    """The proof of its programs."""
    programs = write_programs(done.plan, MACHINE, METRIC_LINES)
    return verify(programs, sign.board, MACHINE, sign, cut)


def paths_of(done: Planned, kind: OperationKind) -> list[CutPath]:
    """All paths of one kind, in their order."""
    return [path for one in done.plan.operations if one.kind is kind for path in one.paths]


def length_mm(paths: list[CutPath], within: BaseGeometry, low_mm: float, high_mm: float) -> float:
    """How much of paths runs in an area between two heights, looked at every 0.1 mm."""
    found = 0.0
    shapely.prepare(within)
    for path in paths:
        steps_mm = np.diff(path.points_mm, axis=0)
        for start_mm, step_mm in zip(path.points_mm, steps_mm, strict=False):
            long_mm = float(np.linalg.norm(step_mm))
            count = max(1, int(long_mm / 0.1))
            at_mm = start_mm + (np.arange(count)[:, None] + 0.5) / count * step_mm
            level = (at_mm[:, 2] > low_mm) & (at_mm[:, 2] < high_mm)
            inside = shapely.contains_xy(within, at_mm[:, 0], at_mm[:, 1])
            found += long_mm * np.count_nonzero(level & inside) / count
    return found


@pytest.mark.parametrize(
    ("angle_deg", "tip_mm", "clear"),
    [
        (90, 0.0, clearing()),
        (60, 0.2, clearing(mill(6.35, name="flat-1/4in"), mill(1.5, name="thin"))),
        (60, 0.0, replace(clearing(), grain_deg=0.0)),
        (90, 0.1, replace(clearing(), engagement_deg=90.0)),
    ],
    ids=["rings", "finer", "lines", "even load"],
)
def test_tones_that_share_outlines_are_proven(angle_deg: float, tip_mm: float, clear: ClearCut) -> None:
    """Halves, rings, strokes over two tones: carved as the deepest of both grooves, everywhere."""
    cut = replace(incise(angle_deg, 2.0, tip_mm), paler_limits_mm=(1.0,))

    verified = proven(planned(cut=cut, clear=clear), cut=cut)

    assert verified.proof.passed, verified.proof.findings


def test_a_wall_that_two_tones_share_is_cut_once() -> None:
    """Along the dark half's outer sides and in what is dark all over, nothing runs at the paler depth."""
    grooves = paths_of(planned(), OperationKind.INCISE)
    shared = box(46, 9, 71, 14).union(box(66, 14, 71, 36)).union(box(8, 56, 42, 70))

    paler_mm = length_mm(grooves, shared, -1.01, -0.99)

    assert length_mm(grooves, shared, -2.01, -1.99) > 80
    assert paler_mm < 1.0


def test_the_deepest_floor_is_cleared_first_and_paler_ones_beside_it() -> None:
    """The mill is done with the dark half before it goes on to the paler floor, and does not come again."""
    milled = paths_of(planned(), OperationKind.CLEAR)
    lowest_mm = [float(path.points_mm[:, 2].min()) for path in milled]

    deep_count = len(lowest_mm) - lowest_mm[::-1].index(-2.0)
    paler = milled[deep_count:]
    dark_floor = box(40, 10, 70, 40).buffer(-2 - 1.5875 - 1.5875 - 0.5)

    assert {float(path.points_mm[:, 2].min()) for path in paler} == {-1.0}
    assert length_mm(milled[:deep_count], dark_floor, -2.01, -1.99) > 100
    assert length_mm(paler, dark_floor, -1.01, -0.99) < 10
    assert length_mm(paler, box(12, 12, 40, 24), -1.01, -0.99) > 100


@pytest.mark.parametrize(("wrong_mm", "code"), [(1.15, "overcut"), (0.85, "undercut")])
def test_a_tone_at_the_wrong_depth_is_found(wrong_mm: float, code: str) -> None:
    """Programs planned for another limit of the paler tone do not pass."""
    wrong = planned(cut=replace(CUT, paler_limits_mm=(wrong_mm,)))

    verified = proven(wrong)

    assert not verified.proof.passed
    assert [found.code for found in verified.proof.findings if found.stops] == [code]


def test_a_tone_forgotten_is_found() -> None:
    """Programs of all ink at one depth, or of the dark tone alone, are no sign in two tones."""
    flat = replace(SIGN, darker=())
    dark = replace(SIGN, ink=DARK_INK, darker=())
    one = replace(CUT, paler_limits_mm=None)

    assert "overcut" in {found.code for found in proven(planned(flat, one)).proof.findings}
    assert "undercut" in {found.code for found in proven(planned(dark, one)).proof.findings}


def test_findings_say_which_tone_they_are_about() -> None:
    """Without an end mill the floors of both tones are told of, each with its own area."""
    small = region(box(5, 5, 17, 13))
    sign = replace(design(small, 22, 18, 19, 0), darker=(region(box(11, 5, 17, 13)),))
    cut = replace(incise(90, 1.0, 0.4), paler_limits_mm=(0.5,))

    done = plan(sign, cut, None, None, None, BASSWOOD, MACHINE)

    about = [found.message for found in done.findings if found.code == "floor-without-clear-bit"]
    assert [message.partition(":")[0] for message in about] == ["tone 2 of 2", "tone 1 of 2"]


def test_a_tone_that_is_darker_all_over_has_no_work() -> None:
    """Where no pale ink is left the plan is that of the dark ink alone, to the byte."""
    dark = replace(SIGN, ink=DARK_INK, darker=(DARK_INK,))
    alone = replace(SIGN, ink=DARK_INK)

    assert write_paths(planned(dark).plan) == write_paths(
        planned(replace(alone, darker=()), replace(CUT, paler_limits_mm=None)).plan
    )


def test_the_same_sign_gives_the_same_bytes() -> None:
    """Twice planned."""
    assert write_paths(planned().plan) == write_paths(planned().plan)


def test_other_limits_than_the_design_has_tones_are_refused() -> None:
    """Two limits for one paler tone."""
    with pytest.raises(ParameterOutOfRangeError, match="2 depth limits of paler tones"):
        planned(cut=replace(CUT, paler_limits_mm=(0.5, 1.0)))


def test_a_mill_too_short_for_the_deepest_tone_is_refused() -> None:
    """Its edges reach the paler floor only."""
    with pytest.raises(NotCuttableError, match=r"floors are 2\.00 mm deep"):
        planned(clear=clearing(mill(length_mm=1.5)))
