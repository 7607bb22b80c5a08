"""Where the ink's edge crosses the grid of pixel centres, followed round every loop.

Marching squares: a cell has four neighbouring pixel centres as corners; where two
of them lie on different sides of the level, the edge passes between them. Each
such crossing is entered by one cell and left by the next, so the loops are the
cycles of one array of successors, filled in a single pass over the rows.

Where between two centres the edge passes, four pixels in a line tell: if the outer
two are all ink and all paper, the sum of their coverage is the length that is ink,
whatever the blur (the moment operators of Lyvers and others, 1989, rest on the
same). On straight edges drawn with exact coverage this leaves 0.009 px at worst,
interpolation between the inner two 0.09 px (tests/reference/test_sub_pixel_edges.py).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.tracing.two_tone import SOFTENED_PX, evened, only_steps

PAPER = 255
LEVEL = 127.5
_TOP_BITS = np.uint64(0x8080808080808080)  # the top bit of a byte says paper: 128 and more
_WORD = 8
_BORDER = 2  # so that every crossing has two pixels to either side
_HARD_CONTRAST, _HARD_SHARE = 240, 0.9  # without greys, nearly all neighbours across the edge differ so much
_LEAST_BLUR_PX = 0.5  # of exact coverage, by the pixels' own size and the interpolation
_CERTAIN, _DOUBTFUL = 16.0, 48.0  # how far from all ink and all paper the outer pixels may be
_TOP, _RIGHT, _BOTTOM, _LEFT, _NONE = 0, 1, 2, 3, -1

Points = NDArray[np.float64]
Indices = NDArray[np.int32]


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


def edge_loops(pixels: NDArray[np.uint8]) -> EdgeLoops:
    """Return the loops of the ink's edge.

    Outside of the picture is paper, so ink that reaches the frame is closed along
    it. Where four pixels form a saddle, the mean of the four decides whether the
    ink is joined. A picture without greys has its steps evened out, but what is ink
    is never decided anew: a line one pixel wide stays.

    Args:
        pixels: Ink coverage, 0 ink to 255 paper, (rows, columns).
    """
    right = _BORDER + (-(pixels.shape[1] + 2 * _BORDER)) % _WORD
    padded = _image(
        cv2.copyMakeBorder(pixels, _BORDER, _BORDER, _BORDER, right, cv2.BORDER_CONSTANT, value=(PAPER,))
    )
    words = padded.view(np.uint64)
    points, successors, contrasts = _cross_cells(padded, words, padded)
    if contrasts[_HARD_CONTRAST:].sum() > _HARD_SHARE * len(points):
        points, successors, _ = _cross_cells(padded, words, only_steps(padded))
        steps, starts = _walk(points, successors)
        return EdgeLoops(evened(steps, starts, padded, _BORDER), starts, SOFTENED_PX, True)
    ordered, starts = _walk(points, successors)
    return EdgeLoops(ordered, starts, _blur_px(contrasts), False)


def _image(array: object) -> NDArray[np.uint8]:
    return np.asarray(array, np.uint8)


def _blur_px(contrasts: NDArray[np.int64]) -> float:
    """Return the blur that explains how much neighbouring pixels differ where the edge passes between them.

    A step blurred by a Gaussian rises by 255 / (sigma sqrt(2 pi)) a pixel at most; a
    pixel's own width and the difference of two add 1/12 each to sigma squared.
    """
    count = contrasts.sum()
    steep = int(np.searchsorted(np.cumsum(contrasts), 0.75 * count)) if count else PAPER
    variance = (PAPER / (max(steep, 1) * math.sqrt(math.tau))) ** 2 - 2 / 12
    return max(math.sqrt(max(variance, 0.0)), _LEAST_BLUR_PX)


def _links() -> NDArray[np.int8]:
    """Which side's crossing is followed by which, by the ink of a cell's corners.

    A case is the sum of 1 (ink top left), 2 (bottom left), 4 (top right), 8 (bottom right);
    16 and 17 are the two saddles with their ink joined in the middle.
    """
    links = {
        1: (_LEFT, _TOP),
        2: (_BOTTOM, _LEFT),
        3: (_BOTTOM, _TOP),
        4: (_TOP, _RIGHT),
        5: (_LEFT, _RIGHT),
        6: (_BOTTOM, _LEFT, _TOP, _RIGHT),
        7: (_BOTTOM, _RIGHT),
        8: (_RIGHT, _BOTTOM),
        9: (_LEFT, _TOP, _RIGHT, _BOTTOM),
        10: (_RIGHT, _LEFT),
        11: (_RIGHT, _TOP),
        12: (_TOP, _BOTTOM),
        13: (_LEFT, _BOTTOM),
        14: (_TOP, _LEFT),
        16: (_TOP, _LEFT, _BOTTOM, _RIGHT),  # 6, joined
        17: (_RIGHT, _TOP, _LEFT, _BOTTOM),  # 9, joined
    }
    table = np.full((18, 4), _NONE, np.int8)
    for case, sides in links.items():
        table[case, : len(sides)] = sides
    return table


_LINKS = _links()


@njit(cache=True)
def _cross_cells(
    pixels: NDArray[np.uint8], words: NDArray[np.uint64], levels: NDArray[np.uint8]
) -> tuple[Points, Indices, NDArray[np.int64]]:
    """Find every crossing and its successor; eight columns at a time where nothing happens.

    What is ink is read from ``pixels``, where the edge passes from ``levels``. Also
    returns how many crossings have which contrast.
    """
    rows, columns = pixels.shape
    points = np.empty((1 << 16, 2), np.float64)
    successors = np.empty(1 << 16, np.int32)
    contrasts = np.zeros(PAPER + 1, np.int64)
    count = 0
    above = np.full(columns, _NONE, np.int32)  # crossings on the row of centres above, by left pixel
    side = np.full(4, _NONE, np.int32)  # crossings of the cell at hand
    for row in range(rows - 1):
        if count + 2 * columns > len(points):
            points, successors = _grown(points, successors)
        ink = 0  # of the two pixels last seen: 0 none, 1 the upper, 2 the lower, 3 both
        for word in range(words.shape[1]):
            if _is_quiet(words[row, word], words[row + 1, word], ink):
                continue
            for column in range(max(word * _WORD, 1), word * _WORD + _WORD):
                before = ink
                ink = (pixels[row, column] < 128) + 2 * (pixels[row + 1, column] < 128)
                if before == ink and ink % 3 == 0:
                    continue
                side[_TOP] = above[column - 1]
                side[_LEFT] = side[_RIGHT]
                if (before ^ ink) & 2:
                    line = levels[row + 1]
                    share = _share(line[column - 2], line[column - 1], line[column], line[column + 1])
                    contrasts[abs(np.int64(line[column - 1]) - np.int64(line[column]))] += 1
                    points[count, 0] = column + (share - 0.5 - _BORDER)
                    points[count, 1] = row + (1.5 - _BORDER)
                    above[column - 1] = side[_BOTTOM] = count
                    count += 1
                if ink % 3 != 0:
                    upper, lower = levels[row, column], levels[row + 1, column]
                    share = _share(levels[row - 1, column], upper, lower, levels[row + 2, column])
                    contrasts[abs(np.int64(upper) - np.int64(lower))] += 1
                    points[count, 0] = column + (0.5 - _BORDER)
                    points[count, 1] = row + (share + 0.5 - _BORDER)
                    side[_RIGHT] = count
                    count += 1
                _link(_case(pixels, row, column, before + 4 * ink), side, successors)
    return points[:count].copy(), successors[:count].copy(), contrasts


@njit(cache=True)
def _grown(points: Points, successors: Indices) -> tuple[Points, Indices]:
    """Return both arrays with twice the room."""
    more_points = np.empty((2 * len(points), 2), np.float64)
    more_points[: len(points)] = points
    more_successors = np.empty(2 * len(successors), np.int32)
    more_successors[: len(successors)] = successors
    return more_points, more_successors


@njit(cache=True)
def _is_quiet(upper: np.uint64, lower: np.uint64, ink: int) -> bool:
    """Return whether eight columns of two rows are all ink or all paper, as those before them."""
    if ink == 0:
        return bool((upper & lower & _TOP_BITS) == _TOP_BITS)
    return ink == 3 and bool(((upper | lower) & _TOP_BITS) == 0)


@njit(cache=True)
def _share(outer: float, first: float, second: float, beyond: float) -> float:
    """Return how far from the second to the third of four centres the edge lies, 0 to 1.

    By the sum of the four where the outer two are clearly ink and paper, else by
    interpolation between the inner two, and by a mixture in doubtful cases.
    """
    outer, first, second, beyond = (
        np.float64(outer),
        np.float64(first),
        np.float64(second),
        np.float64(beyond),
    )
    if first > second:
        outer, first, second, beyond = PAPER - outer, PAPER - first, PAPER - second, PAPER - beyond
    if not first < LEVEL < second:
        return 0.5  # a line so thin that blur alone would lose it
    interpolated = (LEVEL - first) / (second - first)
    doubt = (max(outer, PAPER - beyond) - _CERTAIN) / (_DOUBTFUL - _CERTAIN)
    if doubt >= 1.0:
        return interpolated
    ink_px = 4 - (outer + first + second + beyond) / PAPER
    summed = min(max(ink_px - 1.5, 0.0), 1.0)
    return summed + max(doubt, 0.0) * (interpolated - summed)


@njit(cache=True)
def _case(pixels: NDArray[np.uint8], row: int, column: int, case: int) -> int:
    """Return the case of a cell; for a saddle whose middle is ink, its joined kind."""
    if case not in (6, 9):
        return case
    four = pixels[row : row + 2, column - 1 : column + 1]
    total = np.int32(four[0, 0]) + four[0, 1] + four[1, 0] + four[1, 1]
    if total >= 4 * LEVEL:
        return case
    return 16 if case == 6 else 17


@njit(cache=True)
def _link(case: int, side: Indices, successors: Indices) -> None:
    """Say of the crossings on a cell's sides which follows which."""
    successors[side[_LINKS[case, 0]]] = side[_LINKS[case, 1]]
    if _LINKS[case, 2] != _NONE:
        successors[side[_LINKS[case, 2]]] = side[_LINKS[case, 3]]


@njit(cache=True)
def _walk(points: Points, successors: Indices) -> tuple[Points, Indices]:
    """Copy the points in the order of the loops."""
    ordered = np.empty_like(points)
    starts = np.empty(len(points) + 1, np.int32)
    seen = np.zeros(len(points), np.bool_)
    loops = 0
    at = 0
    for first in range(len(points)):
        if seen[first]:
            continue
        starts[loops] = at
        loops += 1
        index = first
        while not seen[index]:
            seen[index] = True
            ordered[at] = points[index]
            at += 1
            index = successors[index]
    starts[loops] = at
    return ordered, starts[: loops + 1].copy()
