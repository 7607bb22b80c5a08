"""The second opinion of random orders agrees with sound programs and objects to spoilt ones.

It is a witness for the proof (``python -m tests.benchmarks.order_sweep``), so it must be able to say no.
The sign and its programs are those of the planted faults.
"""

import re
from collections.abc import Sequence
from dataclasses import replace

import pytest

from tests.benchmarks.order_sweep import ending
from tests.benchmarks.random_orders import random_order
from tests.reference.test_planted_faults import (
    ARCS,
    CLEAR,
    CUTOUT,
    DRILL,
    INCHES,
    INCISE,
    LINES,
    SIGN,
    deeper,
    programs,
    with_text,
)
from tests.support.second_opinion.objections import objections
from tests.support.second_opinion.ordered import Ordered
from tests.support.specimens import MACHINE, cutout, incise, mill
from workers.contracts.dialect import Dialect
from workers.values.keep_out import KeepOut
from workers.values.program import Program

CLAMP = KeepOut(left_mm=-30, bottom_mm=20, right_mm=-2, top_mm=40, height_mm=12)
ORDERED = Ordered(
    design=SIGN,
    machine=MACHINE,
    incise=incise(),
    cutout=cutout(),
    openings_bit=mill(),
    keep_outs=(),
    tolerance_mm=0.05,
)


def said(made: Sequence[Program], ordered: Ordered = ORDERED) -> str:
    """All objections in one line."""
    return "; ".join(objections(made, ordered))


@pytest.mark.parametrize("dialect", [LINES, ARCS, INCHES], ids=lambda dialect: dialect.name)
def test_sound_programs_pass(dialect: Dialect) -> None:
    """Straight, with arcs, and in inches."""
    assert said(programs(dialect)) == ""


@pytest.mark.parametrize(
    ("place", "change", "objection"),
    [
        (INCISE, lambda text: deeper(text, 0.2), "overcut"),
        (CLEAR, lambda text: deeper(text, 0.2), "overcut"),
        (CUTOUT, lambda text: deeper(text, 0.2), "into the bed"),
        (INCISE, lambda text: text.replace("M3", "M5"), "spindle stands"),
        (INCISE, lambda text: re.sub(r"S\d+", "S48000", text), "speed"),
        (CUTOUT, lambda text: text.replace("G0 X", "G0 X9"), "travel"),
        (DRILL, lambda text: text.replace("G1 Z-", "G0 Z-"), "rapid takes"),
    ],
    ids=["grooves", "floors", "cutout", "no spindle", "too fast", "far away", "plunge at traverse speed"],
)
def test_a_spoilt_program_is_objected_to(place: int, change: object, objection: str) -> None:
    """Each by the rule that it breaks."""
    assert callable(change)
    assert objection in said(with_text(programs(), place, change))


@pytest.mark.parametrize(
    ("place", "objection"),
    [
        (CLEAR, "undercut"),
        (INCISE, "undercut"),
        (DRILL, "hole 1 is not through"),
        (CUTOUT, "never cut through"),
    ],
)
def test_a_program_left_out_is_objected_to(place: int, objection: str) -> None:
    """Something is missing."""
    made = programs()
    assert objection in said([*made[:place], *made[place + 1 :]])


def test_missing_tabs_and_a_wrong_order_are_objected_to() -> None:
    """None, one too few, and the board freed before it is carved."""
    made = programs()
    assert "0 tabs of 4 hold" in said([*made[:CUTOUT], programs(free=cutout(tabs_count=0))[CUTOUT]])
    assert "3 tabs of 4 hold" in said([*made[:CUTOUT], programs(free=cutout(tabs_count=3))[CUTOUT]])
    assert "carves after the board is freed" in said([made[CUTOUT], *made[:CUTOUT]])


def test_a_clamp_in_the_way_is_objected_to() -> None:
    """A bit round the outline, 3.2 mm beside it, and a clamp 2 mm beside it."""
    assert "clamp 1 hit by flat-1/8in" in said(programs(), replace(ORDERED, keep_outs=(CLAMP,)))


def test_a_random_order_goes_from_plan_to_proof_and_comes_again_the_same() -> None:
    """One of those that a sweep looks at."""
    assert random_order(1004) == random_order(1004)
    assert ending(random_order(1004)).kind == "proven"
