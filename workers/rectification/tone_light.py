"""The light on a sheet with grey areas, which must not be taken for shade.

For a drawing in black an even darker area is paper in a shadow. Where greys are meant, it is a tone:
then only what lies near the smooth surface through the brightest paper is paper.
"""

from __future__ import annotations

import dataclasses

import cv2
import numpy as np

from workers.rectification.cell_light import PARTS
from workers.rectification.illumination import PaperLight
from workers.rectification.light_trend import light_trend

_SPREADS = (*[0.3] * 4, 0.2, *[0.15] * 4)  # of the logarithm, from wide to narrow
_BRIGHT_PERCENT = 85.0
_PAPER_DEPTH = 0.2  # a cell within a fifth of the trend is paper
_LOCAL_CELLS = 8.0


def light_under_tones(paper: PaperLight) -> PaperLight:
    """Return the light with a level that follows paper only, however large the grey areas are.

    Args:
        paper: The light as it is for a drawing in black.
    """
    rows, columns = paper.level.shape
    cells = paper.fine.reshape(rows, PARTS, columns, PARTS).mean(axis=(1, 3))
    log_cells = np.log(np.maximum(cells, 20.0)).astype(np.float32)
    start = float(np.percentile(log_cells, _BRIGHT_PERCENT))
    trend = light_trend(log_cells, np.ones(cells.shape, np.bool_), start, _SPREADS)
    off = log_cells - trend
    is_paper = np.abs(off) < _PAPER_DEPTH
    weight = is_paper.astype(np.float32)
    local = cv2.GaussianBlur(off * weight, (0, 0), _LOCAL_CELLS)
    seen = cv2.GaussianBlur(weight, (0, 0), _LOCAL_CELLS)
    level = np.exp(trend + local / np.maximum(seen, 0.02))
    return dataclasses.replace(paper, level=np.asarray(level, np.float32), is_paper=is_paper)
