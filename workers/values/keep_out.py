"""Where clamps stand: the bit stays out of there."""

from __future__ import annotations

from dataclasses import dataclass

BESIDE_CLAMP_MM = 5.0  # kept free between a bit and a clamp (trade.md P-11)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepOut:
    """An upright block in the board frame, from the bed up to a height over the board's face."""

    left_mm: float
    bottom_mm: float
    right_mm: float
    top_mm: float
    height_mm: float
