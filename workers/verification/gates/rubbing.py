"""Shank, nut or spindle in standing wood: what is over a bit's edges does not cut."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from workers.values.finding import Finding, Severity
from workers.verification.evidence import Circumstances, Exhibit, in_more_motions
from workers.verification.over_edges import Part, parts_over
from workers.verification.tolerances import RUB_MM

_REMEDIES = {
    "shank": "choose a bit with longer edges or a thinner shank, a wider way for it, or less depth",
    "nut": "let the bit stand out farther, or choose a longer one",
    "spindle": "let the bit stand out farther, or choose a longer one",
}


def rubbing_findings(exhibit: Exhibit, circumstances: Circumstances) -> list[Finding]:
    """Return a finding for each part over the bit's edges that comes to standing wood."""
    parts = parts_over(exhibit.cutter, circumstances.machine)
    return [
        _finding(exhibit, part, sunk_mm)
        for part, sunk_mm in zip(parts, exhibit.sunk_mm, strict=True)
        if sunk_mm.max(initial=0.0) > RUB_MM
    ]


def _finding(exhibit: Exhibit, part: Part, sunk_mm: NDArray[np.float32]) -> Finding:
    worst = int(np.argmax(sunk_mm))
    more = in_more_motions(int(np.count_nonzero(sunk_mm > RUB_MM)) - 1)
    return Finding(
        code="shank-rubs" if part.name == "shank" else "holder-touches",
        severity=Severity.ERROR,
        message=(
            f"{exhibit.line_of(worst)}: {sunk_mm[worst]:.2f} mm deep in standing wood is the {part} "
            f"of {exhibit.cutter.name}{more}"
        ),
        remedy=_REMEDIES[part.name],
        at_mm=exhibit.end_of(worst),
    )
