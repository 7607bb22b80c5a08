"""The one crossing from the pixel frame to the sheet's: scaled, and y turned up."""

from __future__ import annotations

import numpy as np

from workers.tracing.curve_fitting import Pieces
from workers.values.outlines import Outlines


def to_millimetres(pieces: Pieces, rows: int, columns: int, mm_per_px: float) -> Outlines:
    """Return loops in px, row down, as outlines in mm, y up from the lower left.

    Args:
        pieces: Fitted loops, px.
        rows: Height of the picture, px.
        columns: Width of the picture, px.
        mm_per_px: Scale of the picture.
    """
    controls = pieces.controls * mm_per_px
    controls[:, :, 1] = rows * mm_per_px - controls[:, :, 1]
    return Outlines(
        loops=tuple(np.split(controls, pieces.starts[1:-1])) if len(controls) else (),
        width_mm=columns * mm_per_px,
        height_mm=rows * mm_per_px,
    )
