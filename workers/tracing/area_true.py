"""Points of an edge moved until their polygon covers each pixel as much as the picture says.

Between two pixel centres four tones tell where a long edge passes. At the end of a line, in a tip, along a
line thinner than two pixels they do not: there the level half-way between ink and paper cuts off what
covers no pixel by half. What the picture does say everywhere is how much of each pixel is ink. So the
polygon's own share of each pixel is worked out exactly, and its points move along their normals by what is
missing, over the length of edge that the pixel holds. A few rounds do; most points do not move at all.

This rests on tones being areas, so it is for crisp pictures alone.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.tracing.crossings import crossing_pieces

Points = NDArray[np.float64]
Indices = NDArray[np.int32]
Pixels = NDArray[np.uint8]
Areas = NDArray[np.float32]
Marks = NDArray[np.bool_]

ROUNDS = 5
RELAXED = 0.8  # of what is missing, moved by in one round
QUIET = 0.012  # of a pixel: less is what tones of 255 steps and straight sides leave
LEAST_LENGTH_PX = 0.7  # of edge in a pixel; what is missing over less is left to its neighbours
FARTHEST_PX = 1.0  # from where the point stood
LARGEST_STEP_PX = 0.5
LEAST_REACH_PX = 0.6  # of the neighbours that tell a point's normal
REVERTED = 3  # points to either side of a crossing that go back
REVERTS = 5  # then all go back
TILE_PX = 16  # tiles without any edge are passed over


def moved_to_area(points: Points, starts: Indices, pixels: Pixels) -> Points:
    """Return the points moved so that the polygon's area in each pixel is that of the picture.

    Args:
        points: Points of closed loops that do not cross (n, 2), px; ink on the left as seen on the page.
        starts: Where each loop starts, and the end of the last (m + 1).
        pixels: Coverage, 0 ink to 255 paper (rows, columns).
    """
    rows, columns = pixels.shape
    tiles = _tiles(points, rows, columns)
    areas, lengths = np.zeros((rows, columns + 2), np.float32), np.zeros((rows, columns + 2), np.float32)
    moved = points
    for _ in range(ROUNDS):
        _cover(moved, starts, areas, lengths)
        _missing(pixels, tiles, areas, lengths)
        moved = _moved(moved, points, starts, areas)
        _clear(tiles, areas, lengths)
    return _uncrossed(moved, points, starts)


def _tiles(points: Points, rows: int, columns: int) -> Marks:
    """Return which tiles of the picture hold a point of the edge, or lie beside one that does."""
    tiles = np.zeros((rows // TILE_PX + 3, columns // TILE_PX + 3), np.bool_)
    row, column = (points[:, 1] // TILE_PX).astype(int) + 1, (points[:, 0] // TILE_PX).astype(int) + 1
    for down in (-1, 0, 1):
        for across in (-1, 0, 1):
            tiles[row + down, column + across] = True
    return tiles[1:-1, 1:-1].copy()


def _uncrossed(moved: Points, home: Points, starts: Indices) -> Points:
    """Return the moved points, those near a crossing back where they stood; there they never crossed."""
    nexts = np.arange(1, len(moved) + 1)
    nexts[starts[1:] - 1] = starts[:-1]
    for _ in range(REVERTS):
        ends = np.stack([moved, moved[nexts]], axis=1)
        third = (ends[:, 1] - ends[:, 0]) / 3
        pieces = np.stack([ends[:, 0], ends[:, 0] + third, ends[:, 1] - third, ends[:, 1]], axis=1)
        crossed = np.flatnonzero(crossing_pieces(pieces, starts))
        if not len(crossed):
            return moved
        moved = moved.copy()
        for shift in range(-REVERTED, REVERTED + 2):
            back = (crossed + shift) % len(moved)
            moved[back] = home[back]
    return home


@njit(cache=True)
def _cover(points: Points, starts: Indices, areas: Areas, lengths: Areas) -> None:
    """Add, pixel by pixel, the change of signed area along each row and the length of edge."""
    for loop in range(len(starts) - 1):
        first, end = starts[loop], starts[loop + 1]
        for i in range(first, end):
            x, y = points[i, 0], points[i, 1]
            j = i + 1 if i + 1 < end else first
            dx, dy = points[j, 0] - x, points[j, 1] - y
            length = math.sqrt(dx * dx + dy * dy)
            t = 0.0
            while t < 1.0 and length > 0.0:
                column, row, following = _leaves(x, y, dx, dy, t)
                if 0 <= row < areas.shape[0] and 0 <= column < areas.shape[1] - 1:
                    right = x + dx * (t + following) / 2 - column
                    areas[row, column] += dy * (following - t) * (1.0 - right)
                    areas[row, column + 1] += dy * (following - t) * right
                    lengths[row, column] += length * (following - t)
                t = following


@njit(cache=True)
def _leaves(x: float, y: float, dx: float, dy: float, t: float) -> tuple[int, int, float]:
    """Return the pixel that a segment is in just after t, and where it leaves it."""
    column, row = math.floor(x + dx * (t + 1e-9)), math.floor(y + dy * (t + 1e-9))
    following = 1.0
    if dx != 0.0:
        following = min(following, (column + (dx > 0.0) - x) / dx)
    if dy != 0.0:
        following = min(following, (row + (dy > 0.0) - y) / dy)
    return column, row, max(following, t + 1e-7)


@njit(cache=True)
def _missing(pixels: Pixels, tiles: Marks, areas: Areas, lengths: Areas) -> None:
    """Turn changes of area into how far the edge in each pixel must move outwards, in place."""
    for row in range(len(pixels)):
        marked = np.flatnonzero(tiles[row // TILE_PX])
        if not len(marked):
            continue
        covered = 0.0
        for column in range(min((marked[-1] + 1) * TILE_PX, pixels.shape[1])):
            covered += areas[row, column]
            areas[row, column] = 0.0
            if lengths[row, column] > 0.0:
                lack = (255 - pixels[row, column]) / 255.0 - covered
                if abs(lack) > QUIET:
                    step = lack / max(lengths[row, column], LEAST_LENGTH_PX)
                    areas[row, column] = min(max(step, -LARGEST_STEP_PX), LARGEST_STEP_PX)


@njit(cache=True)
def _clear(tiles: Marks, areas: Areas, lengths: Areas) -> None:
    """Set rows of marked tiles, and those next to them, back to nothing."""
    for row in range(len(areas)):
        band = row // TILE_PX
        if tiles[max(band - 1, 0) : band + 2].any():
            areas[row] = 0.0
            lengths[row] = 0.0


@njit(cache=True)
def _moved(points: Points, home: Points, starts: Indices, steps: Areas) -> Points:
    """Move each point along its normal by the steps of the pixels beside it, as long as it is in each."""
    moved = points.copy()
    for loop in range(len(starts) - 1):
        ring = points[starts[loop] : starts[loop + 1]]
        n = len(ring)
        for i in range(n):
            ahead, after = _half_step(ring[i], ring[(i + 1) % n], steps)
            behind, before = _half_step(ring[i], ring[i - 1], steps)
            if ahead == 0.0 and behind == 0.0:
                continue
            step = RELAXED * (ahead + behind) / max(after + before, 1e-12)
            x, y = _tangent(ring, i)
            at = starts[loop] + i
            to_x, to_y = ring[i, 0] - step * y - home[at, 0], ring[i, 1] + step * x - home[at, 1]
            far = max(math.hypot(to_x, to_y) / FARTHEST_PX, 1.0)
            moved[at, 0], moved[at, 1] = home[at, 0] + to_x / far, home[at, 1] + to_y / far
    return moved


@njit(cache=True)
def _half_step(point: Points, neighbour: Points, steps: Areas) -> tuple[float, float]:
    """Return the steps along a segment, weighted by nearness to its first point, and their weight."""
    x, y = point[0], point[1]
    dx, dy = neighbour[0] - x, neighbour[1] - y
    length = math.sqrt(dx * dx + dy * dy)
    total = weight = t = 0.0
    while t < 1.0 and length > 0.0:
        column, row, following = _leaves(x, y, dx, dy, t)
        if 0 <= row < steps.shape[0] and 0 <= column < steps.shape[1] - 1:
            share = length * (following - t) * (1.0 - (t + following) / 2)
            total += share * steps[row, column]
            weight += share
        t = following
    return total, weight


@njit(cache=True)
def _tangent(ring: Points, i: int) -> tuple[float, float]:
    """Return the direction of a loop at a point, from neighbours that are not too near."""
    n = len(ring)
    x = y = 0.0
    for way in (1, -1):
        for k in range(1, min(4, n)):
            dx, dy = ring[(i + way * k) % n, 0] - ring[i, 0], ring[(i + way * k) % n, 1] - ring[i, 1]
            if dx * dx + dy * dy >= LEAST_REACH_PX * LEAST_REACH_PX or k == min(4, n) - 1:
                break
        x, y = x + way * dx, y + way * dy
    size = max(math.hypot(x, y), 1e-12)
    return x / size, y / size
