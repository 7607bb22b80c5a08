"""Inked polygons that know which curves their sides came from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.values.arrays import frozen
from workers.values.region import Artwork


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class CurvedArtwork:
    """A drawing as polygons, and the pieces whose chords their sides were when they were made.

    Sides may have changed since then: those that still lie on a chord are a stretch of its piece, others
    belong to no piece. Straight lines are pieces too.

    ``pieces`` are cubic (n, 4, 2), mm; ``steps`` says into how many equal steps of its parameter each of
    them was cut to become chords (n).
    """

    artwork: Artwork
    pieces: NDArray[np.float64]
    steps: NDArray[np.int64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "pieces", frozen(self.pieces, np.float64, 3, 2))
        object.__setattr__(self, "steps", frozen(self.steps, np.int64, 1))
