"""Following the ink's edge from pixel to pixel, round every loop.

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

import numpy as np
from numba import njit
from numpy.typing import NDArray

PAPER = 255
LEVEL = 127.5
_TOP_BITS = np.uint64(0x8080808080808080)  # the top bit of a byte says paper: 128 and more
_ALL_INK = np.uint64(0)
_WORD = 8
_CERTAIN, _DOUBTFUL = 16, 48  # how far from all ink and all paper the outer pixels may be
_WIDEST_THIN = 1.8  # px, of a line of which no pixel is half ink
_LEAST_SHARE = 0.05  # of the way between two centres

Points = NDArray[np.float64]
Indices = NDArray[np.int32]
Pixels = NDArray[np.uint8]


def words(flat: Pixels) -> NDArray[np.uint64]:
    """Return the pixels eight at a time; a rest of the last row, which is paper, is left out."""
    return flat[: len(flat) // _WORD * _WORD].view("<u8")


@njit(cache=True)
def follow(
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
    ink, way, begun = first, 0, at  # the edge lies between this pixel and its neighbour that way
    while True:
        if at == len(points):
            points = np.concatenate((points, np.empty_like(points)))
        if way == 0:
            seen[ink >> 3] |= 1 << (ink & 7)
        onward = (way + 1) & 3  # along the edge, with the ink on the left
        step, on = steps[way], steps[onward]
        inked, bare = _tone(levels, ink), _tone(levels, ink + step)
        if bare > inked:
            contrasts[bare - inked] += 1
        if inked > LEVEL:
            share = _beside_thin(levels, ink, step, PAPER)
        elif bare < LEVEL:
            share = 1.0 - _beside_thin(levels, ink + step, -step, 0)
        else:
            share = _share(_tone(levels, ink - step), inked, bare, _tone(levels, ink + 2 * step))
        edge_x, edge_y = x + rights[way] * share, y + downs[way] * share
        points[at, 0], points[at, 1] = edge_x, edge_y
        at += 1
        area -= last_x * (edge_y - first_y) - (edge_x - first_x) * last_y
        last_x, last_y = edge_x - first_x, edge_y - first_y
        is_ink, is_ink_beyond = _tone(pixels, ink + on) < LEVEL, _tone(pixels, ink + on + step) < LEVEL
        if is_ink_beyond and (is_ink or _is_joined(levels, ink, step, on)):
            ink += on + step
            x, y = x + rights[onward] + rights[way], y + downs[onward] + downs[way]
            way = (way + 3) & 3
        elif is_ink:
            ink += on
            x, y = x + rights[onward], y + downs[onward]
        else:
            way = onward
        if ink == first and way == 0:
            area -= last_x * (points[begun, 1] - first_y) - (points[begun, 0] - first_x) * last_y
            return points, at, area / 2


@njit(cache=True, inline="always")
def _tone(pixels: Pixels, index: int) -> int:
    return int(pixels[np.uint64(index)])  # unsigned: no index counts from the end


@njit(cache=True)
def _is_joined(levels: Pixels, ink: int, step: int, on: int) -> bool:
    """Return whether the middle of a saddle is ink: its four pixels are darker than the sixteen around it.

    Ink that is thin there has mostly paper around it, and is joined; a thin gap in ink stays open.
    """
    four = sixteen = 0
    for across in range(-1, 3):
        for along in range(-1, 3):
            tone = _tone(levels, ink + across * step + along * on)
            sixteen += tone
            if 0 <= across <= 1 and 0 <= along <= 1:
                four += tone
    return 4 * four < sixteen


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


@njit(cache=True)
def _beside_thin(levels: Pixels, at: int, step: int, ground: int) -> float:
    """Return how far from a pixel on a thin line, towards its neighbour a step on, the line's edge lies.

    Its tones across say how wide it is and where its middle; if they do not end there, half its own share is
    taken. The place is kept between the two centres, so that no edge crosses another.
    """
    width = middle = 0.0
    for k in range(-2, 3):
        share = abs(ground - float(_tone(levels, at + k * step))) / PAPER
        width += share
        middle += share * k
    if width < _WIDEST_THIN:
        return min(max(middle / width + width / 2, _LEAST_SHARE), 1.0 - _LEAST_SHARE)
    return max(abs(ground - float(_tone(levels, at))) / (2 * PAPER), _LEAST_SHARE)
