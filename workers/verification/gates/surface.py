"""Overcut and undercut: is the carved surface the designed one?"""

from __future__ import annotations

from workers.values.finding import Finding, Severity
from workers.values.proof import Deviation
from workers.verification.comparison import Comparison
from workers.verification.tolerances import USUAL_SHARE

_REMEDY_OVER = (
    "check the bit, the zero height and the order of programs; make the programs again from this design"
)
_REMEDY_UNDER = (
    "check that every program of the design is there, with its own bit; make them again from this design"
)


def surface_findings(comparison: Comparison, tolerance_mm: float) -> list[Finding]:
    """Return a finding for each side on which the surface is off.

    Args:
        comparison: Both sides.
        tolerance_mm: For the worst cell; all but one in a thousand must keep to 0.6 of it.
    """
    sides = (
        ("overcut", comparison.overcut, comparison.overcut_at_mm, "too deep", _REMEDY_OVER),
        ("undercut", comparison.undercut, comparison.undercut_at_mm, "not deep enough", _REMEDY_UNDER),
    )
    return [
        Finding(
            code=code,
            severity=Severity.ERROR,
            message=_message(deviation, what, tolerance_mm),
            remedy=remedy,
            at_mm=at_mm,
        )
        for code, deviation, at_mm, what, remedy in sides
        if deviation.max_mm > tolerance_mm or deviation.p999_mm > USUAL_SHARE * tolerance_mm
    ]


def _message(deviation: Deviation, what: str, tolerance_mm: float) -> str:
    return (
        f"cut up to {deviation.max_mm:.3f} mm {what}, where {tolerance_mm:.3f} mm is allowed; "
        f"{deviation.area_mm2:.2f} mm2 are beyond that, and 99.9 % of what is cut is within "
        f"{deviation.p999_mm:.3f} mm"
    )
