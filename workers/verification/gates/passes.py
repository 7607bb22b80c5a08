"""Bits that go deeper in one go than they bear."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from workers.cutting_data.feeds import deepest_pass_mm, usual_pass_mm
from workers.values.finding import Finding, Severity
from workers.values.material import Material
from workers.verification.evidence import Circumstances, Exhibit, in_more_motions
from workers.verification.tolerances import DEPTH_ROUNDING_MM


def pass_findings(exhibit: Exhibit, circumstances: Circumstances) -> list[Finding]:
    """Return a warning when a mill or V-bit takes far more in one pass or plunge than is usual.

    What counts is wood that stands in the way of the bit's middle as it comes. Nothing is said of drills,
    which have a gate of their own, and where the material is not known.
    """
    material, more_mm = circumstances.material, exhibit.too_deep_mm
    if material is None or more_mm is None or more_mm.max(initial=0.0) <= DEPTH_ROUNDING_MM:
        return []
    return [_finding(exhibit, material, more_mm)]


def _finding(exhibit: Exhibit, material: Material, more_mm: NDArray[np.float32]) -> Finding:
    worst = int(np.argmax(more_mm))
    usual_mm = usual_pass_mm(exhibit.cutter, material.family)
    most_mm = deepest_pass_mm(exhibit.cutter, material.family)
    more = in_more_motions(int(np.count_nonzero(more_mm > DEPTH_ROUNDING_MM)) - 1)
    return Finding(
        code="pass-too-deep",
        severity=Severity.WARNING,
        message=(
            f"{exhibit.line_of(worst)}: {exhibit.cutter.name} cuts {most_mm + more_mm[worst]:.2f} mm deep in "
            f"one go; {usual_mm:.2f} mm are usual in {material.family}, {most_mm:.2f} mm the most{more}"
        ),
        remedy=f"go down in passes of {usual_mm:.2f} mm or so: slender bits bend and break, others burn",
        at_mm=exhibit.end_of(worst),
    )
