"""A finding in short: most facts about a photo have no place."""

from __future__ import annotations

from workers.values.finding import Finding, Severity


def note(code: str, message: str, remedy: str, severity: Severity = Severity.NOTE) -> Finding:
    """Return a finding that has no place, a note unless it is weightier."""
    return Finding(code=code, severity=severity, message=message, remedy=remedy)
