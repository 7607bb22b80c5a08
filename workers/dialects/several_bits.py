"""All of a plan as one program of RS-274 that changes its bits, for whoever would not carry one file a bit.

T and M6 on one line, T being the bit's place in the plan (NISTIR 6556, 3.6.3 and table 8); before it the bit
is lifted and taken to the start, and the spindle stopped, as at the end of a program for one bit.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from workers.dialects.comments import message, remarks
from workers.dialects.rs274_writer import Rs274Dialect, described, said_of, said_of_job
from workers.values.cutting_plan import CuttingPlan, Operation
from workers.values.machine import Machine

_BY_HAND = "After each change set Z0 again on the board's face; X0 Y0 stay."
_UNPAUSED = "At each M6 the machine must change the bit, or stop: try that above the work."
_BY_TABLE = "Z comes from the machine's table of bit lengths: measure each bit first."


@dataclass(frozen=True, slots=True, kw_only=True)
class SeveralBits:
    """Writes one program of all bits; what lies between the changes is another dialect's."""

    name: str
    summary: str
    between: Rs274Dialect
    pause_word: str = ""  # M0 or M1 after each change, with a message to the operator
    with_length_offset: bool = False  # G43 H with the bit's number, where the machine knows its length
    plugin_api: int = 1

    def write(self, operation: Operation, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        """Yield the lines of the program of one operation alone, without a change."""
        return self.between.write(operation, plan, machine)

    def write_all(self, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        """Yield the lines of the one program, without line ends.

        Args:
            plan: All operations: board, clearance, time to spin up.
            machine: Who shall read the program.
        """
        return self.between.dressed(self._lines(plan, machine))

    def _lines(self, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        between = self.between
        yield from remarks(said_of_job(plan, machine, between.words))
        yield from remarks(self._bits(plan, machine))
        yield from between.modes()
        for place, turn in enumerate(plan.turns):
            if place:
                yield from between.away()
            yield from self._change(turn[0], plan, machine)
            yield between.lift(plan)
            yield from self._cuts(turn, plan, machine)
        yield from between.away()
        yield between.end_word

    def _stop_word(self, machine: Machine) -> str:
        """M0 even if not asked for where a hand must turn the spindle's dial."""
        return self.pause_word or ("" if machine.spindle_commanded else "M0")

    def _bits(self, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        for number, cutter in enumerate(plan.bits, 1):
            yield f"Bit {number} is {cutter.name}: {described(cutter)}"
        yield _BY_TABLE if self.with_length_offset else _BY_HAND
        if not self._stop_word(machine):
            yield _UNPAUSED

    def _change(self, operation: Operation, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        """Yield the lines that bring the bit of an operation into the spindle."""
        number = plan.bits.index(operation.cutter) + 1
        yield f"T{number} M6"
        if stop_word := self._stop_word(machine):
            zero = "" if self.with_length_offset else ", set Z0"
            dial = "" if machine.spindle_commanded else f", dial {operation.spindle_rpm:.0f}"
            yield message(f"Fit bit {number}{zero}{dial}, go on: {operation.cutter.name}")
            yield stop_word
        if self.with_length_offset:
            yield f"G43 H{number}"

    def _cuts(self, turn: tuple[Operation, ...], plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        """Yield what one bit does; the spindle is told only what changes."""
        rpm = turn[0].spindle_rpm
        for operation in turn:
            yield from remarks(said_of(operation, self.between.words))
            if operation.spindle_rpm != rpm and not machine.spindle_commanded:
                yield from ("M5", message(f"Set the dial to {operation.spindle_rpm:.0f}, go on"), "M0")
            if operation is turn[0] or operation.spindle_rpm != rpm:
                yield from self.between.spindle(operation, plan, machine)
            rpm = operation.spindle_rpm
            yield from self.between.cuts(operation, plan)
