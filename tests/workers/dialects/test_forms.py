"""A dialect as an order describes it: what it changes, and that it changes no motion."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError
from shapely import box

from schemas.dialects import DialectForm
from tests.support.specimens import BASSWOOD, MACHINE, cutout, design, disc, incise, region
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.interpretation.interpreter import read_program
from workers.pipeline.program_words import dialect
from workers.toolpaths.plan import plan
from workers.values.cutting_plan import CuttingPlan
from workers.verification.verify import verify

SIGN = design(region(disc(60, 60, 20).difference(disc(60, 60, 16)), box(100, 30, 150, 34)))


@pytest.fixture(scope="module")
def sign_plan() -> CuttingPlan:
    """A ring, a bar and a cutout."""
    return plan(SIGN, incise(), None, cutout(), None, BASSWOOD, MACHINE).plan


def lines_of(sign_plan: CuttingPlan, **form: Any) -> list[list[str]]:
    """The lines of each program as this form has them."""
    written = write_programs(sign_plan, MACHINE, dialect(DialectForm(**form), "/inputs/dialect"))
    return [program.text.splitlines() for program in written]


def test_an_empty_form_is_metric_lines(sign_plan: CuttingPlan) -> None:
    """What is left out is as in the named dialects."""
    named = write_programs(sign_plan, MACHINE, METRIC_LINES)
    assert ["\n".join(lines) + "\n" for lines in lines_of(sign_plan)] == [program.text for program in named]


@pytest.mark.parametrize(
    "form",
    [
        {"comments": False},
        {"line_numbers": True},
        {"percent": True, "end": "M30"},
        {"decimals": 4, "dwell": False},
        {"spindle": "one-line", "dwell": 5},
        {"percent": True, "line_numbers": True, "comments": False, "decimals": 5},
    ],
    ids=str,
)
def test_a_form_changes_the_text_and_no_motion(sign_plan: CuttingPlan, form: dict[str, Any]) -> None:
    """Read back by the standard, every place is that of metric-lines to its rounding."""
    for lines, plain in zip(lines_of(sign_plan, **form), lines_of(sign_plan), strict=True):
        assert lines != plain
        one, other = (read_program("\n".join(text), "p.ngc") for text in (lines, plain))
        assert one.ends_mm.shape == other.ends_mm.shape
        assert np.abs(one.ends_mm - other.ends_mm).max() <= 0.00051


def test_each_wish_is_heard(sign_plan: CuttingPlan) -> None:
    """Percent lines, numbers in steps of ten (G-05), no comments, no dwell, M30, five decimals."""
    for lines in lines_of(
        sign_plan, percent=True, line_numbers=True, comments=False, dwell=False, end="M30", decimals=5
    ):
        assert lines[0] == lines[-1] == "%"
        numbers = [int(re.match(r"N(\d+) ", line)[1]) for line in lines[1:-1]]  # type: ignore[index]
        assert numbers == list(range(10, 10 * len(numbers) + 1, 10))
        body = [line.partition(" ")[2] for line in lines[1:-1]]
        assert not any("(" in line or line.startswith("G4 ") for line in body)
        assert body[-1] == "M30"
        assert "G0 Z5.00000" in body


@pytest.mark.parametrize(
    "form", [{"arcs": True, "line_numbers": True}, {"unit": "in", "arcs": True, "percent": True}]
)
def test_the_proof_passes_whatever_the_form(sign_plan: CuttingPlan, form: dict[str, Any]) -> None:
    """Arcs with numbers, and inches in a frame."""
    written = write_programs(sign_plan, MACHINE, dialect(DialectForm(**form), "/inputs/dialect"))
    assert verify(written, SIGN.board, MACHINE, SIGN, incise(), cutout()).proof.passed


def test_the_spindle_is_told_in_one_line_and_waited_for_as_long_as_ordered(sign_plan: CuttingPlan) -> None:
    """Some controllers want S beside M3 (memory); the dwell is in seconds (G-30)."""
    for lines in lines_of(sign_plan, spindle="one-line", dwell=5):
        place = next(place for place, line in enumerate(lines) if line.endswith("M3"))
        assert re.fullmatch(r"S\d+ M3", lines[place])
        assert lines[place + 1 : place + 3] == ["(Wait 5 seconds for the spindle)", "G4 P5.0"]
        assert read_program("\n".join(lines), "p.ngc").dwell_s == 5


def test_a_dwell_of_one_is_a_second_and_of_none_is_none() -> None:
    """Not taken for yes and no."""
    assert dialect(DialectForm(dwell=1), "/").dwell_s == 1.0  # type: ignore[attr-defined]
    assert dialect(DialectForm(dwell=0), "/").dwell_s == 0.0  # type: ignore[attr-defined]
    assert dialect(DialectForm(dwell=True), "/").dwell_s is None  # type: ignore[attr-defined]


@pytest.mark.parametrize("dwell", [-1, 61, "soon"])
def test_a_dwell_that_is_no_time_is_refused(dwell: Any) -> None:
    """Nobody waits for more than a minute."""
    with pytest.raises(ValidationError, match="dwell"):
        DialectForm(dwell=dwell)


def test_decimals_that_would_break_arcs_are_refused() -> None:
    """Three decimals of an inch fail the arc rule for over half of all arcs (G-59, derived there)."""
    with pytest.raises(ValidationError, match="raise 'decimals'"):
        DialectForm(unit="in", decimals=3)
