"""Where the ink's edge passes between pixel centres, followed round every loop.

An inked pixel beside a bare one has the edge between their centres. From there
it goes on to the next such pair: two of the four pixels of a cell are known, the
other two say whether the edge runs straight on or turns. A row is searched, eight
pixels at a time, only for where a loop not yet followed begins.

Where between two centres the edge passes, four pixels in a line tell: if the outer
two are all ink and all paper, the sum of their coverage is the length that is ink,
whatever the blur (the moment operators of Lyvers and others, 1989, rest on the
same). On straight edges drawn with exact coverage this leaves 0.009 px at worst,
interpolation between the inner two 0.09 px (tests/reference/test_traced_shapes.py).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.tracing.two_tone import evened, only_steps

PAPER = 255
LEVEL = 127.5
_TOP_BITS = np.uint64(0x8080808080808080)  # the top bit of a byte says paper: 128 and more
_ALL_INK = np.uint64(0)
_WORD = 8
_BORDER = 2  # so that every place on the edge has two pixels to either side
_HARD_CONTRAST, _HARD_SHARE = 240, 0.9  # without greys, nearly all neighbours across the edge differ so much
_LEAST_BLUR_PX = 0.5  # of exact coverage, by the pixels' own size and the interpolation
_CERTAIN, _DOUBTFUL = 16, 48  # how far from all ink and all paper the outer pixels may be

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
    it. Where four pixels form a saddle, the mean of the four decides whether the
    ink is joined. A picture without greys has its steps evened out, but what is ink
    is never decided anew: a line one pixel wide stays.

    Args:
        pixels: Ink coverage, 0 ink to 255 paper, (rows, columns).
        least_px2: Loops round less than this are left out and counted. What lies in
            them is smaller still, so the even-odd rule holds for what remains.
    """
    border = 0 if _has_bare_frame(pixels) else _BORDER
    framed = np.ascontiguousarray(pixels) if border == 0 else _framed(pixels)
    flat, columns = framed.reshape(-1), framed.shape[1]
    points, starts, specks, contrasts = _follow(flat, _words(flat), flat, columns, border, least_px2)
    is_hard = bool(contrasts[_HARD_CONTRAST:].sum() > _HARD_SHARE * contrasts.sum())
    if is_hard:
        points, starts, specks, _ = _follow(flat, _words(flat), only_steps(flat), columns, border, least_px2)
        points = evened(points, starts, framed, border)
    blur_px = _LEAST_BLUR_PX if is_hard else _blur_px(contrasts)
    return EdgeLoops(points, starts, blur_px, is_hard, int(specks[0]), int(specks[1]))


def _has_bare_frame(pixels: Pixels) -> bool:
    """Return whether the outermost pixels are paper, two deep all round."""
    if min(pixels.shape) < 2 * _BORDER:
        return False
    frame = (pixels[:_BORDER], pixels[-_BORDER:], pixels[:, :_BORDER], pixels[:, -_BORDER:])
    return all(int(side.min()) > LEVEL for side in frame)


def _framed(pixels: Pixels) -> Pixels:
    sides = (_BORDER,) * 4
    return np.asarray(cv2.copyMakeBorder(pixels, *sides, cv2.BORDER_CONSTANT, value=(PAPER,)), np.uint8)


def _words(flat: Pixels) -> NDArray[np.uint64]:
    """Return the pixels eight at a time; a rest of the last row, which is paper, is left out."""
    return flat[: len(flat) // _WORD * _WORD].view("<u8")


def _blur_px(contrasts: NDArray[np.int64]) -> float:
    """Return the blur that explains how much neighbouring pixels differ where the edge passes between them.

    A step blurred by a Gaussian rises by 255 / (sigma sqrt(2 pi)) a pixel at most; a
    pixel's own width and the difference of two add 1/12 each to sigma squared.
    """
    count = contrasts.sum()
    steep = int(np.searchsorted(np.cumsum(contrasts), 0.75 * count)) if count else PAPER
    variance = (PAPER / (max(steep, 1) * math.sqrt(math.tau))) ** 2 - 2 / 12
    return max(math.sqrt(max(variance, 0.0)), _LEAST_BLUR_PX)


@njit(cache=True)
def _follow(
    pixels: Pixels, words: NDArray[np.uint64], levels: Pixels, columns: int, border: int, least_px2: float
) -> tuple[Points, Indices, NDArray[np.int64], NDArray[np.int64]]:
    """Follow every loop once, from its first place where paper is followed by ink in a row.

    What is ink is read from ``pixels``, where the edge passes from ``levels``; both row
    after row. Also returns how many specks of ink and of paper were left out, and how
    many places on the edge have which contrast.
    """
    points = np.empty((1 << 16, 2), np.float64)
    starts = np.zeros(1 << 8, np.int32)
    specks = np.zeros(2, np.int64)
    contrasts = np.zeros(PAPER + 1, np.int64)
    seen = np.zeros(len(words) + 1, np.uint8)  # a bit for each pixel that has paper on its left
    loops = 0
    at = int(starts[0])  # no literal: each would be compiled for apart
    quiet = _TOP_BITS
    for index in range(len(words)):
        paper = words[index] & _TOP_BITS
        if paper == quiet:
            continue
        beginning = ((paper << np.uint64(8)) | (quiet & np.uint64(0x80))) & ~paper
        quiet = _TOP_BITS if paper >> np.uint64(63) else _ALL_INK
        for k in range(_WORD):
            if not (beginning >> np.uint64(8 * k + 7)) & np.uint64(1) or (seen[index] >> k) & 1:
                continue
            first = index * _WORD + k
            points, end, area_px2 = _follow_loop(
                pixels, levels, columns, first, border, points, at, seen, contrasts
            )
            if abs(area_px2) < least_px2:
                specks[0 if area_px2 > 0.0 else 1] += 1
                continue
            at = end
            loops += 1
            if loops == len(starts):
                starts = np.concatenate((starts, np.empty_like(starts)))
            starts[loops] = at
    return points[:at], starts[: loops + 1].copy(), specks, contrasts


@njit(cache=True)
def _follow_loop(
    pixels: Pixels,
    levels: Pixels,
    columns: int,
    first: int,
    border: int,
    points: Points,
    at: int,
    seen: Pixels,
    contrasts: NDArray[np.int64],
) -> tuple[Points, int, float]:
    """Write down a loop's points; return all points, where they end, and the area, positive round ink."""
    steps = np.array([-1, columns, 1, -columns])  # left, down, right, up
    rights, downs = np.array([-1.0, 0.0, 1.0, 0.0]), np.array([0.0, 1.0, 0.0, -1.0])
    row, column = divmod(first, columns)
    x, y = column - border + 0.5, row - border + 0.5  # centre of the inked pixel
    first_x, first_y, last_x, last_y, area = x, y, 0.0, 0.0, 0.0
    ink, way = first, 0  # the edge lies between this pixel and its neighbour that way
    while True:
        if at == len(points):
            points = np.concatenate((points, np.empty_like(points)))
        if way == 0:
            seen[ink >> 3] |= 1 << (ink & 7)
        onward = (way + 1) & 3  # along the edge, with the ink on the left
        step, on = steps[way], steps[onward]
        inked, bare = _tone(levels, ink), _tone(levels, ink + step)
        contrasts[bare - inked] += 1
        share = _share(_tone(levels, ink - step), inked, bare, _tone(levels, ink + 2 * step))
        edge_x, edge_y = x + rights[way] * share, y + downs[way] * share
        points[at, 0], points[at, 1] = edge_x, edge_y
        at += 1
        area -= last_x * (edge_y - first_y) - (edge_x - first_x) * last_y
        last_x, last_y = edge_x - first_x, edge_y - first_y
        is_ink, is_ink_beyond = _tone(pixels, ink + on) < LEVEL, _tone(pixels, ink + on + step) < LEVEL
        if is_ink_beyond and (is_ink or _is_joined(pixels, ink, step, on)):
            ink += on + step
            x, y = x + rights[onward] + rights[way], y + downs[onward] + downs[way]
            way = (way + 3) & 3
        elif is_ink:
            ink += on
            x, y = x + rights[onward], y + downs[onward]
        else:
            way = onward
        if ink == first and way == 0:
            return points, at, area / 2


@njit(cache=True, inline="always")
def _tone(pixels: Pixels, index: int) -> int:
    return int(pixels[np.uint64(index)])  # unsigned: no index counts from the end


@njit(cache=True)
def _is_joined(pixels: Pixels, ink: int, step: int, on: int) -> bool:
    """Return whether the middle of a saddle is ink: the mean of its four pixels decides."""
    total = _tone(pixels, ink) + _tone(pixels, ink + step)
    return total + _tone(pixels, ink + on) + _tone(pixels, ink + on + step) < 4 * LEVEL


@njit(cache=True)
def _share(outer: int, inked: int, bare: int, beyond: int) -> float:
    """Return how far from the second to the third of four centres, ink to paper, the edge lies, 0 to 1.

    By the sum of the four where the outer two are clearly ink and paper, else by
    interpolation between the inner two, and by a mixture in doubtful cases.
    """
    doubt = max(outer, PAPER - beyond)
    if doubt >= _DOUBTFUL:
        return (LEVEL - inked) / (bare - inked)
    summed = min(max(2.5 - (outer + inked + bare + beyond) / PAPER, 0.0), 1.0)
    if doubt <= _CERTAIN:
        return summed
    return summed + (doubt - _CERTAIN) / (_DOUBTFUL - _CERTAIN) * ((LEVEL - inked) / (bare - inked) - summed)
