"""The connected parts of a two-tone picture, from its runs.

A line drawing has few runs in a row, so joining runs is far less work than labelling pixels.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

MIDDLE = 128  # coverage below is ink
_TOP_BITS = np.uint64(0x8080808080808080)  # set in eight bytes that are all paper


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """The runs of one tone, each with the part it belongs to, and figures of each part."""

    runs: NDArray[np.int32]  # (n, 3) row, first column, column behind the last
    part: NDArray[np.int32]  # (n,) part of each run, 0 to count - 1
    area_px: NDArray[np.int64]  # (count,)
    darkest: NDArray[np.uint8]  # (count,) darkest coverage of an ink part; 255 of paper
    depth_px: NDArray[np.int32]  # (count,) how far from the nearest rim of the picture it reaches
    rim_gap_px: NDArray[np.int32]  # (count,) how near to a rim it comes; 0 touches


def parts_of(coverage: NDArray[np.uint8], ink: bool) -> Parts:
    """Return the parts of the ink (joined at corners too) or of the paper (joined at sides only).

    Args:
        coverage: (rows, columns), 0 ink, 255 paper.
        ink: Which of the two.
    """
    runs = _ink_runs(coverage, _eights(coverage))
    if not ink:
        runs = _between(runs, *coverage.shape)
    part, count = _joined(runs, 1 if ink else 0)
    area_px, darkest, depth_px, rim_gap_px = _figures(coverage, runs, part, count, ink)
    return Parts(runs, part, area_px, darkest, depth_px, rim_gap_px)


def painted(coverage: NDArray[np.uint8], parts: Parts, which: NDArray[np.bool_], value: int) -> None:
    """Set some parts, and the half-tones round them, to one value, in place.

    Args:
        coverage: The picture the parts are of.
        parts: Its parts of one tone.
        which: (count,) the parts to be painted.
        value: 0 ink or 255 paper.
    """
    if which.any():
        _paint(coverage, parts.runs[which[parts.part]], value)


def _eights(coverage: NDArray[np.uint8]) -> NDArray[np.uint64]:
    """Return the picture's bytes eight at a time, so that bare paper can be passed over quickly."""
    flat = np.ascontiguousarray(coverage).ravel()
    return flat[: flat.size // 8 * 8].view(np.uint64)


@njit(cache=True, nogil=True)
def _ink_runs(coverage: NDArray[np.uint8], eights: NDArray[np.uint64]) -> NDArray[np.int32]:
    rows, columns = coverage.shape
    kept = np.empty((max(1024, rows * 8), 3), np.int32)
    count = 0
    for row in range(rows):
        column = 0
        line = coverage[row]
        start = row * columns
        while column < columns:
            while column < columns and line[column] >= MIDDLE:
                column += 1
                while (
                    (start + column) % 8 == 0
                    and column + 8 <= columns
                    and eights[(start + column) // 8] & _TOP_BITS == _TOP_BITS
                ):
                    column += 8
            if column == columns:
                break
            first = column
            while column < columns and line[column] < MIDDLE:
                column += 1
            if count == len(kept):
                more = np.empty((2 * count, 3), np.int32)
                more[:count] = kept
                kept = more
            kept[count, 0], kept[count, 1], kept[count, 2] = row, first, column
            count += 1
    return kept[:count].copy()


@njit(cache=True, nogil=True)
def _between(runs: NDArray[np.int32], rows: int, columns: int) -> NDArray[np.int32]:
    """Return the runs of all that lies between some runs."""
    kept = np.empty((len(runs) + rows, 3), np.int32)
    count, k = 0, 0
    for row in range(rows):
        first = 0
        while k < len(runs) and runs[k, 0] == row:
            if runs[k, 1] > first:
                kept[count, 0], kept[count, 1], kept[count, 2] = row, first, runs[k, 1]
                count += 1
            first = runs[k, 2]
            k += 1
        if first < columns:
            kept[count, 0], kept[count, 1], kept[count, 2] = row, first, columns
            count += 1
    return kept[:count].copy()


@njit(cache=True, nogil=True)
def _root(parent: NDArray[np.int32], k: int) -> int:
    while parent[k] != k:
        parent[k] = parent[parent[k]]
        k = parent[k]
    return k


@njit(cache=True, nogil=True)
def _joined(runs: NDArray[np.int32], slack: int) -> tuple[NDArray[np.int32], int]:
    """Return the part of each run and how many parts there are; ``slack`` 1 joins at corners."""
    count = len(runs)
    parent = np.arange(count).astype(np.int32)
    above, k = 0, 0
    while k < count:
        row = runs[k, 0]
        while above < k and runs[above, 0] < row - 1:
            above += 1
        other = above
        while k < count and runs[k, 0] == row:
            while other < count and runs[other, 0] == row - 1 and runs[other, 2] + slack <= runs[k, 1]:
                other += 1
            touching = other
            while (
                touching < count and runs[touching, 0] == row - 1 and runs[touching, 1] < runs[k, 2] + slack
            ):
                a, b = _root(parent, touching), _root(parent, k)
                if a < b:
                    parent[b] = a
                elif b < a:
                    parent[a] = b
                touching += 1
            k += 1
    part = np.empty(count, np.int32)
    parts = 0
    for k in range(count):
        root = _root(parent, k)
        if root == k:
            part[k] = parts
            parts += 1
        else:
            part[k] = part[root]
    return part, parts


@njit(cache=True, nogil=True)
def _figures(
    coverage: NDArray[np.uint8], runs: NDArray[np.int32], part: NDArray[np.int32], count: int, ink: bool
) -> tuple[NDArray[np.int64], NDArray[np.uint8], NDArray[np.int32], NDArray[np.int32]]:
    rows, columns = coverage.shape
    area = np.zeros(count, np.int64)
    darkest = np.full(count, 255, np.uint8)
    depth = np.zeros(count, np.int32)
    gap = np.full(count, max(rows, columns), np.int32)
    for k in range(len(runs)):
        row, first, last, own = runs[k, 0], runs[k, 1], runs[k, 2], part[k]
        area[own] += last - first
        down = min(row, rows - 1 - row)
        middle = min(max(columns // 2, first), last - 1)
        depth[own] = max(depth[own], min(down, min(middle, columns - 1 - middle)))
        gap[own] = min(gap[own], min(down, min(first, columns - last)))
        if ink:
            for column in range(first, last):
                darkest[own] = min(darkest[own], coverage[row, column])
    return area, darkest, depth, gap


@njit(cache=True, nogil=True)
def _paint(coverage: NDArray[np.uint8], runs: NDArray[np.int32], value: int) -> None:
    rows, columns = coverage.shape
    for k in range(len(runs)):
        row, first, last = runs[k, 0], runs[k, 1], runs[k, 2]
        coverage[row, first:last] = value
    for k in range(len(runs)):
        row, first, last = runs[k, 0], runs[k, 1], runs[k, 2]
        for near in range(max(0, row - 1), min(rows, row + 2)):
            for column in range(max(0, first - 1), min(columns, last + 1)):
                if (coverage[near, column] >= MIDDLE) == (value == 255):  # what is left of its soft rim
                    coverage[near, column] = value
