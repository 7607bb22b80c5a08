"""The text of programs against the rules of trade.md 1.7, each test named by its rule.

Source of the grammar: NISTIR 6556 (Kramer, Proctor, Messina 2000), sections 3.3 and 3.6,
as restated there; rules marked memory there are common practice.
"""

import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from shapely.geometry import box

from tests.support.specimens import BASSWOOD, MACHINE, clearing, cutout, design, drilling, incise, region
from workers.contracts.dialect import Dialect
from workers.dialects.inch_arcs import INCH_ARCS
from workers.dialects.inch_lines import INCH_LINES
from workers.dialects.metric_arcs import METRIC_ARCS
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.toolpaths.plan import plan
from workers.values.cutting_plan import CuttingPlan
from workers.values.design import Hole
from workers.values.program import Program

WORD = re.compile(r"([A-Z])(-?[0-9]*\.?[0-9]+)")


@pytest.fixture(scope="module")
def sign_plan() -> CuttingPlan:
    """A sign with a floor to clear, a stroke, a hole and a cutout."""
    sign = design(
        region(box(20, 20, 80, 40), box(20, 60, 90, 63)), holes=(Hole(x_mm=9, y_mm=9, diameter_mm=5),)
    )
    return plan(sign, incise(), clearing(), cutout(), drilling(), BASSWOOD, MACHINE).plan


@pytest.fixture(
    scope="module",
    params=[METRIC_LINES, INCH_LINES, METRIC_ARCS, INCH_ARCS],
    ids=lambda dialect: dialect.name,
)
def programs(request: pytest.FixtureRequest, sign_plan: CuttingPlan) -> tuple[Program, ...]:
    """The programs of that sign, in each dialect."""
    dialect: Dialect = request.param
    written = write_programs(sign_plan, MACHINE, dialect)
    assert len(written) == len(sign_plan.operations) > 1
    return written


def code_lines(program: Program) -> list[str]:
    """The lines of a program that are no comments."""
    return [line for line in program.text.splitlines() if not line.startswith("(")]


def test_g50_plain_ascii_short_lines(programs: tuple[Program, ...]) -> None:
    """No tab, no line of more than 70 characters, line feeds only."""
    for program in programs:
        assert program.text.isascii()
        assert "\t" not in program.text
        assert "\r" not in program.text
        assert max(len(line) for line in program.text.splitlines()) <= 70
        assert program.text.endswith("M2\n")


def test_g51_comments_stand_alone_and_hold_no_parentheses(programs: tuple[Program, ...]) -> None:
    """Nor a semicolon, nor an operator message."""
    for program in programs:
        for line in program.text.splitlines():
            if "(" in line or ")" in line:
                assert re.fullmatch(r"\([^();]*\)", line)
                assert not re.match(r"\(\s*m\s*s\s*g\s*,", line, re.IGNORECASE)


def test_g52_g53_no_line_numbers_no_per_cent_sign(programs: tuple[Program, ...]) -> None:
    """They are optional, and some controllers stumble over them."""
    for program in programs:
        assert "%" not in program.text
        assert not any("N" in line for line in code_lines(program))


def test_g54_everything_is_set_before_anything_moves(programs: tuple[Program, ...]) -> None:
    """Units, plane, distance, feed mode, no compensation, no cycle, first work coordinates: a line each."""
    for program in programs:
        lines = code_lines(program)
        assert lines[0] in ("G20", "G21")
        assert lines[1:8] == ["G17", "G90", "G94", "G40", "G49", "G80", "G54"]


def test_g55_g56_nothing_but_lines_and_the_spindle(programs: tuple[Program, ...]) -> None:
    """No tool change, no cycles, no offsets, no parameters, no expressions."""
    allowed = {
        *(
            "G0",
            "G1",
            "G2",
            "G3",
            "G4",
            "G17",
            "G20",
            "G21",
            "G40",
            "G49",
            "G54",
            "G80",
            "G90",
            "G94",
            "M2",
            "M3",
            "M5",
        ),
    }
    for program in programs:
        for line in code_lines(program):
            words = WORD.findall(line)
            assert "".join(letter + number for letter, number in words) == line.replace(" ", "")
            assert {letter + number for letter, number in words if letter in "GM"} <= allowed
            assert {letter for letter, _ in words} <= set("GMXYZFSPIJ")


def test_g57_g58_numbers_are_plain_with_fixed_decimals(programs: tuple[Program, ...]) -> None:
    """Three decimals of a millimetre, four of an inch; no exponent, no plus sign, no minus zero."""
    for program in programs:
        decimals = 3 if "G21" in program.text else 4
        for line in code_lines(program):
            for letter, number in WORD.findall(line):
                if letter in "XYZ":
                    assert re.fullmatch(rf"-?\d+\.\d{{{decimals}}}", number)
                    assert not re.fullmatch(r"-0\.0+", number)


def test_g61_every_motion_line_says_its_verb_and_feed_is_set_after_each_rapid(
    programs: tuple[Program, ...],
) -> None:
    """So a program can be taken up again in its middle."""
    for program in programs:
        lines = code_lines(program)
        for line in lines:
            if any(letter in line for letter in "XYZ"):
                assert line.startswith(("G0 ", "G1 ", "G2 ", "G3 "))
        for before, line in pairwise(lines):
            if before.startswith("G0") and line.startswith("G1"):
                assert " F" in line


def test_g62_the_spindle_is_set_started_and_waited_for(programs: tuple[Program, ...]) -> None:
    """S, then M3, then a dwell whose seconds a comment says."""
    for program in programs:
        lines = program.text.splitlines()
        start = lines.index("M3")
        assert re.fullmatch(r"S\d+", lines[start - 1])
        assert lines[start + 1] == "(Wait 3 seconds for the spindle)"
        assert lines[start + 2] == "G4 P3.0"
        assert all(not line.startswith("G1 ") for line in lines[:start])


def test_g63_the_end_is_up_off_home(programs: tuple[Program, ...]) -> None:
    """Rise, spindle off, back to the start by a plain rapid, end."""
    for program in programs:
        end = program.text.splitlines()[-4:]
        assert re.fullmatch(r"G0 Z\d+\.\d+", end[0])
        assert end[1] == "M5"
        assert re.fullmatch(r"G0 X0\.0+ Y0\.0+", end[2])
        assert end[3] == "M2"


def test_g64_the_first_motion_is_up(programs: tuple[Program, ...]) -> None:
    """To the clearance height, 5 mm or 0.1969 in."""
    for program in programs:
        first = next(line for line in code_lines(program) if line.startswith("G0 "))
        assert first in ("G0 Z5.000", "G0 Z0.1969")


def test_rapids_stay_above_the_face(programs: tuple[Program, ...]) -> None:
    """Sideways at clearance, or low from cut to cut; down no lower than a little above the face."""
    for program in programs:
        z = 0.0
        for line in code_lines(program):
            words = dict(WORD.findall(line))
            z_was, z = z, float(words.get("Z", z))
            if line.startswith("G0"):
                assert z > 0
                assert "X" not in words or z_was == z
                assert "X" not in words or z in (5.0, 0.1969, 1.0, 0.0394)


def test_the_text_says_the_plans_points(sign_plan: CuttingPlan) -> None:
    """Read back word by word, the feed moves are the plan's points rounded, none left out but equal ones."""
    [program, *_] = write_programs(sign_plan, MACHINE, METRIC_LINES)
    here, points, feeds, feed = {"X": 0.0, "Y": 0.0, "Z": 0.0}, [], [], 0.0
    for line in code_lines(program):
        words = {letter: float(number) for letter, number in WORD.findall(line)}
        here |= {letter: words[letter] for letter in "XYZ" if letter in words}
        feed = words.get("F", feed)
        if line.startswith("G1 "):
            points.append([here["X"], here["Y"], here["Z"]])
            feeds.append(feed)
    expected, expected_feeds = [], []
    for path in sign_plan.operations[0].paths:
        rounded = np.round(path.points_mm, 3)
        stays = np.append(True, (np.diff(rounded, axis=0) != 0).any(axis=1))
        expected.append(rounded[stays])
        expected_feeds.append(path.feeds_mm_per_min[stays])
    assert np.allclose(points, np.concatenate(expected), atol=1e-9)
    assert np.allclose(feeds, np.concatenate(expected_feeds))


def test_inches_are_millimetres_over_25_4(sign_plan: CuttingPlan) -> None:
    """Both dialects say the same places to half their last digits."""
    metric, inch = (
        [
            float(number)
            for line in code_lines(program)
            for letter, number in WORD.findall(line)
            if letter == "Z"
        ]
        for program in (
            write_programs(sign_plan, MACHINE, METRIC_LINES)[-1],
            write_programs(sign_plan, MACHINE, INCH_LINES)[-1],
        )
    )

    assert min(inch) * 25.4 == pytest.approx(min(metric), abs=0.0005 + 0.00005 * 25.4)


def test_the_header_says_bit_speed_depth_and_cautions(sign_plan: CuttingPlan) -> None:
    """S-14: run it above the work first and check size and direction."""
    program = write_programs(sign_plan, MACHINE, METRIC_LINES)[1]
    head = " ".join(line.strip("()") for line in program.text.splitlines() if line.startswith("("))

    assert "Incise with vee-90: V-bit 90 deg" in head
    assert "deepest cut 2.500 mm" in head
    assert "Run the file once above the work" in head
    assert "Board 200.000 x 120.000 x 19.000 mm, basswood" in head


def test_a_dial_spindle_is_asked_for_in_words(sign_plan: CuttingPlan) -> None:
    """The program cannot set it, so the operator must."""
    dial = write_programs(sign_plan, replace(MACHINE, spindle_commanded=False), METRIC_LINES)[0].text
    set_by_program = write_programs(sign_plan, MACHINE, METRIC_LINES)[0].text

    assert "(Set the spindle's dial to" in dial
    assert "dial" not in set_by_program


def test_no_name_reaches_the_program_as_code(sign_plan: CuttingPlan) -> None:
    """A bit called like a command, a material with a parenthesis and a line break: still comments only."""
    first = sign_plan.operations[0]
    hostile = replace(first, cutter=replace(first.cutter, name="x)\nG1 Z-99 F9999 (MSG, %;\u00e9"))
    board = replace(sign_plan.board, material="oak)\r\nM3 (\u2603 MSG,stop")
    before = code_lines(write_programs(sign_plan, MACHINE, METRIC_LINES)[0])

    [program] = write_programs(replace(sign_plan, operations=(hostile,), board=board), MACHINE, METRIC_LINES)

    assert code_lines(program) == before
    test_g50_plain_ascii_short_lines((program,))
    test_g51_comments_stand_alone_and_hold_no_parentheses((program,))


def test_the_same_plan_gives_the_same_text(sign_plan: CuttingPlan) -> None:
    """No date, no count, no chance."""
    assert write_programs(sign_plan, MACHINE, METRIC_LINES) == write_programs(
        sign_plan, MACHINE, METRIC_LINES
    )
