"""What a repair may take to make strokes wide enough."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """How wide strokes shall become, what must be left of gaps, and how far an outline may move."""

    width_mm: float
    gap_mm: float  # left of every gap that was that wide; all of one that was narrower
    slit_mm: float = 0.0  # where a gap runs out narrower than this, it may end sooner
    at_most_mm: float = math.inf
