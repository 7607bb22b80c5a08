"""Errors that an order lets pass: they stay in the proof, with the reason, and no longer stop it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from workers.values.finding import Finding, Severity

# What spoils a board may be somebody's wish; what can hurt a hand, break a bit or was never read may not.
WAIVABLE = frozenset(
    {
        "chip-too-thin",
        "cuts-beside-board",
        "edge-left-standing",
        "feed-above-machine",
        "loose-part",
        "not-cut-free",
        "nothing-cut",
        "outside-envelope",
        "overcut",
        "plunge-above-machine",
        "spindle-speed",
        "tabs-too-weak",
        "undercut",
    }
)


def with_waivers(findings: Iterable[Finding], waivers: Mapping[str, str]) -> list[Finding]:
    """Return the findings, those that are waived marked with the reason, and a note for idle waivers.

    Args:
        findings: What the gates found.
        waivers: Reason by gate; gates that may not be waived are left as they are.
    """
    reasons = {gate: reason for gate, reason in waivers.items() if gate in WAIVABLE}
    marked = [
        replace(finding, waived=reasons[finding.code])
        if finding.severity is Severity.ERROR and finding.code in reasons
        else finding
        for finding in findings
    ]
    idle = sorted(set(reasons) - {finding.code for finding in marked if finding.waived})
    return marked + [
        Finding(
            code="waiver-not-needed",
            severity=Severity.NOTE,
            message=f"the order waives {gate}, and this gate found nothing to stop for",
            remedy="take the waiver out of the order",
        )
        for gate in idle
    ]
