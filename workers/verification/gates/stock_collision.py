"""Traverses and plunges at traverse speed through wood that still stands."""

from __future__ import annotations

import math

import numpy as np

from workers.values.finding import Finding, Severity
from workers.verification.evidence import Exhibit
from workers.verification.tolerances import RAPID_MM

_STEEP = 1.0  # more down than across is a plunge


def stock_collision_findings(exhibit: Exhibit) -> list[Finding]:
    """Return a finding for traverses, and one for traverse-speed plunges, that removed stock."""
    hits = np.flatnonzero(exhibit.removed_mm > RAPID_MM)
    steps = exhibit.trace.ends_mm[hits] - exhibit.trace.starts_mm[hits]
    plunging = -steps[:, 2] > _STEEP * np.hypot(steps[:, 0], steps[:, 1])
    found = []
    for code, which, verb in (
        ("rapid-through-stock", hits[~plunging], "traverses through"),
        ("plunge-through-stock", hits[plunging], "plunges at traverse speed into"),
    ):
        if len(which):
            worst = which[int(np.argmax(exhibit.removed_mm[which]))]
            found.append(_finding(code, verb, exhibit, int(worst), len(which)))
    return found


def _finding(code: str, verb: str, exhibit: Exhibit, worst: int, count: int) -> Finding:
    removed_mm = float(exhibit.removed_mm[worst])
    others = f", and {count - 1} more such moves" if count > 1 else ""
    return Finding(
        code=code,
        severity=Severity.ERROR,
        message=(
            f"{exhibit.line_of(worst)}: G0 {verb} "
            f"{math.ceil(removed_mm * 1000) / 1000:.3f} mm of standing stock{others}"
        ),
        remedy="lift the bit above the face before each G0, and go down with G1",
        at_mm=exhibit.end_of(worst),
    )
