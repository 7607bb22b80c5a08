"""A bit swept through a small block, straight from the definition of a cone and a cylinder.

Slow, short and on its own: it shares nothing with the simulation that the service
uses. For each straight piece of a path every cell near it asks which point of the
piece cuts deepest there; both bits have that point in closed form (a cone's depth
along the piece is concave).
"""

import math
from collections.abc import Iterable
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from workers.values.cutter import Cutter, VeeCutter
from workers.values.cutting_plan import CutPath

Floats = NDArray[np.float64]


class SmallBlock:
    """Depth below the face at the centres of square cells over a rectangle."""

    def __init__(
        self, left_mm: float, bottom_mm: float, right_mm: float, top_mm: float, cell_mm: float
    ) -> None:
        self.cell_mm = cell_mm
        self.x_mm = np.arange(left_mm + cell_mm / 2, right_mm, cell_mm)
        self.y_mm = np.arange(bottom_mm + cell_mm / 2, top_mm, cell_mm)
        self.depth_mm = np.zeros((len(self.y_mm), len(self.x_mm)))

    @property
    def volume_mm3(self) -> float:
        """What has been cut away."""
        return float(self.depth_mm.sum()) * self.cell_mm**2

    def cut(self, paths: Iterable[CutPath], cutter: Cutter) -> None:
        """Sweep a bit along paths."""
        for path in paths:
            points_mm = path.points_mm
            self._piece(points_mm[0], points_mm[0], cutter)
            for start_mm, end_mm in pairwise(points_mm):
                self._piece(start_mm, end_mm, cutter)

    def _piece(self, start_mm: Floats, end_mm: Floats, cutter: Cutter) -> None:
        deepest_mm = -min(start_mm[2], end_mm[2])
        if deepest_mm <= 0:
            return
        reach_mm = cutter.diameter_mm / 2
        if isinstance(cutter, VeeCutter):
            slope = math.tan(math.radians(cutter.included_angle_deg) / 2)
            reach_mm = cutter.tip_mm / 2 + slope * deepest_mm
        columns = slice(*np.searchsorted(self.x_mm, _span(start_mm[0], end_mm[0], reach_mm)))
        rows = slice(*np.searchsorted(self.y_mm, _span(start_mm[1], end_mm[1], reach_mm)))
        along_mm, off_mm, length_mm = _along_and_off(self.x_mm[columns], self.y_mm[rows], start_mm, end_mm)
        fall = (start_mm[2] - end_mm[2]) / length_mm if length_mm else 0.0
        depth_mm = -start_mm[2] if length_mm else deepest_mm
        if isinstance(cutter, VeeCutter):
            cut_mm = _cone(along_mm, off_mm, length_mm, depth_mm, fall, slope, cutter.tip_mm / 2)
        else:
            cut_mm = _cylinder(along_mm, off_mm, length_mm, depth_mm, fall, cutter.diameter_mm / 2)
        np.maximum(self.depth_mm[rows, columns], cut_mm, out=self.depth_mm[rows, columns])


def _span(one_mm: float, other_mm: float, reach_mm: float) -> tuple[float, float]:
    return min(one_mm, other_mm) - reach_mm, max(one_mm, other_mm) + reach_mm


def _along_and_off(
    x_mm: Floats, y_mm: Floats, start_mm: Floats, end_mm: Floats
) -> tuple[Floats, Floats, float]:
    """Return each cell's place along the piece's line, its distance from it, and the piece's plan length."""
    step_mm = end_mm[:2] - start_mm[:2]
    length_mm = float(np.hypot(*step_mm))
    x_mm, y_mm = np.meshgrid(x_mm - start_mm[0], y_mm - start_mm[1])
    if length_mm < 1e-9:
        return np.zeros_like(x_mm), np.hypot(x_mm, y_mm), 0.0
    unit = step_mm / length_mm
    return x_mm * unit[0] + y_mm * unit[1], np.abs(x_mm * unit[1] - y_mm * unit[0]), length_mm


def _cone(
    along_mm: Floats,
    off_mm: Floats,
    length_mm: float,
    depth_mm: float,
    fall: float,
    slope: float,
    tip_mm: float,
) -> Floats:
    steep = fall * slope
    if abs(steep) < 1:
        best_mm = along_mm + off_mm * steep / math.sqrt(1 - steep**2)
        inside = np.hypot(best_mm - along_mm, off_mm) < tip_mm
        rim_mm = along_mm + np.sign(fall) * np.sqrt(np.maximum(tip_mm**2 - off_mm**2, 0))
        best_mm = np.where(inside, rim_mm, best_mm)
    else:
        best_mm = np.full_like(along_mm, math.copysign(math.inf, fall))
    best_mm = np.clip(best_mm, 0, length_mm)
    away_mm = np.maximum(np.hypot(best_mm - along_mm, off_mm) - tip_mm, 0)
    return np.asarray(depth_mm + fall * best_mm - away_mm / slope)


def _cylinder(
    along_mm: Floats, off_mm: Floats, length_mm: float, depth_mm: float, fall: float, radius_mm: float
) -> Floats:
    half_mm = np.sqrt(np.maximum(radius_mm**2 - off_mm**2, 0))
    best_mm = np.clip(along_mm + np.sign(fall) * half_mm, 0, length_mm)
    touched = np.hypot(best_mm - along_mm, off_mm) <= radius_mm
    level = np.clip(along_mm, 0, length_mm)
    touched |= np.hypot(level - along_mm, off_mm) <= radius_mm
    best_mm = np.clip(best_mm, along_mm - half_mm, along_mm + half_mm)
    return np.where(touched, depth_mm + fall * np.clip(best_mm, 0, length_mm), 0.0)
