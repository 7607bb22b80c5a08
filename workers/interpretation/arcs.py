"""Arcs and helices: from the words of G2 and G3 to a centre, a sweep and chords.

In its plane an arc has two coordinates, first and second, such that a positive
sweep turns from the first axis to the second: X Y in G17, Z X in G18, Y Z in G19.

Source: NISTIR 6556, sections 3.5.3 and 2.1.2.5, restated; the sagitta of a chord.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.interpretation.fault import Fault
from workers.interpretation.limits import FARTHEST_MM
from workers.values.frames import MM_PER_INCH

CHORD_TOLERANCE_MM = 0.001  # sagitta of the chords that stand for an arc
CENTRE_TOLERANCE_MM = 0.002  # the standard's, for programs in millimetres
CENTRE_TOLERANCE_INCH_MM = 0.0002 * MM_PER_INCH  # and in inches
ODD_RADIUS_SHARE = 0.01  # radii apart by more of the radius than this deserve a remark
_FULL_TURN_SLACK = 1e-12
_CHORD_SLACK = 1e-12  # relative, for a radius just short of half the chord

PLANE_AXES = {170: (0, 1, 2), 180: (2, 0, 1), 190: (1, 2, 0)}  # first, second, normal
_CENTRE_LETTERS = "ijk"


@dataclass(frozen=True, slots=True, kw_only=True)
class Arc:
    """A piece of a helix: circle in the plane, straight along the normal."""

    axes: tuple[int, int, int]  # which of x, y, z are first, second, normal
    centre_mm: tuple[float, float]
    radius_mm: float  # at its start
    end_radius_mm: float
    sweep_rad: float  # positive from the first axis to the second
    rise_mm: float

    @property
    def length_mm(self) -> float:
        """Length along the helix."""
        return math.hypot(self.radius_mm * self.sweep_rad, self.rise_mm)


def arc_of(
    words: dict[str, float],
    start_mm: list[float],
    end_mm: list[float],
    *,
    clockwise: bool,
    plane: int,
    mm_per_unit: float,
) -> Arc:
    """Return the arc that the words I, J, K or R describe.

    Args:
        words: The words of the line, in the program's unit.
        start_mm: Where the bit stands, x y z.
        end_mm: Where it goes.
        clockwise: G2, seen from the positive end of the plane's normal.
        plane: 170, 180 or 190.
        mm_per_unit: Size of the program's unit.

    Raises:
        Fault: The words make no arc.
    """
    first, second, normal = PLANE_AXES[plane]
    if not ({"xyz"[first], "xyz"[second]} & words.keys()):
        raise Fault("an arc without an end point in its plane", "give both axes of the plane")
    letters = (_CENTRE_LETTERS[first], _CENTRE_LETTERS[second])
    if _CENTRE_LETTERS[normal] in words:
        letter = _CENTRE_LETTERS[normal].upper()
        raise Fault(f"{letter} in the plane G{plane // 10}", f"take {letter} out, or choose another plane")
    by_centre = any(letter in words for letter in letters)
    if by_centre == ("r" in words):
        found = "both R and a centre" if by_centre else "neither R nor a centre"
        raise Fault(f"an arc with {found}", f"give {letters[0].upper()} and {letters[1].upper()}, or R")
    start = (start_mm[first], start_mm[second])
    end = (end_mm[first], end_mm[second])
    if by_centre:
        offset = [words.get(letter, 0.0) * mm_per_unit for letter in letters]
        centre = (start[0] + offset[0], start[1] + offset[1])
    else:
        centre = _centre_by_radius(start, end, words["r"] * mm_per_unit, clockwise)
    tolerance_mm = CENTRE_TOLERANCE_MM if mm_per_unit == 1 else CENTRE_TOLERANCE_INCH_MM
    radius_mm, end_radius_mm = _radii(start, end, centre, tolerance_mm)
    return Arc(
        axes=(first, second, normal),
        centre_mm=centre,
        radius_mm=radius_mm,
        end_radius_mm=end_radius_mm,
        sweep_rad=_sweep(start, end, centre, clockwise),
        rise_mm=end_mm[normal] - start_mm[normal],
    )


def _radii(
    start: tuple[float, float], end: tuple[float, float], centre: tuple[float, float], tolerance_mm: float
) -> tuple[float, float]:
    radius_mm, end_radius_mm = math.dist(start, centre), math.dist(end, centre)
    if radius_mm == 0 or end_radius_mm == 0:
        raise Fault("an arc of no radius", "give the centre as an offset from the start of the arc")
    if radius_mm > FARTHEST_MM:
        raise Fault(
            f"an arc of radius {radius_mm:g} mm, which no machine follows", "write it as a straight line"
        )
    apart_mm = abs(radius_mm - end_radius_mm)
    if apart_mm > tolerance_mm:
        raise Fault(
            f"the end of the arc is {apart_mm:.4f} mm off its circle of radius {radius_mm:.4f} mm; "
            f"{tolerance_mm:.5f} mm is allowed",
            "write the arc with one more decimal, or as straight lines; I, J, K count from the arc's start",
            in_arc=True,
        )
    return radius_mm, end_radius_mm


def _centre_by_radius(
    start: tuple[float, float], end: tuple[float, float], radius_mm: float, clockwise: bool
) -> tuple[float, float]:
    """R > 0 turns by at most half a circle, R < 0 by more."""
    chord_mm = math.dist(start, end)
    if chord_mm == 0:
        raise Fault("an arc by R that ends where it starts", "write a full circle with its centre")
    half_mm, size_mm = chord_mm / 2, abs(radius_mm)
    if half_mm > size_mm * (1 + _CHORD_SLACK):
        raise Fault(
            f"R {size_mm:.4f} mm is less than half the {chord_mm:.4f} mm between the arc's ends",
            "write the arc with its centre",
        )
    away_mm = math.sqrt(max(size_mm**2 - half_mm**2, 0.0))
    if clockwise == (radius_mm > 0):
        away_mm = -away_mm
    along = ((end[0] - start[0]) / chord_mm, (end[1] - start[1]) / chord_mm)
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    return middle[0] - along[1] * away_mm, middle[1] + along[0] * away_mm


def _sweep(
    start: tuple[float, float], end: tuple[float, float], centre: tuple[float, float], clockwise: bool
) -> float:
    """The turn in radians; an end on the start is a whole turn."""
    begin_rad = math.atan2(start[1] - centre[1], start[0] - centre[0])
    finish_rad = math.atan2(end[1] - centre[1], end[0] - centre[0])
    turn_rad = (begin_rad - finish_rad if clockwise else finish_rad - begin_rad) % math.tau
    if turn_rad < _FULL_TURN_SLACK:
        turn_rad = math.tau
    return -turn_rad if clockwise else turn_rad


def chord_ends(arc: Arc, start_mm: list[float], end_mm: list[float]) -> NDArray[np.float64]:
    """Return the ends (n, 3) of the chords that follow the arc within 0.001 mm; the last is exact."""
    largest_mm = max(arc.radius_mm, arc.end_radius_mm)
    step_rad = 2 * math.acos(max(1 - CHORD_TOLERANCE_MM / largest_mm, 0.0))
    share = np.arange(1, max(math.ceil(abs(arc.sweep_rad) / step_rad), 1) + 1, dtype=np.float64)
    share /= len(share)
    first, second, normal = arc.axes
    begin_rad = math.atan2(start_mm[second] - arc.centre_mm[1], start_mm[first] - arc.centre_mm[0])
    angle_rad = begin_rad + arc.sweep_rad * share
    radius_mm = arc.radius_mm + (arc.end_radius_mm - arc.radius_mm) * share
    ends_mm = np.empty((len(share), 3))
    ends_mm[:, first] = arc.centre_mm[0] + radius_mm * np.cos(angle_rad)
    ends_mm[:, second] = arc.centre_mm[1] + radius_mm * np.sin(angle_rad)
    ends_mm[:, normal] = start_mm[normal] + arc.rise_mm * share
    ends_mm[-1] = end_mm
    return ends_mm


def oddity_of(arc: Arc) -> str | None:
    """Return what a careful reader says about an arc that the absolute tolerance lets through."""
    apart_mm = abs(arc.radius_mm - arc.end_radius_mm)
    if apart_mm > ODD_RADIUS_SHARE * arc.radius_mm:
        return (
            f"an arc of radius {arc.radius_mm:.4f} mm ends {apart_mm:.4f} mm off its circle: "
            "within the standard's absolute tolerance, but hardly an arc"
        )
    return None
