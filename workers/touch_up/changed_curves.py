"""What a step did to the pieces of an outline: which are as they were, which it cut, what is new."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.geometry.curve_sides import NO_PIECE, curve_sides, shares_of
from workers.values.curved_artwork import CurvedArtwork

_SAME_SHARE = 1e-9


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Curves:
    """How much of each piece that a drawing may have is there (n), and its length without any, mm."""

    shares: NDArray[np.float64]
    without_mm: float


def curves_of(drawing: CurvedArtwork) -> Curves:
    """Return what a drawing has of its pieces."""
    sides = curve_sides(drawing)
    bare = sides.ends[sides.pieces == NO_PIECE]
    return Curves(
        shares=shares_of(sides, len(drawing.pieces)),
        without_mm=float(np.hypot(*(bare[:, 1] - bare[:, 0]).T).sum()),
    )


def told(before: Curves | None, after: Curves | None) -> dict[str, object]:
    """Return what became of the pieces, as JSON; nothing where there are none.

    A drawing keeps the numbers of its pieces; what is added comes behind them.
    """
    if before is None or after is None:
        return {}
    shares, added = np.split(after.shares, [len(before.shares)])
    was_there = before.shares > 0
    is_kept = was_there & (np.abs(shares - before.shares) < _SAME_SHARE)
    is_gone = was_there & (shares == 0)
    return {
        "pieces_kept": int(is_kept.sum()),
        "pieces_cut": int((was_there & ~is_kept & ~is_gone).sum()),
        "pieces_gone": int(is_gone.sum()),
        "pieces_added": int((added > 0).sum()),
        "to_be_fitted_mm": round(after.without_mm, 3),
    }
