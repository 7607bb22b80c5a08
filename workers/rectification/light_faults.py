"""Where the light on the sheet was not as a lamp or a window lays it: glare and shadow.

A lamp's light falls off smoothly, so a curved surface of the second degree explains the paper's
level over the whole sheet. Paper too bright for the camera, with the brighter paper around it, is in
glare; paper far darker than the surface is in shade.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.illumination import PaperLight, over_cells
from workers.rectification.light_trend import light_trend
from workers.rectification.linear_light import FULL_LIGHT
from workers.rectification.unevenness import facets_fraction

_BLOWN = 0.985 * FULL_LIGHT  # above it a camera holds no difference any more
_BRIGHT, _PEAK = 0.95 * FULL_LIGHT, 0.15  # or so bright, and by such a logarithm above the trend
_BLOWN_SHARE = 0.5  # of a cell's parts
_ALL_OVER = 0.5  # of the sheet: more is no glare but an over-exposed photo, or white in a scan
_VEIL = 0.12  # of the logarithm above the trend: the skirts of a glare
_SHADOW = -0.25  # a fifth darker
_CRUMPLED_FRACTION = 0.45
_LEAST_CELLS = 12
_BRIGHT_PERCENT = 70.0  # of the paper: about the level of what is neither in shade nor in glare
_SPREADS = (*[0.3] * 4, 0.2, *[0.15] * 4)  # of the logarithm; wider, and it bends across a shadow's edge
_OPENING = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3))
_NEAR = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (7, 7))

Array = NDArray[np.float32]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class LightFaults:
    """Faults of the light in cells of the sheet, row 0 at its top."""

    glare: Mask  # too bright: what was drawn there may be pale or gone
    shadow: Mask  # paper in shade
    off_trend: Array  # logarithm of the paper's level over what smooth light would leave
    blown: Array  # 0..1, near parts in which the camera held no more light
    facets_fraction: float  # of the sheet, over which the light goes up and down as on crumpled paper

    @property
    def is_crumpled(self) -> bool:
        """Whether the light goes up and down over so much of the sheet that it lies in facets."""
        return self.facets_fraction > _CRUMPLED_FRACTION

    @property
    def glare_fraction(self) -> float:
        """The share of the sheet in glare."""
        return float(self.glare.mean())

    @property
    def shadow_fraction(self) -> float:
        """The share of the sheet in shade."""
        return float(self.shadow.mean())


def light_faults(paper: PaperLight, tinted: Mask | None = None) -> LightFaults:
    """Return where the light is at fault.

    Args:
        paper: The light of bare paper in cells.
        tinted: (down, across) evenly over the sheet: where a coloured lamp shines into it.
    """
    level = np.log(np.maximum(paper.level, 20.0))
    start = float(np.percentile(level[paper.is_paper] if paper.is_paper.any() else level, _BRIGHT_PERCENT))
    off = level - light_trend(level, paper.is_paper, start, _SPREADS)
    rows, columns = level.shape
    parts = cv2.threshold(paper.fine, _BLOWN, 1.0, cv2.THRESH_BINARY)[1]
    blown = np.asarray(cv2.resize(parts, (columns, rows), interpolation=cv2.INTER_AREA), np.float32)
    peak = (off > _PEAK) & (paper.level > _BRIGHT)
    glare = _grown(peak | (blown > _BLOWN_SHARE), off > _VEIL)
    if glare.mean() > _ALL_OVER:
        glare[:] = False
    if tinted is not None:
        own = over_cells(tinted, level.shape)
        glare, blown = glare | own, np.maximum(blown, own.astype(np.float32))
    shadow = paper.is_paper & (off < _SHADOW)
    return LightFaults(
        glare=_areas(glare),
        shadow=_areas(shadow),
        off_trend=off,
        blown=np.asarray(cv2.dilate(blown, _NEAR), np.float32),
        facets_fraction=facets_fraction(paper),
    )


def largest_area(mask: Mask) -> tuple[float, float, float] | None:
    """Return the share of all, and the middle (down, across; 0..1) of the largest connected area.

    Args:
        mask: (rows, columns) of cells.

    Returns:
        None where the mask is empty.
    """
    count, _, stats, middles = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=8)
    if count < 2:
        return None
    largest = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    across, down = (middles[largest] + 0.5) / (mask.shape[1], mask.shape[0])
    return float(stats[largest, cv2.CC_STAT_AREA]) / mask.size, float(down), float(across)


def place_in_words(down: float, across: float) -> str:
    """Return where a point of the sheet lies, to a third of it.

    >>> place_in_words(0.1, 0.9), place_in_words(0.5, 0.5), place_in_words(0.5, 0.1)
    ('at the upper right', 'in the middle', 'at the left')
    """
    rows, columns = ("upper", "", "lower"), ("left", "", "right")
    row, column = rows[min(2, int(3 * down))], columns[min(2, int(3 * across))]
    if not row and not column:
        return "in the middle"
    if not column:
        return "at the top" if row == "upper" else "at the bottom"
    return f"at the {row} {column}" if row else f"at the {column}"


def _grown(seeds: Mask, around: Mask) -> Mask:
    """Return the seeds and whatever is connected to them around."""
    if not seeds.any():
        return seeds
    count, labels = cv2.connectedComponents((seeds | around).astype(np.uint8), connectivity=8)
    keep = np.zeros(count, np.bool_)
    keep[np.unique(labels[seeds])] = True
    keep[0] = False
    return np.asarray(keep[labels], np.bool_)


def _areas(mask: Mask) -> Mask:
    """Return a mask without what is too small to be told of."""
    if not mask.any():
        return mask
    opened = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, _OPENING)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(opened, connectivity=8)
    keep = stats[:, cv2.CC_STAT_AREA] >= _LEAST_CELLS
    keep[0] = False
    return np.asarray(keep[labels], np.bool_) if count > 1 else np.zeros_like(mask)
