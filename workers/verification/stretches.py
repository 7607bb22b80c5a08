"""A program as read, and the stretches of it that one bit makes, between changes of bit."""

from __future__ import annotations

from dataclasses import dataclass

from workers.values.cutter import Cutter
from workers.values.finding import Finding, Severity
from workers.values.program import BitChange, Motion, Program, Trace

_ONE_BIT = (
    "split it, one file for each bit, or give its bits by their numbers: bits: {1: vee-60, 2: flat-1/8in}"
)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Reading:
    """A program, or a part of one, as the interpreter read it."""

    program: Program
    trace: Trace

    def line_of(self, motion: int) -> str:
        """Return where in the program a motion is said: its name and line."""
        return f"{self.program.name}, line {self.trace.lines[motion]}"

    def end_of(self, motion: int) -> tuple[float, float]:
        """Return where on the board a motion ends, to a micrometre."""
        x_mm, y_mm, _ = self.trace.ends_mm[motion]
        return round(float(x_mm), 3), round(float(y_mm), 3)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Stretch(Reading):
    """What one bit does until the next takes its place."""

    cutter: Cutter
    number: int | None = None  # of the bit; None: the only one of its program


def stretches_of(reading: Reading) -> tuple[list[Stretch], list[Finding]]:
    """Return what each bit does in turn; or nothing, and why it is not known.

    Before the first change of a program with several bits nobody knows which is in the spindle: it may only
    move in the air, and is taken for the widest.

    Args:
        reading: A whole program.
    """
    program, trace = reading.program, reading.trace
    parts = list(zip((None, *trace.changes), trace.between_changes(), strict=True))
    if program.cutter is not None:
        second = _second_bit(program, parts)
        return (
            ([], [second]) if second else ([Stretch(program=program, trace=trace, cutter=program.cutter)], [])
        )
    widest = max(program.bits.values(), key=lambda cutter: cutter.diameter_mm)
    stretches: list[Stretch] = []
    for change, part in parts:
        number = change.number if change else None
        cutter = program.bits.get(number or 0)
        if cutter is None and (number or (part.lowest_mm < 0).any()):
            return [], [_not_given(program, change, part)]
        if len(part.lines):
            stretches.append(Stretch(program=program, trace=part, cutter=cutter or widest, number=number))
    return stretches, []


def _second_bit(program: Program, parts: list[tuple[BitChange | None, Trace]]) -> Finding | None:
    """Return a finding when a program for one bit cuts with another after a change."""
    feeding = [change for change, part in parts if (part.motions == Motion.FEED).any()]
    numbers = [change.number if change else None for change in feeding]
    for change, number in zip(feeding, numbers, strict=True):
        if change is not None and number != numbers[0]:
            found = f"changes to {_called(number)} after cutting with another, and one bit was given"
            return _finding(program, change.line, found, _ONE_BIT)
    return None


def _not_given(program: Program, change: BitChange | None, part: Trace) -> Finding:
    if change is None:
        found, remedy = "cuts before its first change of bit", "put T and M6 before the first cut"
        return _finding(program, int(part.lines[(part.lowest_mm < 0).argmax()]), found, remedy)
    if not change.number:
        found, remedy = f"cuts after a change to {_called(change.number)}", "say which bit: T1 M6"
        return _finding(program, change.line, found, remedy)
    given = ", ".join(str(number) for number in sorted(program.bits))
    found = f"changes to {_called(change.number)}; given are {given}"
    return _finding(program, change.line, found, f"give bit {change.number} in 'bits', or correct its T")


def _called(number: int | None) -> str:
    if number is None:
        return "a bit without a number (no T)"
    return f"bit T{number}" if number else "an empty spindle (T0)"


def _finding(program: Program, line: int, found: str, remedy: str) -> Finding:
    return Finding(
        code="bit-not-given",
        severity=Severity.ERROR,
        message=f"{program.name}, line {line}: {found}",
        remedy=remedy,
    )
