"""Programs that cannot be read, that cut nothing, or that deserve a remark."""

from __future__ import annotations

from collections.abc import Sequence

from workers.errors import UnreadableProgramError
from workers.interpretation.fault import ArcOutOfToleranceError
from workers.values.finding import Finding, Severity
from workers.values.program import Program
from workers.verification.evidence import Exhibit
from workers.verification.stretches import Reading


def unreadable_finding(error: UnreadableProgramError) -> Finding:
    """Return the finding for a program that breaks the rules of RS-274."""
    in_arc = isinstance(error, ArcOutOfToleranceError)
    return Finding(
        code="arc-out-of-tolerance" if in_arc else "unreadable-program",
        severity=Severity.ERROR,
        message=error.message,
        remedy=error.remedy or "send the program as RS-274",
    )


def remark_findings(reading: Reading) -> list[Finding]:
    """Return what a careful reader of the program remarks."""
    return [
        Finding(
            code="program-remark",
            severity=Severity.WARNING,
            message=f"{reading.program.name}, line {line}: {text}",
            remedy="check that this is meant",
        )
        for line, text in reading.trace.notes
    ]


def nothing_cut_findings(program: Program, exhibits: Sequence[Exhibit]) -> list[Finding]:
    """Return a finding for each bit with which a program takes nothing off the stock.

    Args:
        program: Its bits.
        exhibits: What each of them did in turn; one that the program never changes to is not among them.
    """
    cutting = {exhibit.number for exhibit in exhibits if exhibit.cut_cells}
    return [
        Finding(
            code="nothing-cut",
            severity=Severity.ERROR,
            message=f"{program.name} takes nothing off the board{said}",
            remedy=remedy,
        )
        for number, said, remedy in _bits_of(program)
        if number not in cutting
    ]


def _bits_of(program: Program) -> list[tuple[int | None, str, str]]:
    """Return each bit's number, how it is called, and what to do when it idles."""
    if program.cutter is not None:
        return [(None, "", "check that Z0 is the face and that the program lies over the board")]
    return [
        (
            number,
            f" with bit {number} ({cutter.name})",
            f"check that T{number} and M6 stand before its cuts, or take the bit out of 'bits'",
        )
        for number, cutter in program.bits.items()
    ]
