"""Are faults planted in emitted programs caught? ``python -m tests.benchmarks.mutations``.

The signs and their mutants are those of ``mutants.py``. Whether a mutant matters is told without the gates:
in simulation the finished board, edge and back, differs from the sound one by more than 0.1 mm somewhere,
up, down and sideways; or one of the rules below, read off the motions alone, is broken that the sound
programs keep:

* every feed below the face has a turning spindle, within its speeds;
* no descent is faster than the machine's plunge, no feed faster than its feed;
* no traverse takes anything off the stock;
* nothing leaves the machine's travel, nothing goes deeper into the bed than was ordered, and nothing
  cuts beside the board but to go round it;
* a drill goes no deeper than its diameter before it is lifted out of the hole;
* the head of a keyhole bit is not lifted into the wood over it, and 1.9 mm of wood stay before the back;
* a bit is changed with the spindle standing, above the face, and to one that is there;
* the program is readable.

A mutant that matters is caught when its proof fails. The others may pass or not; what passes is listed with
the reason why it does no harm, which is measured as well.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from tests.benchmarks.mutants import THICKNESS_MM, Mutant, Sign, mutants, signs
from tests.support.markdown_tables import command_line, deliver, table, tell
from tests.support.specimens import BASSWOOD, MACHINE, drilling
from workers.errors import UnreadableProgramError
from workers.interpretation.interpreter import read_program
from workers.simulation.stock import Stock
from workers.simulation.undercut import UndercutStock
from workers.values.cutter import Cutter, Drill
from workers.values.program import Motion, Program, Trace
from workers.values.region import Region
from workers.verification.designed_depth import inside_of
from workers.verification.grid import grid_over
from workers.verification.verify import verify

MUTANTS = 900  # of all signs
CHANGED_MM = 0.1
NOTHING_MM = 0.001
TAKEN_MM = 0.02  # off the stock by a traverse
WOOD_MM = 1.9  # between the back and the face
EDGE_MM = 0.005  # a tooth that takes less rubs
SLACK = 1.005  # of feeds: they are rounded in a program
ROUNDING_MM = 0.003  # of places


@dataclass(frozen=True)
class Outcome:
    """What a sign's programs do to the board, and which rules they break; no gate is asked."""

    depth_mm: NDArray[np.float32]
    back_mm: tuple[NDArray[np.float32], ...]  # as it lies: how deep it is cut, and the wood over that
    broken: frozenset[str]
    traces: tuple[Trace, ...]


def outcome(sign: Sign, programs: Sequence[Program]) -> Outcome:
    """Return the surface that the programs leave, and the rules that they break."""
    grid = grid_over(sign.design.board, sign.cutout, None)
    sides = (grid.left_mm, grid.bottom_mm, grid.right_mm, grid.top_mm, grid.cell_mm)
    stock, back = Stock(*sides), UndercutStock(*sides)
    broken: set[str] = set()
    traces: list[Trace] = []
    for program in programs:
        try:
            trace = read_program(program.text, program.name)
        except UnreadableProgramError:
            broken.add("readable")
            continue
        traces.append(trace)
        broken |= _broken_by(trace, sign) | _broken_at_changes(trace)
        for cutter, part in _parts(program, trace):
            if cutter is None:
                broken |= {"bit"} if (part.lowest_mm < 0).any() else set()
                continue
            if isinstance(cutter, Drill) and _deepest_stroke_mm(part) > cutter.diameter_mm + 0.01:
                broken.add("peck")
            broken |= {"chip"} if _rubs_only(part, cutter) else set()
            watched = (part.motions == Motion.TRAVERSE) & (part.lowest_mm < -TAKEN_MM)
            if program.from_behind:
                effects = back.cut(part, cutter, watched, [], lambda: np.zeros_like(stock.depth_mm, np.bool_))
                broken |= {"lifted under wood"} if (effects.lifted_mm > TAKEN_MM).any() else set()
                removed_mm = effects.removed_mm
            else:
                removed_mm = stock.cut(part, cutter, watched)
            if (removed_mm > TAKEN_MM).any():
                broken.add("traverse in stock")
    wood_mm = THICKNESS_MM - stock.depth_mm[:, ::-1] - back.deepest_mm  # the grid lies evenly round the board
    broken |= {"wood before the back"} if (wood_mm[back.deepest_mm > 0] < WOOD_MM).any() else set()
    return Outcome(
        depth_mm=np.minimum(stock.depth_mm, THICKNESS_MM),
        back_mm=(back.deepest_mm, back.cover_mm()),
        broken=frozenset(broken),
        traces=tuple(traces),
    )


def _parts(program: Program, trace: Trace) -> list[tuple[Cutter | None, Trace]]:
    """Return what each bit does in turn; None: one that is not there."""
    if program.cutter is not None:
        return [(program.cutter, trace)]
    numbers = [0, *(change.number or 0 for change in trace.changes)]
    return [
        (program.bits.get(number), part)
        for number, part in zip(numbers, trace.between_changes(), strict=True)
        if len(part.lines)
    ]


def _broken_at_changes(trace: Trace) -> set[str]:
    tests = {
        "spindle at a change": any(change.spindle_rpm > 0 for change in trace.changes),
        "change in the board": any((change.height_mm or 0.0) < 0 for change in trace.changes),
    }
    return {rule for rule, is_broken in tests.items() if is_broken}


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


def _rubs_only(trace: Trace, cutter: Cutter) -> bool:
    """Return whether no tooth ever takes more than an edge is round (memory: 5 micrometres of carbide)."""
    cutting = (trace.motions == Motion.FEED) & (trace.lowest_mm < -TAKEN_MM) & (trace.spindle_rpm > 0)
    teeth_per_min = trace.spindle_rpm[cutting] * cutter.flutes_count
    return bool(cutting.any() and (trace.feeds_mm_per_min[cutting] < EDGE_MM * teeth_per_min).all())


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
    change_mm = max(
        _change_mm(sign, *maps)
        for maps in ((found.depth_mm, sound.depth_mm), *zip(found.back_mm, sound.back_mm, strict=True))
    )
    if "readable" not in reasons and change_mm > CHANGED_MM:
        reasons.append(f"cut by {change_mm:.2f} mm")
    proof = verify(
        programs,
        sign.design.board,
        MACHINE,
        sign.design,
        sign.incise,
        sign.cutout,
        drill=drilling(),
        material=BASSWOOD,
    ).proof
    codes = tuple(sorted({finding.code for finding in proof.findings if finding.severity == "error"}))
    caught_by = () if proof.passed else codes or ("?",)
    harmless = "" if reasons else _harmless_because(found, sound, mutant.number)
    return Verdict(sign.name, mutant, ", ".join(reasons), caught_by, harmless, change_mm)


def _harmless_because(found: Outcome, sound: Outcome, number: int) -> str:
    """Return what of a mutant differs from the sound program, the most visible first."""
    mutant, own = found.traces[number], sound.traces[number]
    maps = ((found.depth_mm, sound.depth_mm), *zip(found.back_mm, sound.back_mm, strict=True))
    apart_mm = max(float(np.abs(one - other).max()) for one, other in maps)
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
