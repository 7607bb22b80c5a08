"""What a repair is asked to do."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum


class Walls(StrEnum):
    """What becomes of walls too thin to stand."""

    KEEP = "keep"  # as they are
    OPEN = "open"  # cut wider, out of strokes that have width to spare
    FUSE = "fuse"  # filled: the strokes beside them become one


@dataclass(frozen=True, slots=True, kw_only=True)
class RepairWishes:
    """The choices of a repair."""

    walls: Walls = Walls.KEEP
    at_most_mm: float = math.inf  # no outline moves farther


PLAIN_REPAIR = RepairWishes()
