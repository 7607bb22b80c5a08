"""Arcs in programs: by their centres, never beyond the arc rule however they are rounded.

Source: NISTIR 6556, 3.5.3 (the two radii of an arc differ by no more than 0.002 mm or 0.0002 in: G-24);
trade.md G-59 (a centre on the bisector of the rounded ends stays within 0.00140 mm, 0.000141 in) and G-60.
"""

import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from tests.support.specimens import (
    BASSWOOD,
    MACHINE,
    clearing,
    cutout,
    design,
    disc,
    drilling,
    incise,
    region,
)
from workers.contracts.dialect import Dialect
from workers.dialects.inch_arcs import INCH_ARCS
from workers.dialects.inch_lines import INCH_LINES
from workers.dialects.metric_arcs import METRIC_ARCS
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.path_moves import Heights, path_moves
from workers.dialects.programs import write_programs
from workers.dialects.word_format import INCHES, MILLIMETRES, WordFormat
from workers.interpretation.interpreter import read_program
from workers.toolpaths.plan import plan
from workers.values.cutting_plan import CutPath, CuttingPlan
from workers.values.design import Hole
from workers.values.program import Motion

WORD = re.compile(r"([A-Z])(-?[0-9.]+)")
QUARTER = CutPath(
    np.array([[10.0, 0, -1], [9.2388, 3.8268, -1], [7.0711, 7.0711, -1], [0, 10, -1], [0, 30, -1]]),
    np.array([300.0, 900, 900, 900, 900]),
    np.array([[0, 3]]),
    np.array([math.pi / 2]),
)


@pytest.fixture(scope="module")
def sign_plan() -> CuttingPlan:
    """A ring, a disc's floor, a milled hole, and a board with round corners."""
    ring = disc(150, 60, 20).difference(disc(150, 60, 17))
    sign = design(
        region(disc(60, 60, 20), ring, box(30, 10, 90, 13)), holes=(Hole(x_mm=9, y_mm=20, diameter_mm=8),)
    )
    return plan(sign, incise(), clearing(), cutout(), drilling(8.0), BASSWOOD, MACHINE).plan


def moves(path: CutPath, words: WordFormat = MILLIMETRES, with_arcs: bool = True) -> list[str]:
    """The feed moves of a path."""
    return list(path_moves(path, words, Heights(1.0, 5.0), with_arcs=with_arcs))[3:-1]


def test_an_arc_says_both_ends_axes_and_both_offsets_of_its_centre() -> None:
    """G-60: also those that are zero or unchanged; I and J count from the arc's start."""
    assert moves(QUARTER) == ["G3 X0.000 Y10.000 I-10.000 J0.000 F900.0", "G1 Y30.000"]


def test_an_inch_arc_has_the_same_centre() -> None:
    """10 mm are 0.3937 in."""
    assert moves(QUARTER, INCHES)[0] == "G3 X0.0000 Y0.3937 I-0.3937 J0.0000 F35.43"


def test_without_arcs_the_chords_are_written() -> None:
    """The same path for a controller that has none."""
    assert len(moves(QUARTER, with_arcs=False)) == 4


def test_an_arc_whose_ends_fall_together_is_written_as_chords() -> None:
    """Read as an arc it would be a full circle."""
    short = CutPath(
        np.array([[0.0, 0, -1], [0.0001, 0.0002, -1], [0.0002, 0, -1], [5, 0, -1]]),
        np.full(4, 900.0),
        np.array([[0, 2]]),
        np.array([-2.0]),
    )

    assert moves(short) == ["G1 X5.000"] or moves(short) == ["G1 X5.000 F900.0"]


@settings(deadline=None, max_examples=400)
@given(
    st.floats(-400, 400), st.floats(-400, 400), st.floats(0.2, 500), st.floats(0, 6.28),
    st.floats(0.02, 3.05), st.booleans(), st.sampled_from([(MILLIMETRES, 0.00142), (INCHES, 0.000142)]),
)  # fmt: skip
def test_rounding_never_breaks_the_arc_rule(
    x_mm: float, y_mm: float, radius_mm: float, begin_rad: float, turn_rad: float, clockwise: bool,
    unit: tuple[WordFormat, float],
) -> None:  # fmt: skip
    """G-59, from the text alone: the two radii differ by less than three quarters of what the rule allows."""
    turn_rad = -turn_rad if clockwise else turn_rad
    angles_rad = begin_rad + turn_rad * np.array([0.0, 0.5, 1.0])
    points_mm = np.column_stack(
        [x_mm + radius_mm * np.cos(angles_rad), y_mm + radius_mm * np.sin(angles_rad), np.full(3, -1.0)]
    )
    if radius_mm * abs(turn_rad) < 0.1:
        return
    words, allowed = unit
    path = CutPath(points_mm, np.full(3, 900.0), np.array([[0, 2]]), np.array([turn_rad]))
    [line] = moves(path, words)
    said = {letter: float(number) for letter, number in WORD.findall(line)}
    start = words.coordinates(points_mm[0, :2])
    centre = start + np.array([said["I"], said["J"]])

    off = abs(math.dist(start, centre) - math.dist([said["X"], said["Y"]], centre))

    assert off <= allowed
    assert line.startswith("G2" if clockwise else "G3")


@pytest.mark.parametrize(
    ("arcs", "lines"), [(METRIC_ARCS, METRIC_LINES), (INCH_ARCS, INCH_LINES)], ids=["mm", "inch"]
)
def test_a_whole_sign_is_the_same_way_in_far_fewer_lines(
    sign_plan: CuttingPlan, arcs: Dialect, lines: Dialect
) -> None:
    """Read back, every program's way is as long as the one of straight moves, within 0.1 %."""
    for curved, straight in zip(
        *(write_programs(sign_plan, MACHINE, dialect) for dialect in (arcs, lines)), strict=True
    ):
        lengths_mm = []
        for program in (curved, straight):
            trace = read_program(program.text, program.name)
            steps_mm = np.linalg.norm(trace.ends_mm - trace.starts_mm, axis=1)
            lengths_mm.append(steps_mm[trace.motions == Motion.FEED].sum())
        assert lengths_mm[0] == pytest.approx(lengths_mm[1], rel=1e-3)
        assert curved.text.count("\n") <= straight.text.count("\n")
    texts = [
        "".join(program.text for program in write_programs(sign_plan, MACHINE, dialect))
        for dialect in (arcs, lines)
    ]
    assert len(texts[0]) < 0.35 * len(texts[1])
    assert re.search(r"^G2 ", texts[0], re.MULTILINE)
    assert re.search(r"^G3 ", texts[0], re.MULTILINE)


def test_g60_centre_form_in_the_plane_of_x_and_y_only(sign_plan: CuttingPlan) -> None:
    """No R, no K, no other plane, no full circle."""
    for program in write_programs(sign_plan, MACHINE, METRIC_ARCS):
        here = (0.0, 0.0)
        for line in program.text.splitlines():
            if line.startswith("("):
                continue
            words = {letter: float(number) for letter, number in WORD.findall(line)}
            there = (words.get("X", here[0]), words.get("Y", here[1]))
            if line.startswith(("G2 ", "G3 ")):
                assert {"X", "Y", "I", "J"} <= words.keys() <= set("GXYZIJF")
                assert there != here
            here = there
