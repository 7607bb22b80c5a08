"""Points of an edge moved until their polygon covers each pixel as much as the picture says.

Between two pixel centres four tones tell where a long edge passes. At the end of a line, in a tip, along a
line thinner than two pixels they do not: there the level half-way between ink and paper cuts off what
covers no pixel by half. What the picture does say everywhere is how much of each pixel is ink. So the
polygon's own share of each pixel is worked out exactly, and its points move along their normals by what is
missing, over the length of edge that the pixel holds. A few rounds do; most points do not move at all.

This rests on tones being areas, so it is for crisp pictures alone. Figures are kept for tiles of pixels near
the edge alone, and only what has moved is worked out anew: a large picture is nearly all empty.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.tracing.crossings import crossing_among, following

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
TILE_BITS = 2
TILE_PX = 1 << TILE_BITS  # tiles without any edge are passed over
CELL_PX = 4.0  # in which sides that cross are looked for; they are about 1 px long
NO_LENGTH_PX = 1e-4  # what rounding leaves of sides that have gone elsewhere


def moved_to_area(points: Points, starts: Indices, pixels: Pixels) -> Points:
    """Return the points moved so that the polygon's area in each pixel is that of the picture.

    Args:
        points: Points of closed loops that do not cross (n, 2), px; ink on the left as seen on the page.
        starts: Where each loop starts, and the end of the last (m + 1).
        pixels: Coverage, 0 ink to 255 paper (rows, columns).
    """
    tiles, nexts = _tiles(points, *pixels.shape), following(starts)
    numbers = _numbered(tiles)
    areas, lengths, steps = np.zeros((3, int(tiles.sum()) * TILE_PX**2), np.float32)
    is_changed, is_new = np.ones(len(points), np.bool_), np.ones(len(tiles), np.bool_)
    _cover(points, nexts, is_changed, 1.0, numbers, areas, lengths, is_new)
    moved = points
    for _ in range(ROUNDS):
        _find_steps(pixels, numbers, areas, lengths, is_new, steps)
        before, moved = moved, _moved(moved, points, starts, numbers, steps, is_changed)
        is_new[:] = False
        if is_changed.sum() * 2 < len(points):
            _cover(before, nexts, is_changed, -1.0, numbers, areas, lengths, is_new)
        else:
            areas[:], lengths[:], is_changed[:] = 0.0, 0.0, True
        _cover(moved, nexts, is_changed, 1.0, numbers, areas, lengths, is_new)
    return _uncrossed(moved, points, nexts, *pixels.shape)


def _tiles(points: Points, rows: int, columns: int) -> Marks:
    """Return which tiles hold one of some points, or lie beside one that does; one more on all sides."""
    tiles = np.zeros((rows // TILE_PX + 3, columns // TILE_PX + 3), np.bool_)
    row, column = _tile_of(points)
    tiles[row, column] = True
    tiles[1:] |= tiles[:-1]
    tiles[:-1] |= tiles[1:]
    tiles[:, 1:] |= tiles[:, :-1]
    tiles[:, :-1] |= tiles[:, 1:]
    return tiles


def _tile_of(points: Points) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return in which row and column of tiles points lie."""
    return points[:, 1].astype(np.int64) // TILE_PX + 1, points[:, 0].astype(np.int64) // TILE_PX + 1


def _numbered(tiles: Marks) -> Indices:
    """Return the number of each marked tile, row after row, and -1 for others."""
    return np.where(tiles, np.cumsum(tiles).reshape(tiles.shape) - 1, -1).astype(np.int32)


def _uncrossed(moved: Points, home: Points, nexts: Indices, rows: int, columns: int) -> Points:
    """Return the moved points, those near a crossing back where they stood; there they never crossed."""
    is_off = (moved != home).any(axis=1)
    if not is_off.any():
        return moved
    tiles = _tiles(home[is_off], rows, columns)
    is_near = tiles[_tile_of(home)]
    near = np.flatnonzero(is_near)  # sides that begin there; others meet nothing that has moved
    place = np.cumsum(is_near) - 1
    joined = np.where(is_near[nexts[near]], place[nexts[near]], np.arange(len(near))).astype(np.int32)
    for _ in range(REVERTS):
        begin, end = moved[near], moved[nexts[near]]
        third = (end - begin) / 3
        crossed = crossing_among(np.stack([begin, begin + third, end - third, end], axis=1), joined, CELL_PX)
        if not crossed.any():
            return moved
        moved = moved.copy()
        for shift in range(-REVERTED, REVERTED + 2):
            back = (near[crossed] + shift) % len(moved)
            moved[back] = home[back]
    return home


@njit(cache=True)
def _pixel(numbers: Indices, row: int, column: int) -> int:
    """Return where a pixel's figures stand, -1 where there are none; pixels of a tile stand together."""
    tile = _tile(numbers, row, column)
    inside = ((row & (TILE_PX - 1)) << TILE_BITS) + (column & (TILE_PX - 1))
    return tile if tile < 0 else (tile << 2 * TILE_BITS) + inside


@njit(cache=True)
def _tile(numbers: Indices, row: int, column: int) -> int:
    """Return the number of the tile that a pixel is in."""
    return int(numbers[np.uint64((row >> TILE_BITS) + 1), np.uint64((column >> TILE_BITS) + 1)])


@njit(cache=True)
def _cover(
    points: Points,
    nexts: Indices,
    is_changed: Marks,
    sign: float,
    numbers: Indices,
    areas: Areas,
    lengths: Areas,
    is_new: Marks,
) -> None:
    """Add, or take away, what sides with a changed end are to the pixels that they pass.

    That is the change of signed area along each row, and the length of edge; rows of tiles where that
    changes are marked.
    """
    for i in range(len(points)):
        j = nexts[i]
        if not is_changed[i] and not is_changed[j]:
            continue
        x, y = points[i, 0], points[i, 1]
        dx, dy = points[j, 0] - x, points[j, 1] - y
        length = math.sqrt(dx * dx + dy * dy)
        t = 0.0
        while t < 1.0 and length > 0.0:
            column, row, leaving = _leaves(x, y, dx, dy, t)
            at, beside = _pixel(numbers, row, column), _pixel(numbers, row, column + 1)
            if at >= 0 and beside >= 0:
                right = x + dx * (t + leaving) / 2 - column
                change = sign * dy * (leaving - t)
                areas[at] += change * (1.0 - right)
                areas[beside] += change * right
                lengths[at] += sign * length * (leaving - t)
                is_new[(row >> TILE_BITS) + 1] = True
            t = leaving


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
def _find_steps(
    pixels: Pixels, numbers: Indices, areas: Areas, lengths: Areas, is_new: Marks, steps: Areas
) -> None:
    """Write down how far the edge in each pixel must move outwards, in rows of tiles that are marked."""
    rows, columns = pixels.shape
    for band in range(1, len(numbers) - 1):
        if not is_new[band]:
            continue
        marked = np.flatnonzero(numbers[band, 1:] >= 0)
        for row in range((band - 1) * TILE_PX, min(band * TILE_PX, rows)):
            covered = 0.0
            for tile in marked:
                first = int(tile) << TILE_BITS
                at = _pixel(numbers, row, first)
                for k in range(TILE_PX):
                    covered += areas[at + k]
                    steps[at + k] = 0.0
                    if lengths[at + k] > NO_LENGTH_PX and first + k < columns:
                        lack = (255 - pixels[row, first + k]) / 255.0 - covered
                        if abs(lack) > QUIET:
                            step = lack / max(lengths[at + k], LEAST_LENGTH_PX)
                            steps[at + k] = min(max(step, -LARGEST_STEP_PX), LARGEST_STEP_PX)


@njit(cache=True)
def _moved(
    points: Points, home: Points, starts: Indices, numbers: Indices, steps: Areas, is_moved: Marks
) -> Points:
    """Move each point along its normal by the steps of the pixels beside it, as long as it is in each.

    Also marks the points that moved, and no others.
    """
    moved = points.copy()
    near = _near_steps(numbers, steps)
    for loop in range(len(starts) - 1):
        ring = points[starts[loop] : starts[loop + 1]]
        n = len(ring)
        for i in range(n):
            at = starts[loop] + i
            is_moved[at] = False
            if not near[_tile(numbers, int(home[at, 1]), int(home[at, 0]))]:
                continue
            after, before = ring[i + 1 if i + 1 < n else 0], ring[i - 1]
            ahead, weight_ahead = _half_step(ring[i], after, numbers, steps)
            behind, weight_behind = _half_step(ring[i], before, numbers, steps)
            if ahead == 0.0 and behind == 0.0:
                continue
            step = RELAXED * (ahead + behind) / max(weight_ahead + weight_behind, 1e-12)
            x, y = _tangent(ring, i)
            to_x, to_y = ring[i, 0] - step * y - home[at, 0], ring[i, 1] + step * x - home[at, 1]
            far = max(math.hypot(to_x, to_y) / FARTHEST_PX, 1.0)
            moved[at, 0], moved[at, 1] = home[at, 0] + to_x / far, home[at, 1] + to_y / far
            is_moved[at] = True
    return moved


@njit(cache=True)
def _near_steps(numbers: Indices, steps: Areas) -> Marks:
    """Return for each tile whether it or one beside it has a pixel with a step."""
    near = np.zeros(len(steps) >> 2 * TILE_BITS, np.bool_)
    for row in range(1, len(numbers) - 1):
        for column in range(1, numbers.shape[1] - 1):
            if numbers[row, column] < 0 or not _has_step(steps, numbers[row, column] << 2 * TILE_BITS):
                continue
            for beside_row in range(row - 1, row + 2):
                for beside_column in range(column - 1, column + 2):
                    if numbers[beside_row, beside_column] >= 0:
                        near[numbers[beside_row, beside_column]] = True
    return near


@njit(cache=True)
def _has_step(steps: Areas, first: int) -> bool:
    """Return whether a pixel of the tile whose figures begin there has a step."""
    is_found = False
    for at in range(first, first + (1 << 2 * TILE_BITS)):
        is_found |= steps[at] != 0.0
    return is_found


@njit(cache=True)
def _half_step(point: Points, neighbour: Points, numbers: Indices, steps: Areas) -> tuple[float, float]:
    """Return the steps along a segment, weighted by nearness to its first point, and their weight."""
    x, y = point[0], point[1]
    dx, dy = neighbour[0] - x, neighbour[1] - y
    length = math.sqrt(dx * dx + dy * dy)
    total = weight = t = 0.0
    while t < 1.0 and length > 0.0:
        column, row, following = _leaves(x, y, dx, dy, t)
        at = _pixel(numbers, row, column)
        if at >= 0:
            share = length * (following - t) * (1.0 - (t + following) / 2)
            total += share * steps[at]
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
