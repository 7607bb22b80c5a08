"""All bits in one program: its changes keep the rules, and between them it says what one file a bit says.

Source: NISTIR 6556, 3.6.3 and table 8 (T acts before M6 on its line, trade.md G-41); what is done before and
after a change is that report's M6 (it stops the spindle and moves no axis: memory) and common practice.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from importlib.metadata import EntryPoint
from typing import Any

import numpy as np
import pytest
from gcodeparser import parse_gcode_lines
from pydantic import ValidationError
from shapely import box

from schemas.dialects import DialectForm
from tests.support.specimens import (
    BASSWOOD,
    MACHINE,
    clearing,
    cutout,
    design,
    drilling,
    incise,
    region,
)
from workers.dialects.inch_one_file import INCH_ONE_FILE
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.metric_one_file import METRIC_ONE_FILE
from workers.dialects.programs import write_programs
from workers.interpretation.interpreter import read_program
from workers.pipeline.program_list import program_list
from workers.pipeline.program_words import dialect
from workers.registry.offers import DIALECTS
from workers.registry.plugins import find
from workers.toolpaths.plan import plan
from workers.values.cutting_plan import CuttingPlan
from workers.values.design import Hole
from workers.values.program import Program
from workers.verification.verify import verify

SIGN = design(
    region(box(20, 20, 60, 40), box(20, 60, 90, 63)), 110, 80, holes=(Hole(x_mm=9, y_mm=9, diameter_mm=5),)
)


@pytest.fixture(scope="module")
def sign_plan() -> CuttingPlan:
    """A floor to clear, a stroke, a hole and a cutout: the end mill comes back at the end."""
    return plan(SIGN, incise(), clearing(), cutout(), drilling(), BASSWOOD, MACHINE).plan


def one_file(sign_plan: CuttingPlan, **form: Any) -> Program:
    """The program of all bits, as a form has it."""
    made = dialect(DialectForm(one_file=True, **form), "/inputs/dialect")
    [program] = write_programs(sign_plan, MACHINE, made)
    return program


def code_of(program: Program) -> list[str]:
    """Its lines without remarks; messages to the operator stay."""
    return [line for line in program.text.splitlines() if not re.match(r"\((?!MSG)", line)]


def changes_of(lines: list[str]) -> Iterator[int]:
    """Where a bit is changed."""
    return (place for place, line in enumerate(lines) if line.endswith("M6"))


def test_a_bit_has_one_number_however_often_it_comes(sign_plan: CuttingPlan) -> None:
    """By first use, from 1: end mill, V-bit, drill, and the end mill again."""
    program = one_file(sign_plan)
    lines = code_of(program)
    assert program.name == "01-all-bits.ngc"
    assert [(number, cutter.name) for number, cutter in program.bits.items()] == [
        (1, "flat-1/8in"), (2, "vee-90"), (3, "drill-5mm"),
    ]  # fmt: skip
    assert [lines[place] for place in changes_of(lines)] == ["T1 M6", "T2 M6", "T3 M6", "T1 M6"]


@pytest.mark.parametrize("form", [{}, {"unit": "in"}, {"arcs": True, "decimals": 4}], ids=str)
def test_every_change_is_up_and_off_at_the_start_and_the_spindle_starts_anew(
    sign_plan: CuttingPlan, form: dict[str, Any]
) -> None:
    """Lift, M5, to the start, change; then lift, S, M3 and a dwell before the next cut (G-62, G-63, G-64)."""
    lines = code_of(one_file(sign_plan, **form))
    first, *others = changes_of(lines)
    assert lines[first - 1] == "G54"
    for place in others:
        assert re.fullmatch(r"G0 Z(5\.000|5\.0000|0\.1969)", lines[place - 3])
        assert lines[place - 2] == "M5"
        assert re.fullmatch(r"G0 X0\.0+ Y0\.0+", lines[place - 1])
    for place in (first, *others):
        assert re.fullmatch(r"G0 Z(5\.000|5\.0000|0\.1969)", lines[place + 1])
        assert re.fullmatch(r"S\d+", lines[place + 2])
        assert lines[place + 3 : place + 5] == ["M3", "G4 P3.0"]
    assert lines[-3:][0] == "M5"
    assert lines[-1] == "M2"


@pytest.mark.parametrize("dialect_of_all", [METRIC_ONE_FILE, INCH_ONE_FILE], ids=lambda made: made.name)
def test_between_changes_it_says_what_one_file_a_bit_says(
    sign_plan: CuttingPlan, dialect_of_all: Any
) -> None:
    """The same motions, feeds, speeds of the spindle and dwells, stretch by stretch, home and all."""
    [program] = write_programs(sign_plan, MACHINE, dialect_of_all)
    single = write_programs(sign_plan, MACHINE, dialect_of_all.between)
    whole = read_program(program.text, program.name)
    before, *stretches = whole.between_changes()
    assert len(before.lines) == 0
    for stretch, alone in zip(stretches, single, strict=True):
        own = read_program(alone.text, alone.name)
        assert np.array_equal(stretch.ends_mm, own.ends_mm)
        assert np.array_equal(stretch.motions, own.motions)
        assert np.array_equal(stretch.feeds_mm_per_min, own.feeds_mm_per_min)
        assert np.array_equal(stretch.spindle_rpm, own.spindle_rpm)
        assert stretch.dwell_s == own.dwell_s


def test_operations_of_one_bit_follow_each_other_without_a_change(sign_plan: CuttingPlan) -> None:
    """The spindle is told only another speed."""
    mill, *_, last = sign_plan.operations
    two = replace(sign_plan, operations=(mill, replace(last, spindle_rpm=mill.spindle_rpm - 1000)))
    lines = code_of(one_file(two))
    assert lines.count("T1 M6") == 1
    assert [line for line in lines if line.startswith("S")] == ["S18000", "S17000"]
    assert lines.count("M5") == 1


def test_a_pause_has_a_message_that_names_the_bit(sign_plan: CuttingPlan) -> None:
    """(MSG, ...) is the standard's way to tell the operator (G-10); M0 stops always, M1 if a switch is on."""
    for word in ("M0", "M1"):
        lines = code_of(one_file(sign_plan, pause=word, comments=False))
        for place in changes_of(lines):
            number = lines[place].split()[0].removeprefix("T")
            assert re.fullmatch(rf"\(MSG, Fit bit {number}, set Z0, go on: [\w /-]+\)", lines[place + 1])
            assert lines[place + 2] == word


def test_a_spindle_with_a_dial_is_always_waited_for(sign_plan: CuttingPlan) -> None:
    """A hand turns it at each change, and where one bit runs at another speed, asked for or not."""
    dial = replace(MACHINE, spindle_commanded=False)
    mill, vee, _, last = sign_plan.operations
    slower = replace(sign_plan, operations=(vee, mill, replace(last, spindle_rpm=9000)))
    [program] = write_programs(slower, dial, METRIC_ONE_FILE)
    said = [line for line in code_of(program) if line.startswith(("(MSG", "M0", "M3", "M5", "T"))]
    assert said == [
        "T1 M6", f"(MSG, Fit bit 1, set Z0, dial {vee.spindle_rpm:.0f}, go on: vee-90)", "M0", "M3", "M5",
        "T2 M6", "(MSG, Fit bit 2, set Z0, dial 18000, go on: flat-1/8in)", "M0", "M3",
        "M5", "(MSG, Set the dial to 9000, go on)", "M0", "M3", "M5",
    ]  # fmt: skip
    assert not any(line.startswith("(MSG") for line in one_file(sign_plan).text.splitlines())


def test_without_a_pause_the_head_says_what_the_machine_must_do(sign_plan: CuttingPlan) -> None:
    """One that passes over M6 would cut on with the wrong bit, and no proof can know."""
    assert "(At each M6 the machine must change the bit, or stop" in one_file(sign_plan).text
    assert "(At each M6" not in one_file(sign_plan, pause="M0").text


def test_lengths_come_from_the_machine_only_if_the_order_says_so(sign_plan: CuttingPlan) -> None:
    """G43 H with the bit's own number right after its change, before the first motion down (G-33)."""
    assert not any("G43" in line for line in code_of(one_file(sign_plan, pause="M0")))
    lines = code_of(one_file(sign_plan, length_offset=True))
    for place in changes_of(lines):
        assert lines[place + 1] == f"G43 H{lines[place][1]}"
        assert lines[place + 2] == "G0 Z5.000"
    assert "set Z0" not in "".join(code_of(one_file(sign_plan, length_offset=True, pause="M0")))


@pytest.mark.parametrize(
    ("form", "codes"),
    [
        ({}, []),
        ({"pause": "M0"}, []),
        ({"unit": "in", "arcs": True, "percent": True, "line_numbers": True, "end": "M30"}, []),
        ({"comments": False, "dwell": False, "pause": "M1"}, []),
        ({"length_offset": True}, ["program-remark"]),
    ],
    ids=str,
)
def test_the_proof_passes_whatever_the_form(
    sign_plan: CuttingPlan, form: dict[str, Any], codes: list[str]
) -> None:
    """And says nothing, but that the machine's table of lengths is its operator's matter."""
    program = one_file(sign_plan, **form)
    proof = verify([program], SIGN.board, MACHINE, SIGN, incise(), cutout(), drill=drilling()).proof
    assert proof.passed
    assert [finding.code for finding in proof.findings] == codes


def test_a_strangers_dialect_may_put_all_bits_in_one_program(sign_plan: CuttingPlan) -> None:
    """Plug-in API 1: whoever has `write_all` is asked for nothing else; it is proven like ours."""
    found = find(DIALECTS, [EntryPoint("t", "tests.support.example_plugin:TERSE_FILE", "triglyph.dialects")])
    [program] = write_programs(sign_plan, MACHINE, found.accepted["terse-file"])
    proof = verify([program], SIGN.board, MACHINE, SIGN, incise(), cutout(), drill=drilling()).proof
    assert proof.passed
    assert [one.number for one in proof.programs[0].bits] == [1, 2, 3, 1]


def test_another_reader_finds_the_same_changes(sign_plan: CuttingPlan) -> None:
    """Source: the package gcodeparser (MIT); which bit each M6 takes, and which length each G43."""
    program = one_file(sign_plan, length_offset=True, pause="M0", line_numbers=True)
    theirs = [
        line for line in parse_gcode_lines(program.text) if line.command in (("T", 1), ("T", 2), ("T", 3))
    ]
    lengths = [line.params["H"] for line in parse_gcode_lines(program.text) if line.command == ("G", 43)]
    ours = read_program(program.text, program.name)
    assert [line.command[1] for line in theirs] == [change.number for change in ours.changes]
    assert lengths == [length.number for length in ours.lengths]


def test_lines_are_as_short_and_plain_as_ever(sign_plan: CuttingPlan) -> None:
    """G-50, G-51, with a bit called like a command."""
    first = sign_plan.operations[0]
    hostile = replace(first, cutter=replace(first.cutter, name="x)\nG1 Z-99 F9999 (MSG, %;\u00e9" + "y" * 60))
    hostile_plan = replace(sign_plan, operations=(hostile, *sign_plan.operations[1:]))
    program = one_file(hostile_plan, pause="M0")
    assert program.text.isascii()
    assert max(len(line) for line in program.text.splitlines()) <= 70
    for line in program.text.splitlines():
        assert "(" not in line or re.fullmatch(r"\([^();%]*\)", line)
    assert len(read_program(program.text, "p").changes) == 4


def test_the_list_says_what_each_bit_does_in_turn(sign_plan: CuttingPlan) -> None:
    """One entry with the bits by number; speeds, feeds and depths are those of one file a bit."""
    [entry] = program_list([one_file(sign_plan)], sign_plan).model_dump()["programs"]
    plain = program_list(write_programs(sign_plan, MACHINE, METRIC_LINES), sign_plan).model_dump()["programs"]
    assert [work["number"] for work in entry["work"]] == [1, 2, 3, 1]
    assert entry["bit"] is None
    for work, alone in zip(entry["work"], plain, strict=True):
        assert entry["bits"][work["number"]] == alone["bit"]
        for name in ("operation", "spindle_rpm", "feed_mm_per_min", "plunge_mm_per_min", "depth_mm"):
            assert work[name] == alone[name]


def test_a_plan_of_nothing_is_no_program(sign_plan: CuttingPlan) -> None:
    """There is nothing to run."""
    assert write_programs(replace(sign_plan, operations=()), MACHINE, METRIC_ONE_FILE) == ()


@pytest.mark.parametrize("form", [{"pause": "M0"}, {"length_offset": True}], ids=str)
def test_wishes_for_changes_need_one_file(form: dict[str, Any]) -> None:
    """One file a bit has no changes, and stays the default."""
    with pytest.raises(ValidationError, match="add 'one_file: true'"):
        DialectForm(**form)
    assert not DialectForm().one_file
