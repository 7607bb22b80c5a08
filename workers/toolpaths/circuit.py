"""A closed line that a bit may run round more than once, and going down along it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.values.arrays import frozen

Floats = NDArray[np.float64]

RAMP_DEG = 3.0  # going down along a path: 2 to 5 degrees in hard material (memory)
_MOST_TURNS_COUNT = 30  # a ramp round a tiny ring gets steeper rather than turn more often
_SHARP_COSINE = 0.2  # of the turn: where a bit comes to a stop almost, whatever it does next


@dataclass(frozen=True, slots=True, eq=False)
class Circuit:
    """A closed line; places on it are lengths from its start, and go on past one round."""

    points_mm: Floats  # (n, 2), the last equal to the first

    def __post_init__(self) -> None:
        object.__setattr__(self, "points_mm", frozen(self.points_mm, np.float64, 2, 2))

    @property
    def along_mm(self) -> Floats:
        """Each point's length from the start."""
        steps_mm = np.linalg.norm(np.diff(self.points_mm, axis=0), axis=1)
        return np.concatenate([[0.0], np.cumsum(steps_mm)])

    @property
    def length_mm(self) -> float:
        """One round."""
        return float(self.along_mm[-1])

    def at(self, places_mm: Floats) -> Floats:
        """Return the points (n, 2) at places."""
        along_mm = self.along_mm
        within_mm = np.mod(places_mm, along_mm[-1])
        return np.column_stack([np.interp(within_mm, along_mm, self.points_mm[:, axis]) for axis in (0, 1)])

    def places(self, first_mm: float, last_mm: float, *others_mm: float) -> Floats:
        """Return the places of all points from the first to the last, both and the others among them."""
        along_mm = self.along_mm
        rounds = np.arange(math.floor(first_mm / along_mm[-1]), math.floor(last_mm / along_mm[-1]) + 1)
        corners_mm = (rounds[:, None] * along_mm[-1] + along_mm[:-1]).ravel()
        within = (corners_mm > first_mm) & (corners_mm < last_mm)
        return np.unique(np.concatenate([[first_mm, last_mm], others_mm, corners_mm[within]]))

    def from_nearest(self, point_mm: Floats) -> Circuit:
        """Return the same line begun at its point nearest to another."""
        piece, foot_mm = self._nearest(point_mm)
        rolled_mm = np.roll(self.points_mm[:-1], -piece - 1, axis=0)
        return Circuit(np.vstack([foot_mm, rolled_mm, foot_mm]))

    def from_corner(self, point_mm: Floats) -> Circuit:
        """Return the same line begun at its sharp corner nearest to a point, or if it has none, as it is."""
        steps_mm = np.diff(self.points_mm, axis=0)
        along = steps_mm / np.maximum(np.linalg.norm(steps_mm, axis=1), 1e-12)[:, None]
        corners = np.flatnonzero((np.roll(along, 1, axis=0) * along).sum(axis=1) <= _SHARP_COSINE)
        if not len(corners):
            return self
        ways_mm = np.linalg.norm(self.points_mm[corners] - point_mm, axis=1)
        rolled_mm = np.roll(self.points_mm[:-1], -corners[int(np.argmin(ways_mm))], axis=0)
        return Circuit(np.vstack([rolled_mm, rolled_mm[:1]]))

    def nearest_place(self, point_mm: Floats) -> float:
        """Return the place of the line's point nearest to another."""
        piece, foot_mm = self._nearest(point_mm)
        return float(self.along_mm[piece] + np.linalg.norm(foot_mm - self.points_mm[piece]))

    def distance_mm(self, point_mm: Floats) -> float:
        """Return how far a point is from the line."""
        return float(np.linalg.norm(self._nearest(point_mm)[1] - point_mm))

    def _nearest(self, point_mm: Floats) -> tuple[int, Floats]:
        """Return the piece that comes nearest to a point, and where on it that is."""
        starts_mm, steps_mm = self.points_mm[:-1], np.diff(self.points_mm, axis=0)
        lengths_mm2 = np.maximum((steps_mm**2).sum(axis=1), 1e-18)
        share = np.clip(((point_mm - starts_mm) * steps_mm).sum(axis=1) / lengths_mm2, 0.0, 1.0)
        feet_mm = starts_mm + share[:, None] * steps_mm
        piece = int(np.argmin(((feet_mm - point_mm) ** 2).sum(axis=1)))
        return piece, feet_mm[piece]


def ramp_length_mm(drop_mm: float, ramp_deg: float = RAMP_DEG) -> float:
    """Return how far to run while going down.

    Source: length = drop / tan(angle), trade.md C-12.

    >>> round(ramp_length_mm(1.0), 6)
    19.081137
    """
    return drop_mm / math.tan(math.radians(ramp_deg))


def ramped_round(
    circuit: Circuit,
    upper_mm: float,
    lower_mm: float,
    ramp_deg: float = RAMP_DEG,
    most_turns_count: int | None = _MOST_TURNS_COUNT,
) -> Floats:
    """Return the way down from ``upper_mm`` to the line's start and once round it at ``lower_mm``."""
    ramp_mm = ramp_length_mm(upper_mm - lower_mm, ramp_deg)
    if most_turns_count is not None:
        ramp_mm = min(ramp_mm, most_turns_count * circuit.length_mm)
    places_mm = circuit.places(-ramp_mm, circuit.length_mm, 0.0)
    heights_mm = np.interp(places_mm, [-max(ramp_mm, 1e-9), 0.0], [upper_mm, lower_mm])
    return np.column_stack([circuit.at(places_mm), heights_mm])
