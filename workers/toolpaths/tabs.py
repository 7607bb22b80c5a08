"""Bridges that keep the board in its blank: where on the outline they stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.toolpaths.circuit import Circuit

Floats = NDArray[np.float64]

_STRAIGHT_DEG = 0.5  # a line that turns no more than this from piece to piece is one straight run
_CORNER_MARGIN_MM = 2.0  # between a lifted stretch and the end of its straight run
_STARTS_COUNT = 180  # ways to turn the evenly spaced places round the outline that are tried


@dataclass(frozen=True, slots=True, kw_only=True)
class Tabs:
    """Where the bit stays lifted, as places along its circuit."""

    centres_mm: tuple[float, ...]
    lifted_mm: float  # length of path for each

    def spans_mm(self) -> list[tuple[float, float]]:
        """Return where each lifted stretch begins and ends."""
        half_mm = self.lifted_mm / 2
        return [(centre - half_mm, centre + half_mm) for centre in self.centres_mm]


def placed_tabs(circuit: Circuit, count: int, lifted_mm: float, apart_mm: float) -> Tabs:
    """Return tabs spread as evenly as straight runs allow, away from corners.

    Where no straight run is long enough, any place serves. No two are nearer to each other
    than they need; if that many do not fit, there are fewer.

    Args:
        circuit: The bit's way round the board.
        count: How many are wanted.
        lifted_mm: Length of path over each: the bridge's width and the bit's diameter.
        apart_mm: Least length of path between two lifted stretches.
    """
    round_mm = circuit.length_mm
    count = min(count, int(round_mm / (lifted_mm + apart_mm)))
    allowed_mm = _allowed(circuit, lifted_mm)
    if not len(allowed_mm):
        allowed_mm = np.array([[0.0, round_mm]])
    while count:
        centres_mm = _spread(allowed_mm, round_mm, count, lifted_mm + apart_mm)
        if centres_mm is not None:
            return Tabs(centres_mm=tuple(centres_mm.tolist()), lifted_mm=lifted_mm)
        count -= 1
    return Tabs(centres_mm=(), lifted_mm=lifted_mm)


def _allowed(circuit: Circuit, lifted_mm: float) -> Floats:
    """Return stretches (n, 2) in which a tab's middle may lie."""
    steps_mm = np.diff(circuit.points_mm, axis=0)
    headings_rad = np.arctan2(steps_mm[:, 1], steps_mm[:, 0])
    turns_rad = np.abs((headings_rad - np.roll(headings_rad, 1) + np.pi) % (2 * np.pi) - np.pi)
    corners = np.flatnonzero(turns_rad > np.radians(_STRAIGHT_DEG))
    if not len(corners):
        return np.array([[0.0, circuit.length_mm]])
    along_mm = circuit.along_mm
    starts_mm = along_mm[corners]
    stops_mm = np.append(starts_mm[1:], starts_mm[0] + circuit.length_mm)
    margin_mm = lifted_mm / 2 + _CORNER_MARGIN_MM
    runs_mm = np.column_stack([starts_mm + margin_mm, stops_mm - margin_mm])
    return runs_mm[runs_mm[:, 0] < runs_mm[:, 1]]


def _spread(allowed_mm: Floats, round_mm: float, count: int, least_mm: float) -> Floats | None:
    """Return the places nearest to even spacing, or None if they come too near to each other."""
    spacing_mm = round_mm / count
    best, best_score = None, (np.inf, np.inf)
    for start_mm in np.arange(_STARTS_COUNT) * spacing_mm / _STARTS_COUNT:
        wanted_mm = start_mm + spacing_mm * np.arange(count)
        centres_mm, margins_mm = _moved(wanted_mm, allowed_mm, round_mm)
        gaps_mm = np.diff(np.append(centres_mm, centres_mm[0] + round_mm))
        if gaps_mm.min() < least_mm - 1e-9:
            continue
        score = (round(float(((centres_mm - wanted_mm) ** 2).sum()), 6), -float(margins_mm.min()))
        if score < best_score:
            best, best_score = centres_mm, score
    return best


def _moved(wanted_mm: Floats, allowed_mm: Floats, round_mm: float) -> tuple[Floats, Floats]:
    """Return each place moved into the nearest stretch, and how far inside its stretch it is."""
    shifts_mm = np.array([-round_mm, 0.0, round_mm])
    runs_mm = (allowed_mm[None, :, :] + shifts_mm[:, None, None]).reshape(-1, 2)
    inside_mm = np.clip(wanted_mm[:, None], runs_mm[:, 0], runs_mm[:, 1])
    nearest = np.argmin(np.abs(inside_mm - wanted_mm[:, None]), axis=1)
    centres_mm = inside_mm[np.arange(len(wanted_mm)), nearest]
    margins_mm = np.minimum(centres_mm - runs_mm[nearest, 0], runs_mm[nearest, 1] - centres_mm)
    return centres_mm, margins_mm
