"""Are faults planted in emitted programs caught? ``python -m tests.benchmarks.mutations``.

Five signs are planned and written, two of them once more with arcs; then, one at a time, a word of a program
is deleted, altered, or exchanged with the same letter's word of the next line that has one. Whether a mutant
matters is told without the gates: in simulation the finished board, its edge with it, differs from the sound
one by more than 0.1 mm somewhere, up, down and sideways; or one of the rules below, read off the motions
alone, is broken that the sound programs keep:

* every feed below the face has a turning spindle, within its speeds;
* no descent is faster than the machine's plunge, no feed faster than its feed;
* no traverse takes anything off the stock;
* nothing leaves the machine's travel, nothing goes deeper into the bed than was ordered, and nothing
  cuts beside the board but to go round it;
* a drill goes no deeper than its diameter before it is lifted out of the hole;
* the program is readable.

A mutant that matters is caught when its proof fails. The others may pass or not; what passes is listed with
the reason why it does no harm, which is measured as well.
"""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity, box

from tests.support.markdown_tables import command_line, deliver, table, tell
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
from workers.dialects.metric_arcs import METRIC_ARCS
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.errors import UnreadableProgramError
from workers.interpretation.interpreter import read_program
from workers.layout.compose import compose
from workers.simulation.stock import Stock
from workers.toolpaths.plan import plan
from workers.values.cuts import CutoutCut, InciseCut
from workers.values.cutter import Drill
from workers.values.design import Design, Hole
from workers.values.program import Motion, Program, Trace
from workers.values.region import Region
from workers.verification.designed_depth import inside_of
from workers.verification.grid import grid_over
from workers.verification.verify import verify

MUTANTS = 700  # of all signs
CHANGED_MM = 0.1
NOTHING_MM = 0.001
TAKEN_MM = 0.02  # off the stock by a traverse
SLACK = 1.005  # of feeds: they are rounded in a program
ROUNDING_MM = 0.003  # of places
THICKNESS_MM = 9.0
OTHER_CODES = {
    "G0": "G1", "G1": "G0", "G2": "G3", "G3": "G2", "G20": "G21", "G21": "G20", "G90": "G91", "G17": "G18",
    "G94": "G93", "M3": "M5", "M5": "M3", "M2": "M0", "G54": "G55",
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
    """Return small signs: grooves, floors, letters, a slender star, holes; round ones with arcs too."""
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
    )


def _sign(
    name: str,
    ink: Region,
    angle_deg: float,
    limit_mm: float,
    holes: tuple[Hole, ...] = (),
    dialect: Dialect = METRIC_LINES,
) -> Sign:
    sign = design(ink, 60, 40, THICKNESS_MM, 4, holes)
    incise = InciseCut(cutter=vee(angle_deg, diameter_mm=6.35, length_mm=5.0), depth_limit_mm=limit_mm)
    free = replace(cutout(), tab_width_mm=5.0)
    planned = plan(sign, incise, clearing(), free, drilling(), BASSWOOD, MACHINE)
    return Sign(name, sign, incise, free, write_programs(planned.plan, MACHINE, dialect))


def mutants(sign: Sign, count: int, seed: int) -> Iterator[Mutant]:
    """Yield so many mutants of a sign's programs, the same ones for the same seed.

    Head and tail of a program, where one word says much, get a third of them.
    """
    dice = random.Random(seed)  # noqa: S311 - a benchmark's sample
    places = [
        (number, line)
        for number, program in enumerate(sign.programs)
        for line, text in enumerate(program.text.split("\n"))
        if _WORD.search(text) and not text.startswith("(")
    ]
    ends = [
        (number, line)
        for number, line in places
        if line < 14 or line > len(sign.programs[number].text.split("\n")) - 8
    ]
    seen: set[str] = set()
    while len(seen) < count:
        number, line = dice.choice(ends if dice.random() < 1 / 3 else places)
        mutant = _mutant(sign.programs[number].text, number, line, dice)
        if mutant is not None and mutant.text not in seen:
            seen.add(mutant.text)
            yield mutant


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


@dataclass(frozen=True)
class Outcome:
    """What a sign's programs do to the board, and which rules they break; no gate is asked."""

    depth_mm: NDArray[np.float32]
    broken: frozenset[str]
    traces: tuple[Trace, ...]


def outcome(sign: Sign, programs: Sequence[Program]) -> Outcome:
    """Return the surface that the programs leave, and the rules that they break."""
    grid = grid_over(sign.design.board, sign.cutout, None)
    stock = Stock(grid.left_mm, grid.bottom_mm, grid.right_mm, grid.top_mm, grid.cell_mm)
    broken: set[str] = set()
    traces: list[Trace] = []
    for program in programs:
        try:
            trace = read_program(program.text, program.name)
        except UnreadableProgramError:
            broken.add("readable")
            continue
        traces.append(trace)
        broken |= _broken_by(trace, sign)
        if (
            isinstance(program.cutter, Drill)
            and _deepest_stroke_mm(trace) > program.cutter.diameter_mm + 0.01
        ):
            broken.add("peck")
        low_mm = np.minimum(trace.starts_mm[:, 2], trace.ends_mm[:, 2])
        taken_mm = stock.cut(trace, program.cutter, (trace.motions == Motion.TRAVERSE) & (low_mm < -TAKEN_MM))
        if (taken_mm > TAKEN_MM).any():
            broken.add("traverse in stock")
    return Outcome(np.minimum(stock.depth_mm, THICKNESS_MM), frozenset(broken), tuple(traces))


def _broken_by(trace: Trace, sign: Sign) -> set[str]:
    steps_mm = trace.ends_mm - trace.starts_mm
    lengths_mm = np.linalg.norm(steps_mm, axis=1)
    feeding = trace.motions == Motion.FEED
    below = np.minimum(trace.starts_mm[:, 2], trace.ends_mm[:, 2]) < 0
    fallen_mm = np.maximum(-steps_mm[:, 2] - ROUNDING_MM, 0.0)
    fall = np.divide(fallen_mm, lengths_mm, out=np.zeros_like(lengths_mm), where=lengths_mm > 0)
    points_mm = np.concatenate([trace.starts_mm, trace.ends_mm])
    span_mm = points_mm.max(axis=0) - points_mm.min(axis=0)
    travel_mm = (MACHINE.travel_x_mm, MACHINE.travel_y_mm, MACHINE.travel_z_mm)
    turning = trace.spindle_rpm[feeding & below]
    tests = {
        "spindle": (turning < MACHINE.min_spindle_rpm).any() or (turning > MACHINE.max_spindle_rpm).any(),
        "plunge": (feeding & (trace.feeds_mm_per_min * fall > SLACK * MACHINE.max_plunge_mm_per_min)).any(),
        "feed": (trace.feeds_mm_per_min[feeding] > SLACK * MACHINE.max_feed_mm_per_min).any(),
        "travel": (span_mm > travel_mm).any(),
        "beside the board": _aside_mm(trace, sign) > 5.0,
        "bed": points_mm[:, 2].min() < -THICKNESS_MM - sign.cutout.past_mm - 0.01,
    }
    return {rule for rule, is_broken in tests.items() if is_broken}


def _deepest_stroke_mm(trace: Trace) -> float:
    """Return how much deeper a hole gets at most before the drill is out of it again."""
    deepest_mm, begun_mm = 0.0, 0.0
    bottoms_mm: dict[tuple[float, float], float] = {}
    for x_mm, y_mm, z_mm in trace.ends_mm.round(1).tolist():
        hole = (x_mm, y_mm)
        if z_mm >= 0:
            begun_mm = bottoms_mm.get(hole, 0.0)
            continue
        bottoms_mm[hole] = min(bottoms_mm.get(hole, 0.0), z_mm)
        deepest_mm = max(deepest_mm, begun_mm - z_mm)
    return deepest_mm


def _aside_mm(trace: Trace, sign: Sign) -> float:
    """Return how far beside the board the middle of a bit gets below the face."""
    points_mm = trace.ends_mm[(trace.ends_mm[:, 2] < 0) & (trace.motions == Motion.FEED), :2]
    return float(shapely.distance(sign.design.outline, shapely.points(points_mm)).max(initial=0.0))


def _change_mm(sign: Sign, one_mm: NDArray[np.float32], other_mm: NDArray[np.float32]) -> float:
    """Return the greatest difference in depth on the board that no shift by one cell explains."""
    grid = grid_over(sign.design.board, sign.cutout, None)
    finished = inside_of(Region(shapely.MultiPolygon([sign.design.outline.buffer(CHANGED_MM)])), grid)
    cell = np.ones((3, 3), np.uint8)
    above_mm = one_mm - cv2.dilate(other_mm, cell)
    below_mm = cv2.erode(other_mm, cell) - one_mm
    return float(np.maximum(above_mm, below_mm)[finished].max())


@dataclass(frozen=True)
class Verdict:
    """One mutant: does it matter, and why; did the proof pass, and if not by which gates."""

    sign: str
    mutant: Mutant
    matters: str
    caught_by: tuple[str, ...]
    harmless: str  # why it does not matter
    change_mm: float  # of the cut, up, down and sideways


def judged(sign: Sign, mutant: Mutant, sound: Outcome) -> Verdict:
    """Return what a mutant does and what the proof says of it."""
    programs = list(sign.programs)
    programs[mutant.number] = replace(programs[mutant.number], text=mutant.text)
    found = outcome(sign, programs)
    reasons = sorted(found.broken - sound.broken)
    change_mm = _change_mm(sign, found.depth_mm, sound.depth_mm)
    if "readable" not in reasons and change_mm > CHANGED_MM:
        reasons.append(f"cut by {change_mm:.2f} mm")
    proof = verify(
        programs, sign.design.board, MACHINE, sign.design, sign.incise, sign.cutout, drill=drilling()
    ).proof
    codes = tuple(sorted({finding.code for finding in proof.findings if finding.severity == "error"}))
    caught_by = () if proof.passed else codes or ("?",)
    harmless = "" if reasons else _harmless_because(found, sound, mutant.number)
    return Verdict(sign.name, mutant, ", ".join(reasons), caught_by, harmless, change_mm)


def _harmless_because(found: Outcome, sound: Outcome, number: int) -> str:
    """Return what of a mutant differs from the sound program, the most visible first."""
    mutant, own = found.traces[number], sound.traces[number]
    apart_mm = float(np.abs(found.depth_mm - sound.depth_mm).max())
    same_ways = (
        mutant.ends_mm.shape == own.ends_mm.shape
        and ((mutant.ends_mm == own.ends_mm) & (mutant.starts_mm == own.starts_mm)).all()
    )
    if apart_mm > NOTHING_MM:
        return "cuts almost the same: within 0.1 mm up and down, or a cell sideways"
    if not same_ways:
        return "other ways in the air or in what is cut already, within all limits"
    if (mutant.motions != own.motions).any():
        return "feeds where it could traverse, or traverses through air"
    if (mutant.feeds_mm_per_min != own.feeds_mm_per_min).any():
        return "another feed, within the machine's"
    if (mutant.spindle_rpm != own.spindle_rpm).any():
        return "another speed of the spindle, within its own, or while nothing is cut"
    if mutant.dwell_s != own.dwell_s:
        return "another dwell"
    return "says the same: the word was in force already, or is the standard's own start"


def verdicts(count: int) -> list[Verdict]:
    """Return the verdicts on so many mutants, as many of each sign."""
    found: list[Verdict] = []
    for place, sign in enumerate(signs()):
        sound = outcome(sign, sign.programs)
        assert not sound.broken, sound.broken
        for mutant in mutants(sign, count // len(signs()), seed=place):
            found.append(judged(sign, mutant, sound))
        tell(f"{sign.name}: {len(found)} of {count}")
    return found


def change(mutant: Mutant) -> str:
    """Return the word before and after."""
    return f"{mutant.before} -> {mutant.after or '(deleted)'}"


def main() -> None:
    """Print the score, what caught the mutants, and every survivor."""
    parser = command_line("Faults planted in programs, and what the proof says of them.")
    parser.add_argument("--mutants", type=int, default=MUTANTS)
    arguments = parser.parse_args()
    found = verdicts(arguments.mutants)
    matter = [verdict for verdict in found if verdict.matters]
    survivors = [verdict for verdict in matter if not verdict.caught_by]
    gates = Counter(code for verdict in matter for code in verdict.caught_by)
    rows = []
    for sign in signs():
        own = [verdict for verdict in found if verdict.sign == sign.name]
        mattering = [verdict for verdict in own if verdict.matters]
        caught = sum(bool(verdict.caught_by) for verdict in mattering)
        refused = sum(bool(verdict.caught_by) for verdict in own if not verdict.matters)
        rows.append((sign.name, len(own), len(mattering), caught, refused))
    rows.append(("all", *(sum(int(row[column]) for row in rows) for column in range(1, 5))))
    body = table(["sign", "mutants", "that matter", "caught", "refused though they do not"], rows)
    body += "\n" + table(["gate", "mutants"], gates.most_common())
    body += "\n" + table(
        ["survivor", "program", "line", "change", "what it does"],
        [
            (
                v.sign,
                v.mutant.number + 1,
                v.mutant.line,
                change(v.mutant),
                v.matters,
            )
            for v in survivors
        ],
    )
    passed = [verdict for verdict in found if not verdict.matters and not verdict.caught_by]
    body += "\n" + table(
        ["let pass because it", "mutants"], Counter(v.harmless for v in passed).most_common()
    )
    body += "\n" + table(
        ["let pass", "program", "line", "change", "cut differs, mm", "why"],
        [
            (v.sign, v.mutant.number + 1, v.mutant.line, change(v.mutant), f"{v.change_mm:.3f}", v.harmless)
            for v in passed
        ],
    )
    deliver("Mutants of emitted programs", body, arguments.out)


if __name__ == "__main__":
    main()
