"""Faults planted at the changes of bit of a program that has several: the proof finds each.

Source: what M6, T, M3 and M5 do is NISTIR 6556, 3.6 and table 8; what is wrong is by definition wrong. The
sign has a floor, strokes and is cut free: an end mill cuts first, then a V-bit, then the end mill again.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import pytest
from shapely.geometry import box

from tests.support.specimens import BASSWOOD, MACHINE, clearing, cutout, design, incise, region
from workers.dialects.metric_one_file import METRIC_ONE_FILE
from workers.dialects.programs import write_programs
from workers.toolpaths.plan import plan
from workers.values.program import Program
from workers.verification.verify import verify

SIGN = design(region(box(12, 10, 40, 22), box(12, 30, 55, 33)), 70, 45, 9, corner_radius_mm=8)


@cache
def sound() -> Program:
    """The program of the sign with both bits."""
    planned = plan(SIGN, incise(), clearing(), cutout(), None, BASSWOOD, MACHINE)
    [program] = write_programs(planned.plan, MACHINE, METRIC_ONE_FILE)
    return program


def errors(text: str) -> set[str]:
    """The codes of what the proof does not let pass."""
    program = Program(name=sound().name, text=text, bits=sound().bits)
    proof = verify([program], SIGN.board, MACHINE, SIGN, incise(), cutout()).proof
    found = {finding.code for finding in proof.findings if finding.stops}
    assert proof.passed == (not found)
    return found


def nth(text: str, word: str, number: int, other: str) -> str:
    """The text with the nth line that is the word exchanged."""
    lines = text.split("\n")
    places = [place for place, line in enumerate(lines) if line == word]
    lines[places[number - 1]] = other
    return "\n".join(lines)


def exchanged(text: str) -> str:
    """Every T1 a T2 and every T2 a T1."""
    return text.replace("T1 M6", "T9 M6").replace("T2 M6", "T1 M6").replace("T9 M6", "T2 M6")


def with_lengths(text: str) -> str:
    """Each bit with its own length, but for the last change, where the V-bit's stays in force."""
    return nth(text, "T1 M6", 1, "T1 M6\nG43 H1").replace("T2 M6", "T2 M6\nG43 H2")


def cutout_first(text: str) -> str:
    """The last stretch before the first."""
    head, first, second, third = (part for part in text.replace("T2 M6", "T1 M6").split("T1 M6"))
    third, end = third.split("M5")
    return "".join(
        [head, "T1 M6", third, "M5\n", "T1 M6", first, "T2 M6", second.removesuffix("M5\n"), "M5", end]
    )


def test_without_a_fault_the_proof_passes() -> None:
    """Or the others prove nothing."""
    assert errors(sound().text) == set()


@pytest.mark.parametrize(
    ("fault", "expected"),
    [
        (lambda text: nth(text, "T2 M6", 1, "T2"), {"nothing-cut", "spindle-off"}),  # M6 removed
        (lambda text: nth(text, "T1 M6", 2, "T1"), {"overcut", "past-cutting-length"}),
        (lambda text: nth(text, "T1 M6", 1, ""), {"bit-not-given"}),
        (lambda text: nth(text, "T2 M6", 1, "M6"), {"nothing-cut", "overcut"}),  # T removed
        (exchanged, {"overcut", "undercut"}),
        (lambda text: nth(text, "T1 M6", 2, "T2 M6"), {"overcut"}),
        (lambda text: text.replace("T2 M6", "T3 M6"), {"bit-not-given"}),
        (lambda text: nth(text, "M5", 1, ""), {"spindle-on-at-change"}),  # spindle not stopped
        (lambda text: nth(text, "M3", 2, ""), {"spindle-off"}),  # nor started again
        (lambda text: text.replace("M5\n", "G1 X30 Y16\nG1 Z-1\nM5\n", 1), {"change-in-the-work"}),
        (lambda text: text.replace("T2 M6", "G0 X700\nT2 M6"), {"outside-envelope"}),
        (with_lengths, {"other-bits-length"}),
        (cutout_first, {"freed-before-carving"}),
    ],
    ids=[
        "M6 of the V-bit", "M6 of the mill", "first change", "T", "T exchanged", "T of the last", "unknown T",
        "M5", "M3", "change below the face", "astray at the change", "length of another", "order",
    ],
)  # fmt: skip
def test_a_fault_at_a_change_is_found(fault: Callable[[str], str], expected: set[str]) -> None:
    """By the gate that is named so, among others."""
    text = fault(sound().text)
    assert text != sound().text
    assert errors(text) & expected
