"""Programs that cannot be read, that cut nothing, or that deserve a remark."""

from __future__ import annotations

from workers.errors import UnreadableProgramError
from workers.interpretation.fault import ArcOutOfToleranceError
from workers.values.finding import Finding, Severity
from workers.verification.evidence import Exhibit


def unreadable_finding(error: UnreadableProgramError) -> Finding:
    """Return the finding for a program that breaks the rules of RS-274."""
    in_arc = isinstance(error, ArcOutOfToleranceError)
    return Finding(
        code="arc-out-of-tolerance" if in_arc else "unreadable-program",
        severity=Severity.ERROR,
        message=error.message,
        remedy=error.remedy or "send the program as RS-274",
    )


def remark_findings(exhibit: Exhibit) -> list[Finding]:
    """Return what a careful reader of the program remarks."""
    return [
        Finding(
            code="program-remark",
            severity=Severity.WARNING,
            message=f"{exhibit.program.name}, line {line}: {text}",
            remedy="check that this is meant",
        )
        for line, text in exhibit.trace.notes
    ]


def nothing_cut_findings(exhibit: Exhibit) -> list[Finding]:
    """Return a finding when a program takes nothing off the stock."""
    if exhibit.cut_cells:
        return []
    return [
        Finding(
            code="nothing-cut",
            severity=Severity.ERROR,
            message=f"{exhibit.program.name} takes nothing off the board",
            remedy="check that Z0 is the face and that the program lies over the board",
        )
    ]
