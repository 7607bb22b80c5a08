"""Which top, right, bottom and left line make four sides: all choices weighed, the best kept."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.rectification.edge_lines import ALONG_STEP_PX, EdgeLine

_LEAST_AREA_FRACTION = 0.06
_RUN_ON_FRACTION = 0.12  # how far past the corners an edge is followed
_GAP_PX = 4.0  # past a corner, before what follows counts as running on
_RUN_ON_COST = 0.35
_LEAST_SHARE = 0.25
_LEAST_VISIBLE = 0.3  # of a side: with less in the picture it is not seen at all
_FULL_AREA = 0.4  # of the picture: a sheet so large is no less likely than a larger one

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class FourLines:
    """A choice of four lines."""

    corners: Array  # (4, 2) TL, TR, BR, BL from the picture's middle, px
    shares: Array  # (4,) how much of each side shows an edge, less how much runs on past its corners
    score: float  # 0..1


def best_fours(lines: list[list[EdgeLine]], half_frame: Array, most: int) -> list[FourLines]:
    """Return the choices of four lines that look most like a sheet's sides, the best first.

    Args:
        lines: Candidates for top, right, bottom and left side.
        half_frame: Half the picture's width and height, px.
        most: How many are wanted.
    """
    if not all(lines):
        return []
    counts = [len(side) for side in lines]
    table = np.full((4, max(counts), 5), np.nan)  # normal, offset, the part of the line in the picture
    seen = np.zeros((4, max(counts), max(len(line.seen) for side in lines for line in side)))
    for side, group in enumerate(lines):
        for number, line in enumerate(group):
            table[side, number] = [*line.normal, line.offset_px, *line.within(half_frame)]
            seen[side, number] = line.seen
    meet = _crossings(table)
    shares = _side_shares(table, meet, seen, lines[0][0].first_px)
    scores = _scores(meet, shares, np.array(counts), 4.0 * float(half_frame[0] * half_frame[1])).ravel()
    likely = np.flatnonzero(scores)
    found = []
    for k in likely[np.lexsort((likely, -scores[likely]))][:most]:
        t, r, b, left = np.unravel_index(k, counts)
        corners = np.stack([meet[3, left, t], meet[0, t, r], meet[1, r, b], meet[2, b, left]])
        own = (shares[0, t, left, r], shares[1, r, t, b], shares[2, b, r, left], shares[3, left, b, t])
        found.append(FourLines(corners, np.array(own), float(scores[k])))
    return found


@njit(cache=True, nogil=True)
def _crossings(table: Array) -> Array:
    """Return where each line of a side meets each of the next, (side, own, next, 2); NaN if nowhere."""
    count = table.shape[1]
    meet = np.full((4, count, count, 2), np.nan)
    for side in range(4):
        following = (side + 1) % 4
        for own in range(count):
            for other in range(count):
                x1, y1, d1 = table[side, own, 0], table[side, own, 1], table[side, own, 2]
                x2, y2, d2 = (
                    table[following, other, 0],
                    table[following, other, 1],
                    table[following, other, 2],
                )
                cross = x1 * y2 - y1 * x2
                if abs(cross) >= 1e-6:
                    meet[side, own, other, 0] = (d1 * y2 - d2 * y1) / cross
                    meet[side, own, other, 1] = (x1 * d2 - x2 * d1) / cross
    return meet


@njit(cache=True, nogil=True)
def _seen_share(seen: Array, first_px: float, start: float, end: float, low: float, high: float) -> float:
    """Return how much of a stretch of a line shows an edge, as far as it lies between low and high."""
    start, end = min(max(start, low), high), min(max(end, low), high)
    total = 0.0
    for place, sign in ((end, 1.0), (start, -1.0)):
        at = min(max((place - first_px) / ALONG_STEP_PX, 0.0), len(seen) - 1.001)
        whole = int(at)
        total += sign * (seen[whole] + (seen[whole + 1] - seen[whole]) * (at - whole))
    return total / max(end - start, 1.0)


@njit(cache=True, nogil=True)
def _side_shares(table: Array, meet: Array, seen: Array, first_px: float) -> Array:
    """Return how much of each side shows an edge, less how much runs on past its corners.

    Returns:
        (side, own line, line before, line after), at most 1; 0 where the sheet would be inside out.
    """
    count = table.shape[1]
    shares = np.zeros((4, count, count, count))
    for side in range(4):
        for own in range(count):
            along_x, along_y = -table[side, own, 1], table[side, own, 0]
            low, high = table[side, own, 3], table[side, own, 4]
            line = seen[side, own]
            for before in range(count):
                corner = meet[(side + 3) % 4, before, own]
                start = corner[0] * along_x + corner[1] * along_y
                for after in range(count):
                    corner = meet[side, own, after]
                    end = corner[0] * along_x + corner[1] * along_y
                    length = start - end  # a sheet's sides run against their lines
                    visible = min(max(start, low), high) - min(max(end, low), high)
                    if not length > 0 or not visible > _LEAST_VISIBLE * length:
                        continue
                    share = min(_seen_share(line, first_px, end, start, low, high), 1.0)
                    beyond = _RUN_ON_FRACTION * length
                    run_on = _seen_share(line, first_px, end - beyond - _GAP_PX, end - _GAP_PX, low, high)
                    run_on += _seen_share(
                        line, first_px, start + _GAP_PX, start + beyond + _GAP_PX, low, high
                    )
                    shares[side, own, before, after] = share - _RUN_ON_COST * min(run_on / 2, 1.0)
    return shares


@njit(cache=True, nogil=True)
def _scores(meet: Array, shares: Array, counts: NDArray[np.int64], frame_px2: float) -> Array:
    """Return the score of each choice (top, right, bottom, left), 0 for what cannot be a sheet."""
    scores = np.zeros((counts[0], counts[1], counts[2], counts[3]))
    corners = np.empty((4, 2))
    for t in range(counts[0]):
        for r in range(counts[1]):
            for b in range(counts[2]):
                if not shares[1, r, t, b] > _LEAST_SHARE:
                    continue
                for left in range(counts[3]):
                    first, third, fourth = shares[0, t, left, r], shares[2, b, r, left], shares[3, left, b, t]
                    least = min(min(first, shares[1, r, t, b]), min(third, fourth))
                    if not least > _LEAST_SHARE:
                        continue
                    corners[0], corners[1] = meet[3, left, t], meet[0, t, r]
                    corners[2], corners[3] = meet[1, r, b], meet[2, b, left]
                    area = _convex_area(corners) / frame_px2
                    if not area > _LEAST_AREA_FRACTION:
                        continue
                    score = 0.125 * (first + shares[1, r, t, b] + third + fourth) + 0.5 * least
                    scores[t, r, b, left] = score * (0.7 + 0.3 * min(1.0, np.sqrt(area / _FULL_AREA)))
    return scores


@njit(cache=True, nogil=True)
def _convex_area(corners: Array) -> float:
    """Return the area of four corners that turn clockwise as seen (y down), 0 if they do not."""
    area = 0.0
    for k in range(4):
        a, b, c = corners[k], corners[(k + 1) % 4], corners[(k + 2) % 4]
        if not (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) > 0:
            return 0.0
        area += a[0] * b[1] - b[0] * a[1]
    return area / 2
