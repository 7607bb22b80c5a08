"""Clear of the clamps: traverses go over them, and no cut may bring the bit or what holds it near them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import box

from workers.errors import NotCuttableError
from workers.geometry.vee import flank_slope
from workers.toolpaths.over_the_edges import Holding, holdings_of
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
        raise NotCuttableError.for_findings(finding, field="/inputs/keep_out")
    return replace(machine, clearance_mm=clearance_mm)


class _Room(NamedTuple):
    """How much room the bit, or a part that holds it, has beside a clamp, and where it has least."""

    free_mm: float
    at_mm: tuple[float, float]
    part: Holding | None = None  # None: the bit itself


def clamp_findings(plan: CuttingPlan, keep_outs: Sequence[KeepOut], machine: Machine) -> tuple[Finding, ...]:
    """Return a warning for each clamp that a bit, or what holds it, comes near.

    Args:
        plan: All cuts.
        keep_outs: Where clamps stand.
        machine: Its collet's nut and its spindle follow the bit.

    Raises:
        NotCuttableError: A bit, its shank, the nut or the spindle would run into a clamp; each such
            cut is told with its place.
    """
    struck: list[Finding] = []
    near: list[Finding] = []
    for number, zone in enumerate(keep_outs, 1):
        for operation in plan.operations:
            bit = _Room(*_nearest(operation, zone, zone.height_mm, _radius_mm(operation, zone)))
            if bit.free_mm <= 0:
                struck.append(_struck(operation, number, bit.at_mm))
                continue
            held = [_room_of(part, operation, zone) for part in holdings_of(operation.cutter, machine)]
            closest = min([bit, *held], key=lambda room: room.free_mm)
            if closest.free_mm < 0:
                struck.append(_held_into(operation, zone, number, held))
            elif closest.free_mm < BESIDE_CLAMP_MM:
                near.append(_near(operation, number, closest))
    if struck:
        raise NotCuttableError.for_findings(*struck, field="/inputs/keep_out")
    return tuple(near)


def _nearest(
    operation: Operation, zone: KeepOut, below_mm: float, radius_mm: float
) -> tuple[float, tuple[float, float]]:
    """Return how much room a radius about the bit's middle has beside a clamp, and where it has least.

    Args:
        operation: Its paths.
        zone: Where the clamp stands.
        below_mm: Only where the tip is lower than this.
        radius_mm: Of the bit, or of what follows it.
    """
    block = box(zone.left_mm, zone.bottom_mm, zone.right_mm, zone.top_mm)
    reach_mm = radius_mm + BESIDE_CLAMP_MM
    least_mm, at_mm = math.inf, (math.nan, math.nan)
    for line in _low_lines(operation, zone, reach_mm, below_mm):
        distance_mm = float(shapely.distance(line, block))
        if distance_mm < least_mm:
            place = shapely.get_coordinates(shapely.shortest_line(line, block))[0]
            least_mm, at_mm = distance_mm, (round(float(place[0]), 3), round(float(place[1]), 3))
    return least_mm - radius_mm, at_mm


def _radius_mm(operation: Operation, zone: KeepOut) -> float:
    """Return how wide the bit can be below the clamp's top: a cone is not at its widest there."""
    cutter = operation.cutter
    if not isinstance(cutter, VeeCutter):
        return cutter.diameter_mm / 2
    opening_mm = flank_slope(cutter) * (zone.height_mm - _deepest_mm(operation))
    return min(cutter.tip_mm / 2 + opening_mm, cutter.diameter_mm / 2)


def _deepest_mm(operation: Operation) -> float:
    return min(float(path.points_mm[:, 2].min()) for path in operation.paths)


def _low_lines(
    operation: Operation, zone: KeepOut, reach_mm: float, below_mm: float
) -> Iterator[shapely.Geometry]:
    """Yield the paths, as far as they may matter: in the clamp's neighbourhood and low enough."""
    low = np.array([zone.left_mm, zone.bottom_mm]) - reach_mm
    high = np.array([zone.right_mm, zone.top_mm]) + reach_mm
    for path in operation.paths:
        points_mm = path.points_mm
        if len(points_mm) == 1:
            points_mm = np.repeat(points_mm, 2, axis=0)
        starts, ends = _lower_than(points_mm[:-1], points_mm[1:], below_mm)
        beside = np.maximum(starts, ends)[:, :2] < low
        beyond = np.minimum(starts, ends)[:, :2] > high
        kept = ~(beside.any(axis=1) | beyond.any(axis=1))
        if kept.any():
            pieces_mm = np.stack([starts[kept, :2], ends[kept, :2]], axis=1)
            yield shapely.MultiLineString(pieces_mm.tolist())


def _lower_than(starts_mm: Floats, ends_mm: Floats, below_mm: float) -> tuple[Floats, Floats]:
    """Return the parts of straight pieces that lie lower than a height."""
    low = np.minimum(starts_mm[:, 2], ends_mm[:, 2]) < below_mm
    starts_mm, ends_mm = starts_mm[low], ends_mm[low]
    steps_mm = ends_mm - starts_mm
    rises_mm = np.where(steps_mm[:, 2] == 0, np.inf, steps_mm[:, 2])
    crossing = ((below_mm - starts_mm[:, 2]) / rises_mm)[:, None]
    return (
        np.where(starts_mm[:, 2:] > below_mm, starts_mm + crossing * steps_mm, starts_mm),
        np.where(ends_mm[:, 2:] > below_mm, starts_mm + crossing * steps_mm, ends_mm),
    )


def _room_of(part: Holding, operation: Operation, zone: KeepOut) -> _Room:
    return _Room(*_nearest(operation, zone, zone.height_mm - part.over_tip_mm, part.radius_mm), part)


def _held_into(operation: Operation, zone: KeepOut, number: int, held: Sequence[_Room]) -> Finding:
    """Return the refusal of a cut that brings shank, nut or spindle into a clamp."""
    into = [(-room.free_mm, room.at_mm, room.part) for room in held if room.part and room.free_mm < 0]
    aside_mm, at_mm, part = max(into, key=lambda found: found[0])
    cutter = operation.cutter
    remedy = f"move the clamp and its zone {_up(aside_mm):.1f} mm away from the cut"
    if all(part.lifted_by_stick_out for _, _, part in into):
        lift_mm = max(zone.height_mm - part.over_tip_mm for _, _, part in into) - _deepest_mm(operation)
        remedy += (
            f", or let {cutter.name} stand out {_up(cutter.stick_out_mm + lift_mm):.1f} mm ('stick_out')"
        )
    return Finding(
        code="holder-into-clamp",
        severity=Severity.ERROR,
        message=(
            f"{cutter.name} would bring its {part.title}, {2 * part.radius_mm:g} mm thick and "
            f"{part.over_tip_mm:.4g} mm over the tip, {aside_mm:.1f} mm into keep-out zone {number} at "
            f"x {at_mm[0]:.1f}, y {at_mm[1]:.1f} mm ({operation.kind.value})"
        ),
        remedy=remedy,
        at_mm=at_mm,
    )


def _up(length_mm: float) -> float:
    """Return a length rounded up to a tenth."""
    return math.ceil(length_mm * 10 - 1e-6) / 10


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


def _near(operation: Operation, number: int, room: _Room) -> Finding:
    name = operation.cutter.name
    what = f"the {room.part.title} of {name}" if room.part else name
    return Finding(
        code="cut-near-clamp",
        severity=Severity.WARNING,
        message=(
            f"{what} comes within {room.free_mm:.1f} mm of keep-out zone {number} "
            f"({operation.kind.value}); {BESIDE_CLAMP_MM:g} mm are usual"
        ),
        remedy=f"move the clamp and its zone {_up(BESIDE_CLAMP_MM - room.free_mm):.1f} mm farther away",
        at_mm=room.at_mm,
    )
