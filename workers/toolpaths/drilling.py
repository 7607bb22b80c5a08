"""Round holes right through: pecked with a drill, or milled round and round."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from workers.errors import NotCuttableError, ParameterOutOfRangeError
from workers.geometry.ordering import shortest_order
from workers.toolpaths.circuit import Circuit, ramped_round
from workers.toolpaths.depth_passes import pass_depths_mm
from workers.toolpaths.leads import HELIX_DEG, OVERLAP_MM, Lead
from workers.toolpaths.pace import Pace, cut_path
from workers.toolpaths.strands import at_height
from workers.values.cutter import Cutter, Drill, EndMill
from workers.values.cutting_plan import CutPath
from workers.values.design import Hole
from workers.values.finding import Finding, Severity

Floats = NDArray[np.float64]

_SAME_MM = 0.05  # a bit and a hole this near to each other in diameter count as equal
_LIFT_MM = 0.5  # over the face between pecks, to clear the chips
_CHORD_MM = 0.005  # how far a round's chords may be from its circle
_WIDEST_STEP_RADII = 0.95


def hole_paths(
    holes: tuple[Hole, ...],
    cutter: Cutter,
    depth_mm: float,
    pass_depth_mm: float,
    stepover_mm: float,
    pace: Pace,
    dwell_s: float = 0.0,
) -> list[CutPath]:
    """Return one path a hole, in a good order.

    Args:
        holes: What to make.
        cutter: A drill of the holes' own size, or an end mill no larger.
        depth_mm: How deep: through the board and a little past it.
        pass_depth_mm: Deepest peck or pass.
        stepover_mm: From ring to ring where a mill needs several.
        pace: The feeds allowed.
        dwell_s: That the bit stands at the bottom of each hole it drills.

    Raises:
        ParameterOutOfRangeError: The bit is neither a drill nor an end mill.
        NotCuttableError: The bit is too large for a hole, or a drill too small.
    """
    if not isinstance(cutter, Drill | EndMill):
        raise ParameterOutOfRangeError(
            f"holes are made with a drill or an end mill, and {cutter.name} is neither",
            field="/inputs/drill/bit",
            remedy="name a bit of kind 'drill' or 'flat'",
        )
    _refuse_unfit(holes, cutter)
    centres_mm = np.array([(hole.x_mm, hole.y_mm) for hole in holes]).reshape(-1, 2)
    order, _ = shortest_order(centres_mm, centres_mm)
    paths = []
    for hole in (holes[number] for number in order.tolist()):
        if abs(hole.diameter_mm - cutter.diameter_mm) <= _SAME_MM:
            paths.append(replace(_pecked(hole, depth_mm, pass_depth_mm, pace), dwell_s=dwell_s))
        else:
            paths.append(_milled(hole, cutter.diameter_mm / 2, depth_mm, pass_depth_mm, stepover_mm, pace))
    return paths


def _refuse_unfit(holes: tuple[Hole, ...], cutter: Drill | EndMill) -> None:
    """Raise if the bit cannot make one of the holes."""
    findings = []
    for hole in holes:
        too_large = cutter.diameter_mm > hole.diameter_mm + _SAME_MM
        too_small = isinstance(cutter, Drill) and cutter.diameter_mm < hole.diameter_mm - _SAME_MM
        if too_large or too_small:
            findings.append(_unfit(hole, cutter))
    if findings:
        raise NotCuttableError.for_findings(*findings, field="/inputs/drill/bit")


def _unfit(hole: Hole, cutter: Drill | EndMill) -> Finding:
    is_drill = isinstance(cutter, Drill)
    return Finding(
        code="bit-does-not-fit-hole",
        severity=Severity.ERROR,
        message=(
            f"the hole of {hole.diameter_mm:.3f} mm at x {hole.x_mm:.1f}, y {hole.y_mm:.1f} mm cannot be "
            f"made with {cutter.name}, which is {cutter.diameter_mm:.3f} mm"
            + (": a drill makes only its own size" if is_drill else "")
        ),
        remedy=f"use a drill of {hole.diameter_mm:.2f} mm, or an end mill thinner than the hole",
        at_mm=(hole.x_mm, hole.y_mm),
    )


def _pecked(hole: Hole, depth_mm: float, peck_mm: float, pace: Pace) -> CutPath:
    """Return a hole drilled in pecks, the bit lifted out between them."""
    heights_mm: list[float] = []
    again: list[bool] = []
    for pass_mm in pass_depths_mm(depth_mm, peck_mm):
        if heights_mm:
            reached_mm = heights_mm[-1]
            heights_mm += [_LIFT_MM, reached_mm]
            again += [True, True]
        again += [False] if heights_mm else []
        heights_mm.append(-pass_mm)
    points_mm = np.column_stack(
        [np.full(len(heights_mm), hole.x_mm), np.full(len(heights_mm), hole.y_mm), heights_mm]
    )
    return cut_path(points_mm, pace, np.array(again, np.bool_))


def _milled(
    hole: Hole, mill_radius_mm: float, depth_mm: float, pass_depth_mm: float, stepover_mm: float, pace: Pace
) -> CutPath:
    """Return a hole milled down in a helix, ring by ring where it is wide; the bit is led off its wall."""
    outer_mm = hole.diameter_mm / 2 - mill_radius_mm
    rings_count = math.ceil(outer_mm / min(stepover_mm, _WIDEST_STEP_RADII * mill_radius_mm))
    radii_mm = [outer_mm * number / rings_count for number in range(1, rings_count + 1)]
    depths_mm = [depth_mm] if rings_count == 1 else pass_depths_mm(depth_mm, pass_depth_mm)
    *inner, wall = [_round(hole, radius_mm) for radius_mm in radii_mm]
    lead = Lead(
        start_mm=0.0,
        overlap_mm=min(OVERLAP_MM, wall.length_mm / 8),
        radius_mm=min(mill_radius_mm, outer_mm / 2),
        waste_on_left=True,
    )
    if not inner:
        helix_mm = ramped_round(wall, 0.0, -depth_mm, HELIX_DEG, most_turns_count=None)
        return cut_path(np.vstack([lead.way_in(wall, 0.0), helix_mm, *lead.closing(wall, -depth_mm)]), pace)
    lines, upper_mm = [], 0.0
    for pass_mm in depths_mm:
        lines.append(ramped_round(inner[0], upper_mm, -pass_mm, HELIX_DEG, most_turns_count=None))
        lines += [at_height(ring.points_mm, -pass_mm) for ring in inner[1:]]
        lines.append(lead.round_at(wall, -pass_mm))
        upper_mm = -pass_mm  # the next ramp begins on the innermost ring: straight there, through what is cut
    return cut_path(np.vstack(lines), pace)


def _round(hole: Hole, radius_mm: float) -> Circuit:
    """Return a circle anticlockwise: climb, the wall on the right (trade.md P-08)."""
    count = max(12, math.ceil(math.pi / math.acos(1 - min(_CHORD_MM / radius_mm, 1.0))))
    angles_rad = np.linspace(0.0, 2 * math.pi, count + 1)
    angles_rad[-1] = 0.0
    circle_mm = np.column_stack([np.cos(angles_rad), np.sin(angles_rad)]) * radius_mm
    return Circuit(circle_mm + np.array([hole.x_mm, hole.y_mm]))
