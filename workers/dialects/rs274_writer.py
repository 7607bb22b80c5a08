"""One operation as a program of RS-274: the frame that all dialects share.

The rules are those of trade.md part 1.7 (G-50 to G-64): plain ASCII, one command
group a line, everything set before anything moves, first motion up, no cycles,
no offsets, no tool changes, a plain end. Programs of several bits are in ``several_bits``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain

from workers.dialects.comments import MESSAGE, remark, remarks
from workers.dialects.path_moves import Heights, path_moves
from workers.dialects.word_format import WordFormat
from workers.values.cutter import BallNose, Cutter, Drill, EndMill, KeyholeCutter, VeeCutter
from workers.values.cutting_plan import CuttingPlan, Operation, OperationKind
from workers.values.machine import Machine

_APPROACH_MM = 1.0  # over the face, from where the bit goes down at its plunge feed (common practice)
_MOST_NUMBER, _NUMBER_STEP = 99_999, 10
_MODES = ("G17", "G90", "G94", "G40", "G49", "G80", "G54")
_FACE_UP = ("Zero: X0 Y0 is the lower left corner of the board, Z0 its face.",)
_BACK_UP = (
    "FROM BEHIND: turn the board over sideways, like a page, face down.",
    "Its lower edge stays below; left and right change places.",
    "Zero: X0 Y0 is the lower left corner as it lies, Z0 its back.",
    "In a slot the head is under wood: if stopped there, first go back to its entry, then up.",
)
_TITLES = {OperationKind.BACK: "Slots in the back"}
_CAUTIONS = (
    "Run the file once above the work and check its size and direction.",
    "Goggles, hearing protection, dust extraction. Stay with the machine.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rs274Dialect:
    """Writes programs in one unit, of straight moves or with arcs; the rest is what a controller wants."""

    name: str
    summary: str
    words: WordFormat
    with_arcs: bool
    with_comments: bool = True
    dwell_s: float | None = None  # G4 while the spindle comes up to speed; None: what the machine needs
    spindle_on_one_line: bool = False  # S and M3
    in_percent_frame: bool = False  # a line of % before and after everything
    with_line_numbers: bool = False
    end_word: str = "M2"  # or M30
    plugin_api: int = 1

    def write(self, operation: Operation, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        """Yield the lines of the program of one operation, without line ends.

        Args:
            operation: What one bit does.
            plan: The plan it belongs to: board, clearance, time to spin up.
            machine: Who shall read the program.
        """
        lines = chain(
            remarks(
                (
                    *said_of(operation, self.words),
                    *said_of_job(plan, machine, self.words, operation.kind is OperationKind.BACK),
                )
            ),
            self.modes(),
            [self.lift(plan)],
            self.spindle(operation, plan, machine),
            self.cuts(operation, plan),
            self.away(),
            [self.end_word],
        )
        yield from self.dressed(lines)

    def dressed(self, lines: Iterable[str]) -> Iterator[str]:
        """Yield the lines of a program as the controller wants them: remarks, numbers, frame."""
        if not self.with_comments:
            lines = (line for line in lines if not line.startswith("(") or line.startswith(MESSAGE))
        if self.with_line_numbers:
            lines = (f"N{_numbered(place)} {line}" for place, line in enumerate(lines))
        if self.in_percent_frame:
            lines = ("%", *lines, "%")
        yield from lines

    def modes(self) -> Iterator[str]:
        """Yield what is set before anything moves."""
        yield self.words.units_word
        yield from _MODES

    def lift(self, plan: CuttingPlan) -> str:
        """Return the line that goes up to the clearance height."""
        return f"G0 Z{self.words.length(plan.clearance_mm)}"

    def spindle(self, operation: Operation, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        """Yield the lines that start the spindle and wait for it."""
        if not machine.spindle_commanded:
            yield from remark(f"Set the spindle's dial to {operation.spindle_rpm:.0f} rpm and switch it on.")
        speed = f"S{operation.spindle_rpm:.0f}"
        yield from [f"{speed} M3"] if self.spindle_on_one_line else [speed, "M3"]
        dwell_s = plan.spin_up_s if self.dwell_s is None else self.dwell_s
        if dwell_s:
            yield from remark(f"Wait {dwell_s:g} seconds for the spindle")
            yield f"G4 P{dwell_s:.1f}"

    def cuts(self, operation: Operation, plan: CuttingPlan) -> Iterator[str]:
        """Yield every path of an operation; the last ends at the clearance height."""
        arrivals_mm = [path.traverse_mm or plan.clearance_mm for path in operation.paths]
        for path, arrive_mm, leave_mm in zip(
            operation.paths, arrivals_mm, [*arrivals_mm[1:], plan.clearance_mm], strict=True
        ):
            heights = Heights(min(_APPROACH_MM, arrive_mm), leave_mm)
            yield from path_moves(path, self.words, heights, with_arcs=self.with_arcs)

    def away(self) -> Iterator[str]:
        """Yield the lines that stop the spindle and go back to the start."""
        yield "M5"
        yield f"G0 X{self.words.length(0)} Y{self.words.length(0)}"


def _numbered(place: int) -> int:
    """Return the number of a line: steps of ten, from the start again where five digits end (trade.md G-05).

    >>> _numbered(0), _numbered(9998), _numbered(9999)
    (10, 99990, 10)
    """
    return _NUMBER_STEP * (place % (_MOST_NUMBER // _NUMBER_STEP) + 1)


def said_of(operation: Operation, words: WordFormat) -> Iterator[str]:
    """Yield the remarks before an operation: its bit, its speed and how deep it goes."""
    deepest_mm = -min(float(path.points_mm[:, 2].min()) for path in operation.paths)
    title = _TITLES.get(operation.kind, operation.kind.value.capitalize())
    yield f"{title} with {operation.cutter.name}: {described(operation.cutter)}"
    yield f"Spindle {operation.spindle_rpm:.0f} rpm, deepest cut {words.length(deepest_mm)} {_unit(words)}"


def said_of_job(
    plan: CuttingPlan, machine: Machine, words: WordFormat, from_behind: bool = False
) -> Iterator[str]:
    """Yield the remarks at the head of a program: board, machine, zero and cautions."""
    board = plan.board
    size = " x ".join(words.length(side) for side in (board.width_mm, board.height_mm, board.thickness_mm))
    yield f"Board {size} {_unit(words)}, {board.material}. Machine {machine.name}, units {words.units_title}."
    yield from _BACK_UP if from_behind else _FACE_UP
    yield from _CAUTIONS


def _unit(words: WordFormat) -> str:
    return "in" if words.mm_per_unit != 1 else "mm"


def described(cutter: Cutter) -> str:
    """Return what to look for in the drawer."""
    flutes = "1 flute" if cutter.flutes_count == 1 else f"{cutter.flutes_count} flutes"
    size = f"{cutter.diameter_mm:.3f} mm or {cutter.diameter_mm / 25.4:.4f} in, {flutes}"
    match cutter:
        case VeeCutter():
            return f"V-bit {cutter.included_angle_deg:g} deg, tip {cutter.tip_mm:g} mm, {size}"
        case EndMill():
            return f"end mill {size}"
        case BallNose():
            return f"ball nose {size}"
        case Drill():
            return f"drill {size}"
        case KeyholeCutter():
            return f"keyhole bit, neck {cutter.neck_mm:.3g} mm, head {size}"
