"""How uneven the paper's light is: from facet to facet of crumpled paper, from grain to grain of a photo."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.cell_light import PARTS
from workers.rectification.illumination import PaperLight

_FACET_CELLS = 6.0  # deviation of the mean that a facet's light departs from, and over which it is judged
_FACET = 0.035  # of the logarithm of light; a smooth lamp's falloff departs by a tenth of it
_EVERY = 8  # row of cells is plenty
_GRAIN_PERCENT = 40.0  # of the cells; in the rest there may be edges


def facets_fraction(paper: PaperLight) -> float:
    """Return the share of the sheet over which the paper's light goes up and down within millimetres.

    Args:
        paper: The light of bare paper in cells.
    """
    level = np.log(np.maximum(paper.level, 20.0)).astype(np.float32)
    off = level - _mean(level)
    seen = paper.is_paper.astype(np.float32)
    square = _mean(off * off * seen) / np.maximum(_mean(seen), 0.05)
    return float((np.sqrt(square) > _FACET).mean())


def grain(paper: PaperLight) -> float:
    """Return the deviation of light from part to part of bare paper, a quarter of a mm apart, over its level.

    Args:
        paper: The light of bare paper in cells.
    """
    rows, columns = paper.level.shape
    chosen = slice(None, None, _EVERY)
    parts = paper.fine.reshape(rows, PARTS, columns, PARTS)[chosen]
    spread = parts.std(axis=(1, 3)) / np.maximum(paper.level[chosen], 1.0)
    bare = spread[paper.is_paper[chosen]]
    return float(np.percentile(bare, _GRAIN_PERCENT)) if len(bare) else 0.0


def _mean(values: NDArray[np.float32]) -> NDArray[np.float32]:
    blurred = cv2.GaussianBlur(values, (0, 0), _FACET_CELLS, borderType=cv2.BORDER_REFLECT)
    return np.asarray(blurred, np.float32)
