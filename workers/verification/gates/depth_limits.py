"""Too deep for the bit, for the cone, or for the bed under the board."""

from __future__ import annotations

import math

import numpy as np

from workers.values.cutter import Cutter, Drill, KeyholeCutter, VeeCutter
from workers.values.finding import Finding, Severity
from workers.verification.evidence import Circumstances, Exhibit
from workers.verification.tolerances import BED_MM, DEPTH_ROUNDING_MM


def depth_findings(exhibit: Exhibit, circumstances: Circumstances) -> list[Finding]:
    """Return findings for depths into the bed, or past a bit's edges: a cone, flutes of a drill, a neck.

    How deep a mill may go depends on what stands round its shank: see ``rubbing``.
    """
    cutter = exhibit.cutter
    board, cutout = circumstances.board, circumstances.cutout
    past_mm = cutout.past_mm if cutout else BED_MM
    limits = [
        (
            "into-the-bed",
            board.thickness_mm + past_mm,
            f"the board is {board.thickness_mm:g} mm thick and {past_mm:g} mm past it are allowed",
            "check the board's thickness and that Z0 is its face; cut less deep",
        ),
    ]
    if isinstance(cutter, VeeCutter):
        limits += [_length_limit(cutter, "a V-bit with longer edges"), _cone_limit(cutter)]
    elif isinstance(cutter, Drill):
        limits.append(_length_limit(cutter, "a longer drill: its chips leave by the flutes alone"))
    elif isinstance(cutter, KeyholeCutter):
        limits.append(_length_limit(cutter, "a keyhole bit with a longer neck: its shank is no edge"))
    return [
        finding
        for code, limit_mm, why, remedy in limits
        if (finding := _too_deep(exhibit, code, limit_mm, why, remedy))
    ]


def _length_limit(cutter: Cutter, better: str) -> tuple[str, float, str, str]:
    return (
        "past-cutting-length",
        cutter.cutting_length_mm,
        f"{cutter.name} cuts {cutter.cutting_length_mm:g} mm deep",
        f"choose a smaller depth, or {better}",
    )


def _cone_limit(cutter: VeeCutter) -> tuple[str, float, str, str]:
    slope = math.tan(math.radians(cutter.included_angle_deg) / 2)
    cone_mm = (cutter.diameter_mm - cutter.tip_mm) / 2 / slope
    return (
        "past-cutting-length",
        cone_mm,
        f"the cone of {cutter.name} is {cone_mm:.3f} mm high",
        "choose a wider V bit, or a smaller depth limit",
    )


def _too_deep(exhibit: Exhibit, code: str, limit_mm: float, why: str, remedy: str) -> Finding | None:
    heights_mm = exhibit.trace.lowest_mm
    if not len(heights_mm):
        return None
    deepest = int(np.argmin(heights_mm))
    depth_mm = -float(heights_mm[deepest])
    if depth_mm <= limit_mm + DEPTH_ROUNDING_MM:
        return None
    starts_deeper = exhibit.trace.starts_mm[deepest, 2] < exhibit.trace.ends_mm[deepest, 2]
    x_mm, y_mm, _ = (exhibit.trace.starts_mm if starts_deeper else exhibit.trace.ends_mm)[deepest]
    return Finding(
        code=code,
        severity=Severity.ERROR,
        message=(f"{exhibit.line_of(deepest)}: {depth_mm:.3f} mm deep, but {why}"),
        remedy=remedy,
        at_mm=(round(float(x_mm), 3), round(float(y_mm), 3)),
    )
