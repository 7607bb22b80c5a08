"""Where the ink's edge passes between pixel centres, and how sharp the picture is there."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.tracing.area_true import moved_to_area
from workers.tracing.following import LEVEL, PAPER, follow, words
from workers.tracing.stations import noise_px
from workers.tracing.thin_lines import CRISP_BLUR_PX, made_sure, thin_places
from workers.tracing.two_tone import evened, only_steps

_BORDER = 2  # so that every place on the edge has two pixels to either side
_HARD_CONTRAST, _HARD_SHARE = 240, 0.9  # without greys, nearly all neighbours across the edge differ so much
_FEW_THIN = 0.01  # of all places on the edge: so many may be grain, or strays in a picture without greys
_LEAST_BLUR_PX = 0.5  # of exact coverage, by the pixels' own size and the interpolation

Points = NDArray[np.float64]
Indices = NDArray[np.int32]
Pixels = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class EdgeLoops:
    """Loops round ink: points as column and row, px, pixel centres at half integers.

    Loop i is points[starts[i]:starts[i + 1]]; none repeats its first point. Going
    round, the ink lies on the left as seen on the page.
    """

    points: Points  # (n, 2)
    starts: Indices  # (m + 1)
    blur_px: float  # standard deviation of what has blurred the edge
    is_hard: bool  # the picture has no greys: its edges are known to half a pixel only
    ink_specks: int  # loops left out because they are too small: round ink
    paper_specks: int  # and round paper


def edge_loops(pixels: Pixels, least_px2: float = 0.0) -> EdgeLoops:
    """Return the loops of the ink's edge.

    Outside of the picture is paper, so ink that reaches the frame is closed along
    it. Where four pixels form a saddle, the ink is joined if they are darker than what
    surrounds them. A picture without greys has its steps evened out, but what is ink
    is never decided anew: a line one pixel wide stays. In a crisp and clean one thin lines and
    gaps that cover no pixel by half are kept whole.

    Args:
        pixels: Ink coverage, 0 ink to 255 paper, (rows, columns).
        least_px2: Loops round less than this are left out and counted. What lies in
            them is smaller still, so the even-odd rule holds for what remains.
    """
    border = 0 if _has_bare_frame(pixels) else _BORDER
    framed = np.ascontiguousarray(pixels) if border == 0 else _framed(pixels)
    flat, columns = framed.reshape(-1), framed.shape[1]
    points, starts, specks, contrasts = follow(flat, words(flat), flat, columns, border, least_px2)
    is_hard = bool(contrasts[_HARD_CONTRAST:].sum() > _HARD_SHARE * contrasts.sum())
    blur_px = _LEAST_BLUR_PX if is_hard else _blur_px(contrasts)
    thin = thin_places(framed) if blur_px <= CRISP_BLUR_PX else np.empty(0, np.int64)
    are_few = len(thin) <= _FEW_THIN * contrasts.sum()
    if is_hard and are_few:
        points, starts, specks, _ = follow(flat, words(flat), only_steps(flat), columns, border, least_px2)
        points = evened(points, starts, framed, border)
    elif len(thin) and not (are_few and noise_px(points, starts) > 0.0):
        is_hard = False
        sure = made_sure(framed, thin).reshape(-1)
        points, starts, specks, _ = follow(sure, words(sure), flat, columns, border, least_px2)
        points = moved_to_area(points, starts, pixels)
    return EdgeLoops(points, starts, blur_px, is_hard, int(specks[0]), int(specks[1]))


def _has_bare_frame(pixels: Pixels) -> bool:
    """Return whether the outermost pixels are paper, two deep all round."""
    if min(pixels.shape) < 2 * _BORDER:
        return False
    return min(pixels[:_BORDER].min(), pixels[-_BORDER:].min()) > LEVEL and _has_bare_sides(pixels)


@njit(cache=True)
def _has_bare_sides(pixels: Pixels) -> bool:
    """Return whether the first and last columns are paper."""
    last = pixels.shape[1] - 1
    for row in range(len(pixels)):
        for column in range(_BORDER):
            if pixels[row, column] < LEVEL or pixels[row, last - column] < LEVEL:
                return False
    return True


def _framed(pixels: Pixels) -> Pixels:
    sides = (_BORDER,) * 4
    return np.asarray(cv2.copyMakeBorder(pixels, *sides, cv2.BORDER_CONSTANT, value=(PAPER,)), np.uint8)


def _blur_px(contrasts: NDArray[np.int64]) -> float:
    """Return the blur that explains how much neighbouring pixels differ where the edge passes between them.

    A step blurred by a Gaussian rises by 255 / (sigma sqrt(2 pi)) a pixel at most; a
    pixel's own width and the difference of two add 1/12 each to sigma squared.
    """
    count = contrasts.sum()
    steep = int(np.searchsorted(np.cumsum(contrasts), 0.75 * count)) if count else PAPER
    variance = (PAPER / (max(steep, 1) * math.sqrt(math.tau))) ** 2 - 2 / 12
    return max(math.sqrt(max(variance, 0.0)), _LEAST_BLUR_PX)
