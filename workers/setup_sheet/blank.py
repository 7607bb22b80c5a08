"""The piece of stock that a board is cut from."""

from __future__ import annotations

from dataclasses import dataclass

from workers.values.cuts import CutoutCut
from workers.values.design import Design

CLAMP_CLEAR_MM = 5.0  # beyond the cut's outer edge (common practice)
_CLAMP_ROOM_MM = 20.0  # of blank beyond that, for the clamps themselves
_STEP_MM = 5.0  # blanks are sawn to round sizes


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """The piece of stock a board is cut from, and where the board lies in it."""

    margin_mm: float  # round the board on every side
    keep_clear_mm: float  # from the board's edge: no clamp, no screw nearer than this
    width_mm: float
    height_mm: float


def blank_of(design: Design, cutout: CutoutCut | None) -> Blank:
    """Return the blank a design needs; without a cutout that is the finished board itself."""
    reach_mm = 0.0 if cutout is None else max(cutout.reach_mm, design.past_edge_mm)
    keep_clear_mm = 0.0 if cutout is None else reach_mm + CLAMP_CLEAR_MM
    needed_mm = 0.0 if cutout is None else keep_clear_mm + _CLAMP_ROOM_MM
    margin_mm = -(-needed_mm // _STEP_MM) * _STEP_MM
    return Blank(
        margin_mm=margin_mm,
        keep_clear_mm=keep_clear_mm,
        width_mm=design.board.width_mm + 2 * margin_mm,
        height_mm=design.board.height_mm + 2 * margin_mm,
    )
