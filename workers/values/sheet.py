"""How large the drawing is, by what the sender knows of it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetSize:
    """The sheet's sides. Whether it lies upright or across is found in the picture."""

    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownLength:
    """A length between two points (column, row) of the first photo, upright, in pixels."""

    length_mm: float
    start_px: tuple[float, float]
    end_px: tuple[float, float]


SheetHint = SheetSize | KnownLength | None
"""None: no sheet; the picture's own frame is the drawing."""
