"""Signs, and their programs with one word changed.

Six signs are planned and written, two of them once more with arcs and two with all bits in one program;
then, one at a time, a word of a program is deleted, altered, or exchanged with the same letter's word of the
next line that has one.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache

from shapely import affinity, box

from tests.support.specimens import (
    BASSWOOD,
    MACHINE,
    board,
    clearing,
    cutout,
    design,
    disc,
    drilling,
    lettering,
    region,
    vee,
)
from workers.contracts.dialect import Dialect
from workers.cutting_data.tables import BITS
from workers.dialects.metric_arcs import METRIC_ARCS
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.metric_one_file import METRIC_ONE_FILE
from workers.dialects.programs import write_programs
from workers.layout.compose import compose
from workers.toolpaths.plan import plan
from workers.values.cuts import CutoutCut, InciseCut
from workers.values.cutter import KeyholeCutter
from workers.values.design import Design, Hanger, Hole
from workers.values.program import Program
from workers.values.region import Region

THICKNESS_MM = 9.0
OTHER_CODES = {
    "G0": "G1", "G1": "G0", "G2": "G3", "G3": "G2", "G20": "G21", "G21": "G20", "G90": "G91", "G17": "G18",
    "G94": "G93", "M3": "M5", "M5": "M3", "M2": "M0", "G54": "G55", "M6": "M5", "T1": "T2", "T2": "T1",
}  # fmt: skip
_WORD = re.compile(r"([A-Z])(-?\d+(?:\.\d+)?)")


@dataclass(frozen=True)
class Sign:
    """A design, how it is cut, and its sound programs."""

    name: str
    design: Design
    incise: InciseCut
    cutout: CutoutCut
    programs: tuple[Program, ...]


@dataclass(frozen=True)
class Mutant:
    """One program with one word changed."""

    number: int  # of the program
    line: int
    kind: str
    before: str
    after: str
    text: str


@cache
def signs() -> tuple[Sign, ...]:
    """Return small signs: grooves, floors, letters, a star, holes, hangers; some with arcs or in one file."""
    ring = disc(30, 20, 14).difference(disc(30, 20, 9))
    star = box(28, 6, 32, 34).union(affinity.rotate(box(10, 19, 50, 21), 30))
    letters = compose(
        board(60, 40, THICKNESS_MM), [], [lettering("OAR", x_mm=8.0, y_mm=12.0, cap_height_mm=15.0)], None, []
    )
    holes = (Hole(x_mm=8, y_mm=20, diameter_mm=5.0), Hole(x_mm=52, y_mm=20, diameter_mm=5.0))
    return (
        _sign("ring", region(ring), 90.0, 2.0),
        _sign("ring with arcs", region(ring), 90.0, 2.0, dialect=METRIC_ARCS),
        _sign("floor", region(box(12, 10, 48, 30)), 90.0, 1.5),
        _sign("letters", letters.ink, 60.0, 2.5),
        _sign("star", region(star), 60.0, 3.0),
        _sign("holes", region(box(18, 18, 42, 22)), 90.0, 2.5, holes),
        _sign("holes with arcs", region(ring), 90.0, 1.5, holes, METRIC_ARCS),
        _sign("floor in one file", region(box(12, 10, 48, 30)), 90.0, 1.5, dialect=METRIC_ONE_FILE),
        _sign("holes in one file", region(box(18, 18, 42, 22)), 90.0, 2.5, holes, METRIC_ONE_FILE),
        _sign("hangers", region(box(24, 10, 52, 30)), 90.0, 1.5, hangers=_hangers()),
    )


def _hangers() -> tuple[Hanger, ...]:
    """Slots of 1/4 in that do not lie evenly; 2.65 mm of wood stay before them."""
    bit = BITS["keyhole-1/4in"]
    assert isinstance(bit, KeyholeCutter)
    places_mm = ((10, 14), (15, 27))
    return tuple(
        Hanger(x_mm=x_mm, y_mm=y_mm, length_mm=5.5, depth_mm=6.35, cutter=bit) for x_mm, y_mm in places_mm
    )


def _sign(
    name: str,
    ink: Region,
    angle_deg: float,
    limit_mm: float,
    holes: tuple[Hole, ...] = (),
    dialect: Dialect = METRIC_LINES,
    hangers: tuple[Hanger, ...] = (),
) -> Sign:
    sign = replace(design(ink, 60, 40, THICKNESS_MM, 4, holes), hangers=hangers)
    incise = InciseCut(cutter=vee(angle_deg, diameter_mm=6.35, length_mm=5.0), depth_limit_mm=limit_mm)
    free = replace(cutout(), tab_width_mm=5.0)
    planned = plan(sign, incise, clearing(), free, drilling(), BASSWOOD, MACHINE)
    return Sign(name, sign, incise, free, write_programs(planned.plan, MACHINE, dialect))


def mutants(sign: Sign, count: int, seed: int) -> Iterator[Mutant]:
    """Yield so many mutants of a sign's programs, the same ones for the same seed.

    Head and tail of a program and changes of bit, where one word says much, get a third of them.
    """
    dice = random.Random(seed)  # noqa: S311 - a benchmark's sample
    places = [
        (number, line)
        for number, program in enumerate(sign.programs)
        for line, text in enumerate(program.text.split("\n"))
        if _WORD.search(text) and not text.startswith("(")
    ]
    ends = [(number, line) for number, line in places if _says_much(sign.programs[number], line)]
    seen: set[str] = set()
    while len(seen) < count:
        number, line = dice.choice(ends if dice.random() < 1 / 3 else places)
        mutant = _mutant(sign.programs[number].text, number, line, dice)
        if mutant is not None and mutant.text not in seen:
            seen.add(mutant.text)
            yield mutant


def _says_much(program: Program, line: int) -> bool:
    lines = program.text.split("\n")
    near_change = any(text.endswith("M6") for text in lines[max(line - 6, 0) : line + 6])
    return line < 14 or line > len(lines) - 8 or near_change


def _mutant(text: str, number: int, line: int, dice: random.Random) -> Mutant | None:
    lines = text.split("\n")
    words = _WORD.findall(lines[line])
    letter, value = dice.choice(words)
    kind = dice.choice(["delete", "alter", "swap"])
    before, after = letter + value, ""
    if kind == "alter":
        after = OTHER_CODES.get(before) or letter + _altered(value, dice)
    if kind == "swap":
        other = next(
            (place for place in range(line + 1, len(lines)) if re.search(rf"{letter}-?\d", lines[place])),
            None,
        )
        if other is None:
            return None
        after = next(a + b for a, b in _WORD.findall(lines[other]) if a == letter)
        lines[other] = _exchanged(lines[other], after, before)
    lines[line] = _exchanged(lines[line], before, after)
    changed = "\n".join(lines)
    return None if changed == text else Mutant(number, line + 1, kind, before, after, changed)


def _exchanged(line: str, before: str, after: str) -> str:
    return re.sub(rf"{re.escape(before)}(?![\d.])", after, line, count=1)


def _altered(value: str, dice: random.Random) -> str:
    number = float(value)
    changed = dice.choice(
        [number + 0.15, number - 0.15, number + 2, number - 2, -number, number * 10, number / 10]
    )
    return f"{changed:.3f}" if "." in value else f"{changed:.0f}"
