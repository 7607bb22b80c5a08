"""Pictures of polygons with exactly known pixel coverage, computed apart from anything under test."""

import numpy as np
from numpy.typing import NDArray

LINES_PER_PIXEL = 32


def covered(rings: list[NDArray[np.float64]], rows: int, columns: int) -> NDArray[np.uint8]:
    """A picture (0 ink, 255 paper) of polygons in px, row down, filled even-odd.

    Along each of 32 lines a pixel the covered length is exact; across, it is the mean of the lines.
    """
    line, x = _crossings(rings, rows)
    order = np.lexsort((x, line))
    line, x = line[order], np.clip(x[order], 0, columns)
    sign = np.where(np.arange(len(x)) % 2, -1.0, 1.0)  # in and out by turns; every line has an even number
    pixel = np.minimum(x.astype(np.int64), columns - 1)
    share = x - pixel
    at = line // LINES_PER_PIXEL * (columns + 1) + pixel
    size = rows * (columns + 1)
    steps = np.bincount(at, sign * (1 - share), size) + np.bincount(at + 1, sign * share, size)
    coverage = np.cumsum(steps.reshape(rows, columns + 1), axis=1)[:, :columns]
    return np.rint(255 * (1 - coverage / LINES_PER_PIXEL)).astype(np.uint8)


def _crossings(rings: list[NDArray[np.float64]], rows: int) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Every place where a side crosses one of the lines: the line's number and x in px."""
    lines, places = [np.empty(0, np.int64)], [np.empty(0)]
    for ring in rings:
        (x0, y0), (x1, y1) = ring.T, np.roll(ring, -1, axis=0).T
        low, high = (
            np.clip(np.ceil(y * LINES_PER_PIXEL - 0.5).astype(np.int64), 0, rows * LINES_PER_PIXEL)
            for y in (np.minimum(y0, y1), np.maximum(y0, y1))
        )
        count = high - low
        side = np.repeat(np.arange(len(ring)), count)
        line = np.arange(len(side)) - np.repeat(np.cumsum(count) - count, count) + low[side]
        y = (line + 0.5) / LINES_PER_PIXEL
        lines.append(line)
        places.append(x0[side] + (y - y0[side]) * (x1 - x0)[side] / (y1 - y0)[side])
    return np.concatenate(lines), np.concatenate(places)


def circle(x: float, y: float, radius: float, count: int = 4000) -> NDArray[np.float64]:
    """Points round a circle; with 4000 the chords leave it by 3e-7 of the radius."""
    angle = np.arange(count) * 2 * np.pi / count
    return np.stack([x + radius * np.cos(angle), y + radius * np.sin(angle)], axis=1)


def star(x: float, y: float, outer: float, inner: float, tips: int, turn_rad: float) -> NDArray[np.float64]:
    """Corners of a star."""
    angle = turn_rad + np.arange(2 * tips) * np.pi / tips
    radius = np.where(np.arange(2 * tips) % 2, inner, outer)
    return np.stack([x + radius * np.cos(angle), y + radius * np.sin(angle)], axis=1)


def box(x: float, y: float, width: float, height: float, turn_rad: float = 0.0) -> NDArray[np.float64]:
    """Corners of a rectangle round its middle, turned."""
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * [width / 2, height / 2]
    cos, sin = np.cos(turn_rad), np.sin(turn_rad)
    return corners @ np.array([[cos, sin], [-sin, cos]]) + [x, y]
