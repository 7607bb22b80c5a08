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
_BITS_OF_BYTES = np.uint64(0x0102040810204080)  # times it, the lowest bits of 8 bytes are the top byte's bits
_ALL_INK = np.uint64(0)
_WORD = 8
_WORDS_AT_ONCE = 8
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
    index = _next_change(words, 0, quiet)
    while index < len(words):
        paper = words[index] & _TOP_BITS
        beginning = ((paper << np.uint64(8)) | (quiet & np.uint64(0x80))) & ~paper
        quiet = _TOP_BITS if paper >> np.uint64(63) else _ALL_INK
        begins = ((beginning >> np.uint64(7)) * _BITS_OF_BYTES) >> np.uint64(56)
        is_known = begins & ~np.uint64(seen[index]) == _ALL_INK  # nearly always: their loops are followed
        for k in range(0 if is_known else _WORD):
            if not (begins >> np.uint64(k)) & np.uint64(1) or (seen[index] >> k) & 1:
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
        index = _next_change(words, index + 1, quiet)
    return points[:at], starts[: loops + 1].copy(), specks, contrasts


@njit(cache=True)
def _next_change(words: NDArray[np.uint64], index: int, quiet: np.uint64) -> int:
    """Return the first word from one on that is not all of the same ground, many at a time."""
    while index + _WORDS_AT_ONCE <= len(words) and words[index] & _TOP_BITS == quiet:
        changed = _ALL_INK
        for k in range(_WORDS_AT_ONCE):
            changed |= words[np.uint64(index + k)] ^ quiet
        if changed & _TOP_BITS:
            break
        index += _WORDS_AT_ONCE
    while index < len(words) and words[index] & _TOP_BITS == quiet:
        index += 1
    return index


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
    begin, ink, way, doubled = at, first, 0, 0.0
    while True:
        at, ink, way, doubled = _walk(
            *(pixels, levels, columns, first, border, points, begin, seen, contrasts), at, ink, way, doubled
        )
        if ink == first and way == 0:
            return points, at, doubled / 2
        points = np.concatenate((points, np.empty_like(points)))


@njit(cache=True)
def _walk(
    pixels: Pixels,
    levels: Pixels,
    columns: int,
    first: int,
    border: int,
    points: Points,
    begin: int,
    seen: Pixels,
    contrasts: NDArray[np.int64],
    at: int,
    ink: int,
    way: int,
    doubled: float,
) -> tuple[int, int, int, float]:
    """Follow a loop until it is closed or there is no room for more points.

    Takes and returns where its points end, the inked pixel and the way from there to its bare neighbour
    (the edge lies between the two), and twice the area so far.
    """
    steps = (-1, columns, 1, -columns)  # left, down, right, up
    first_x, first_y = first % columns - border + 0.5, first // columns - border + 0.5
    x, y = ink % columns - border + 0.5, ink // columns - border + 0.5  # centre of the inked pixel
    last_x = points[at - 1, 0] - first_x if at > begin else 0.0
    last_y = points[at - 1, 1] - first_y if at > begin else 0.0
    while at < len(points):
        seen[np.uint64(ink >> 3)] |= (way == 0) << (ink & 7)
        onward = (way + 1) & 3  # along the edge, with the ink on the left
        step, on = steps[way], steps[onward]
        right, down = float((way == 2) - (way == 0)), float((way == 1) - (way == 3))
        inked, bare = _tone(levels, ink), _tone(levels, ink + step)
        if bare > inked:
            contrasts[np.uint64(bare - inked)] += 1
        if inked > LEVEL:
            share = _beside_thin(levels, ink, step, PAPER)
        elif bare < LEVEL:
            share = 1.0 - _beside_thin(levels, ink + step, -step, 0)
        else:
            share = _share(_tone(levels, ink - step), inked, bare, _tone(levels, ink + 2 * step))
        edge_x, edge_y = x + right * share, y + down * share
        points[np.uint64(at), 0], points[np.uint64(at), 1] = edge_x, edge_y
        at += 1
        doubled -= last_x * (edge_y - first_y) - (edge_x - first_x) * last_y
        last_x, last_y = edge_x - first_x, edge_y - first_y
        goes_on, goes_beyond = _tone(pixels, ink + on) < LEVEL, _tone(pixels, ink + on + step) < LEVEL
        if goes_beyond and not goes_on:  # a saddle
            goes_on = goes_beyond = _is_joined(levels, ink, step, on)
        goes_beyond &= goes_on
        # sums, not branches: no processor foresees which way an edge goes on
        ink += on * goes_on + step * goes_beyond
        x += down * goes_on + right * goes_beyond
        y += down * goes_beyond - right * goes_on
        way = (onward - goes_on - goes_beyond) & 3
        if ink == first and way == 0:
            doubled -= last_x * (points[begin, 1] - first_y) - (points[begin, 0] - first_x) * last_y
            break
    return at, ink, way, doubled


@njit(cache=True)
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
    between = (LEVEL - inked) / (bare - inked)
    summed = min(max(2.5 - (outer + inked + bare + beyond) / PAPER, 0.0), 1.0)
    mixed = summed + (doubt - _CERTAIN) / (_DOUBTFUL - _CERTAIN) * (between - summed)
    return between if doubt >= _DOUBTFUL else summed if doubt <= _CERTAIN else mixed


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
