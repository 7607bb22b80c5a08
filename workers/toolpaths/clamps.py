"""Clear of the clamps: traverses go over them, and no cut may come near them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import box

from workers.errors import NotCuttableError
from workers.geometry.vee import flank_slope
from workers.values.cutter import VeeCutter
from workers.values.cutting_plan import CuttingPlan, Operation
from workers.values.finding import Finding, Severity
from workers.values.keep_out import BESIDE_CLAMP_MM, KeepOut
from workers.values.machine import Machine

Floats = NDArray[np.float64]

_OVER_MM = 5.0  # of traverses over the highest clamp (trade.md P-10, memory)


def lifted_over(keep_outs: Sequence[KeepOut], machine: Machine, thickness_mm: float) -> Machine:
    """Return the machine with its traverses high enough for the clamps.

    Args:
        keep_outs: Where clamps stand.
        machine: Its own clearance is the least.
        thickness_mm: Of the board: so deep the bits go.

    Raises:
        NotCuttableError: The machine cannot lift a bit over the clamps.
    """
    clearance_mm = max([machine.clearance_mm, *(zone.height_mm + _OVER_MM for zone in keep_outs)])
    if clearance_mm > machine.clearance_mm and clearance_mm + thickness_mm > machine.travel_z_mm:
        finding = Finding(
            code="clamps-too-high",
            severity=Severity.ERROR,
            message=(
                f"{clearance_mm:.1f} mm over the face, to pass {_OVER_MM:g} mm over the clamps, and through "
                f"{thickness_mm:.1f} mm of board is more than the {machine.travel_z_mm:g} mm of Z travel "
                f"of {machine.title}"
            ),
            remedy="use lower clamps, or hold the board from below",
        )
        raise NotCuttableError(finding.message, findings=(finding,), remedy=finding.remedy)
    return replace(machine, clearance_mm=clearance_mm)


def clamp_findings(plan: CuttingPlan, keep_outs: Sequence[KeepOut]) -> tuple[Finding, ...]:
    """Return a warning for each clamp that a cut comes near.

    Raises:
        NotCuttableError: A bit would run into a clamp; each such cut is told with its place.
    """
    struck: list[Finding] = []
    near: list[Finding] = []
    for number, zone in enumerate(keep_outs, 1):
        for operation in plan.operations:
            found = _nearest(operation, zone)
            if found is None:
                continue
            free_mm, at_mm = found
            if free_mm <= 0:
                struck.append(_struck(operation, number, at_mm))
            elif free_mm < BESIDE_CLAMP_MM:
                near.append(_near(operation, number, free_mm, at_mm))
    if struck:
        raise NotCuttableError(struck[0].message, findings=tuple(struck), remedy=struck[0].remedy)
    return tuple(near)


def _nearest(operation: Operation, zone: KeepOut) -> tuple[float, tuple[float, float]] | None:
    """Return how much room the bit's edge has beside a clamp, and where; None if there is plenty."""
    block = box(zone.left_mm, zone.bottom_mm, zone.right_mm, zone.top_mm)
    radius_mm = _radius_mm(operation, zone)
    reach_mm = radius_mm + BESIDE_CLAMP_MM
    least = None
    for line in _low_lines(operation, zone, reach_mm):
        distance_mm = float(shapely.distance(line, block))
        if distance_mm < reach_mm and (least is None or distance_mm < least[0]):
            place = shapely.get_coordinates(shapely.shortest_line(line, block))[0]
            least = (distance_mm, (round(float(place[0]), 3), round(float(place[1]), 3)))
    return None if least is None else (least[0] - radius_mm, least[1])


def _radius_mm(operation: Operation, zone: KeepOut) -> float:
    """Return how wide the bit can be below the clamp's top: a cone is not at its widest there."""
    cutter = operation.cutter
    if not isinstance(cutter, VeeCutter):
        return cutter.diameter_mm / 2
    deepest_mm = min(float(path.points_mm[:, 2].min()) for path in operation.paths)
    opening_mm = flank_slope(cutter) * (zone.height_mm - deepest_mm)
    return min(cutter.tip_mm / 2 + opening_mm, cutter.diameter_mm / 2)


def _low_lines(operation: Operation, zone: KeepOut, reach_mm: float) -> Iterator[shapely.Geometry]:
    """Yield the paths, as far as they may matter: in the clamp's neighbourhood and not above it."""
    low = np.array([zone.left_mm, zone.bottom_mm]) - reach_mm
    high = np.array([zone.right_mm, zone.top_mm]) + reach_mm
    for path in operation.paths:
        points_mm = path.points_mm
        if len(points_mm) == 1:
            points_mm = np.repeat(points_mm, 2, axis=0)
        starts, ends = points_mm[:-1], points_mm[1:]
        beside = np.maximum(starts, ends)[:, :2] < low
        beyond = np.minimum(starts, ends)[:, :2] > high
        above = np.minimum(starts, ends)[:, 2] > zone.height_mm
        kept = ~(beside.any(axis=1) | beyond.any(axis=1) | above)
        if kept.any():
            pieces_mm = np.stack([starts[kept, :2], ends[kept, :2]], axis=1)
            yield shapely.MultiLineString(pieces_mm.tolist())


def _struck(operation: Operation, number: int, at_mm: tuple[float, float]) -> Finding:
    return Finding(
        code="cut-through-clamp",
        severity=Severity.ERROR,
        message=(
            f"{operation.cutter.name} would run into keep-out zone {number} at x {at_mm[0]:.1f}, "
            f"y {at_mm[1]:.1f} mm ({operation.kind.value})"
        ),
        remedy="move the clamp and its zone, or what is cut there",
        at_mm=at_mm,
    )


def _near(operation: Operation, number: int, free_mm: float, at_mm: tuple[float, float]) -> Finding:
    return Finding(
        code="cut-near-clamp",
        severity=Severity.WARNING,
        message=(
            f"{operation.cutter.name} comes within {free_mm:.1f} mm of keep-out zone {number} "
            f"({operation.kind.value}); {BESIDE_CLAMP_MM:g} mm are usual, for collet and chips"
        ),
        remedy="move the clamp and its zone a little farther away",
        at_mm=at_mm,
    )
