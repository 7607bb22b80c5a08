"""The surface that a cone with a flat tip leaves: the depth of its centre, spread by the flat.

With q the flat's radius, d the distance to the outline and k the flank's slope:
``depth(x) = max over |p - x| <= q of min(limit, (d(p) - q) / k)``. On a wall the best p lies
straight away from the outline, where d is q more than at x, and the depth is
``d(x) / k``. Only near the middle line, where the ways from several pieces meet, is it less;
there the best p is looked for on the way up to the middle line, from there on uphill (it
may be inside the flat, where three walls are equally far), and all round the rim.
``d`` between the centres of cells comes from the pieces that are nearest to the cells about.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

_ON_WALL_MM = 5e-4  # so much less than q more counts as q more
_BEND_MM = 2e-3  # of the distance between two walls; an unseen smaller one costs less than that in d
_DIAGONAL = 0.7  # of a step in any direction, the share along the nearer axis is at least this
_ROUND = 8  # first guesses round the rim
_FINE_MM = 0.003  # how closely the best place is sought, up and round the rim
_MOST_STEPS = 100  # uphill; a dozen are usual
_MOST_ABOUT = 64  # pieces looked at for one cell


@njit(cache=True, nogil=True)
def _to_piece(x, y, piece, pieces):  # type: ignore[no-untyped-def]
    """Return the way from the nearest place of a piece to x, y."""
    beside_x, beside_y = x - pieces[piece, 0], y - pieces[piece, 1]
    along_x, along_y = pieces[piece, 2], pieces[piece, 3]
    along = min(max(beside_x * along_x + beside_y * along_y, 0.0), pieces[piece, 4])
    return beside_x - along * along_x, beside_y - along * along_y


@njit(cache=True, nogil=True)
def _gather(row, column, x, y, farthest, wide, nearest, pieces, about):  # type: ignore[no-untyped-def]
    """Put the pieces nearest to the cells about a cell into ``about``, each once; return how many.

    A piece farther from x, y than ``farthest`` is nearest to nothing within the flat.
    """
    rows, columns = nearest.shape
    count = 0
    last = -1
    for down in range(max(row - wide, 0), min(row + wide + 1, rows)):
        for beside in range(max(column - wide, 0), min(column + wide + 1, columns)):
            piece = nearest[down, beside]
            if piece < 0 or piece == last or count == len(about):
                continue
            last = piece
            off_x, off_y = _to_piece(x, y, piece, pieces)
            if off_x * off_x + off_y * off_y > farthest * farthest:
                continue
            known = False
            for place in range(count):
                known = known or about[place] == piece
            if not known:
                about[count] = piece
                count += 1
    return count


@njit(cache=True, nogil=True)
def _distance(x, y, about, inside, frame, pieces, reach):  # type: ignore[no-untyped-def]
    """Distance of a place to the nearest of the pieces about; 0 outside."""
    left, bottom, cell = frame
    row, column = math.floor((y - bottom) / cell), math.floor((x - left) / cell)
    if not (0 <= row < inside.shape[0] and 0 <= column < inside.shape[1] and inside[row, column]):
        return 0.0
    best = reach * reach
    for piece in about:
        off_x, off_y = _to_piece(x, y, piece, pieces)
        best = min(best, off_x * off_x + off_y * off_y)
    return math.sqrt(best)


@njit(cache=True, nogil=True)
def _wall_goes_on(x, y, d, up_x, up_y, q, distance_mm, inside, frame):  # type: ignore[no-untyped-def]
    """Say whether a cell a little beyond q is as far from the outline as the wall alone would make it.

    Past a middle line the distance grows more slowly for good, so one look beyond is enough.
    """
    left, bottom, cell = frame
    column = math.floor((x + (q + cell) * up_x - left) / cell)
    row = math.floor((y + (q + cell) * up_y - bottom) / cell)
    if not (0 <= row < inside.shape[0] and 0 <= column < inside.shape[1] and inside[row, column]):
        return False
    beyond_x, beyond_y = left + (column + 0.5) * cell - x, bottom + (row + 0.5) * cell - y
    return distance_mm[row, column] >= d + beyond_x * up_x + beyond_y * up_y - _ON_WALL_MM


@njit(cache=True, nogil=True)
def _rise(x, y, slack, about, pieces):  # type: ignore[no-untyped-def]
    """Return the direction in which the least of the distances grows most; 0, 0 on a summit.

    It halves the widest angle between the ways from all pieces that are nearest but for the slack.
    """
    least = np.inf
    out_x, out_y = 0.0, 0.0
    for piece in about:
        off_x, off_y = _to_piece(x, y, piece, pieces)
        away = math.hypot(off_x, off_y)
        if away < least:
            least, out_x, out_y = away, off_x, off_y
    right, left = 0.0, 0.0
    for piece in about:
        off_x, off_y = _to_piece(x, y, piece, pieces)
        if off_x * off_x + off_y * off_y <= (least + slack) ** 2:
            turn = math.atan2(out_x * off_y - out_y * off_x, out_x * off_x + out_y * off_y)
            right, left = min(right, turn), max(left, turn)
    if left - right >= math.pi:
        return 0.0, 0.0
    heading = math.atan2(out_y, out_x) + (left + right) / 2
    return math.cos(heading), math.sin(heading)


@njit(cache=True, nogil=True)
def _summit(x, y, from_x, from_y, q, about, inside, frame, pieces, reach):  # type: ignore[no-untyped-def]
    """Return the greatest distance to the outline on the way up from a place, no farther than q from x, y."""
    here_x, here_y, step = from_x, from_y, q / 2
    best = _distance(here_x, here_y, about, inside, frame, pieces, reach)
    for _ in range(_MOST_STEPS):
        if step <= _FINE_MM:
            break
        along_x, along_y = _rise(here_x, here_y, step, about, pieces)
        next_x, next_y = here_x + step * along_x - x, here_y + step * along_y - y
        shrink = min(1.0, q / max(math.hypot(next_x, next_y), 1e-12))
        next_x, next_y = x + shrink * next_x, y + shrink * next_y
        there = _distance(next_x, next_y, about, inside, frame, pieces, reach)
        if there > best:
            here_x, here_y, best = next_x, next_y, there
        else:
            step /= 2
    return best


@njit(cache=True, nogil=True)
def _best_near(x, y, d, up_x, up_y, q, about, inside, frame, pieces, reach):  # type: ignore[no-untyped-def]
    """Return the greatest distance to the outline within q of a place near the middle line."""
    low, high = 0.0, q
    while high - low > _FINE_MM:
        way = (low + high) / 2
        here = _distance(x + way * up_x, y + way * up_y, about, inside, frame, pieces, reach)
        if here >= d + way - _ON_WALL_MM:
            low = way
        else:
            high = way
    best_angle, step, rim = 0.0, 2 * math.pi / _ROUND, -1.0
    for turn in range(_ROUND):
        angle = turn * step
        here = _distance(
            x + q * math.cos(angle), y + q * math.sin(angle), about, inside, frame, pieces, reach
        )
        if here > rim:
            rim, best_angle = here, angle
    while q * step > _FINE_MM:
        step /= 2
        centre = best_angle
        for side in (-1.0, 1.0):
            angle = centre + side * step
            here = _distance(
                x + q * math.cos(angle), y + q * math.sin(angle), about, inside, frame, pieces, reach
            )
            if here > rim:
                rim, best_angle = here, angle
    summit = _summit(x, y, x + low * up_x, y + low * up_y, q, about, inside, frame, pieces, reach)
    return max(rim, summit)


@njit(cache=True, nogil=True)
def _within_flat(distance_mm, row, column, q, cell):  # type: ignore[no-untyped-def]
    """Return the greatest distance among the cells whose centres lie within q."""
    rows, columns = distance_mm.shape
    wide = int(q / cell)
    best = distance_mm[row, column]
    for down in range(-wide, wide + 1):
        half = int(math.sqrt(max((q / cell) ** 2 - down * down, 0.0)))
        if 0 <= row + down < rows:
            for beside in range(max(column - half, 0), min(column + half + 1, columns)):
                best = max(best, distance_mm[row + down, beside])
    return best


@njit(cache=True, nogil=True)
def _best_distance(row, column, q, distance_mm, nearest, inside, frame, pieces, reach, about):  # type: ignore[no-untyped-def]
    """Return the greatest distance to the outline within q of a cell's centre, 0 on the outline."""
    left, bottom, cell = frame
    x, y = left + (column + 0.5) * cell, bottom + (row + 0.5) * cell
    up_x, up_y = _to_piece(x, y, nearest[row, column], pieces)
    d = math.sqrt(up_x * up_x + up_y * up_y)
    if d < 1e-9:
        return 0.0
    up_x, up_y = up_x / d, up_y / d
    if _wall_goes_on(x, y, d, up_x, up_y, q, distance_mm, inside, frame):
        return d + q
    farthest = d + 2 * q + _ON_WALL_MM
    rim_x, rim_y = x + q * up_x, y + q * up_y
    rim_row, rim_column = math.floor((rim_y - bottom) / cell), math.floor((rim_x - left) / cell)
    count = _gather(rim_row, rim_column, x, y, farthest, 1, nearest, pieces, about)
    if _distance(rim_x, rim_y, about[:count], inside, frame, pieces, reach) >= d + q - _ON_WALL_MM:
        return d + q
    wide = math.ceil(q / cell) + 1
    count = _gather(row, column, x, y, farthest, wide, nearest, pieces, about)
    near = _best_near(x, y, d, up_x, up_y, q, about[:count], inside, frame, pieces, reach)
    return max(near, _within_flat(distance_mm, row, column, q, cell))


@njit(cache=True, nogil=True)
def _doubt_row(distance_mm, row, span, doubtful):  # type: ignore[no-untyped-def]
    """Mark the cells of a row about which the distance bends down, or which are near the outline.

    On a wall the distance grows on one side as it falls on the other; a middle line within the
    flat is crossed by one of the two axes within ``span`` cells, and there it bends down.
    """
    rows, columns = distance_mm.shape
    doubtful[:] = 1
    if row < span or row + span >= rows:
        return
    here, above, below = distance_mm[row], distance_mm[row + span], distance_mm[row - span]
    zero, bend = np.float32(0.0), np.float32(-_BEND_MM)
    for column in range(np.int32(span), np.int32(columns - span)):
        right, left = here[column + span], here[column - span]
        twice = here[column] + here[column]
        least = min(min(right, left), min(above[column], below[column]))
        bent = min(right + left, above[column] + below[column]) - twice
        doubtful[column] = (bent < bend) | (least <= zero)


@njit(cache=True, nogil=True)
def _wall_row(surface, distance, steepness, limit):  # type: ignore[no-untyped-def]
    for column in range(np.int32(len(surface))):
        surface[column] = min(limit, distance[column] * steepness)


@njit(cache=True, nogil=True)
def settle_flat(
    surface_mm: NDArray[np.float32],
    distance_mm: NDArray[np.float32],
    nearest: NDArray[np.int32],
    inside: NDArray[np.uint8],
    first_row: int,
    last_row: int,
    frame: tuple[float, float, float],
    pieces: NDArray[np.float64],
    reach_mm: float,
    slope: float,
    tip_radius_mm: float,
    depth_limit_mm: float,
) -> None:
    """Fill rows of the surface.

    Args:
        surface_mm: Filled.
        distance_mm: Distance to the outline where it is within reach, 0 outside.
        nearest: The piece of the outline each distance belongs to.
        inside: 1 inside the area.
        first_row: First row to fill.
        last_row: Row after the last.
        frame: x of the map's left edge, y of its lower edge, side of a cell, mm.
        pieces: (n, 5) start x y, direction x y and length of the outline's pieces.
        reach_mm: Distances from there on are unknown, and on the floor.
        slope: tan of the bit's half angle.
        tip_radius_mm: Of its flat tip.
        depth_limit_mm: Deepest cut.
    """
    about = np.empty(_MOST_ABOUT, np.int32)
    floor_mm = slope * depth_limit_mm + tip_radius_mm
    span = int(tip_radius_mm / (_DIAGONAL * frame[2])) + 1
    doubtful = np.empty(surface_mm.shape[1], np.uint8)
    for row in range(first_row, last_row):
        _doubt_row(distance_mm, row, span, doubtful)
        _wall_row(surface_mm[row], distance_mm[row], np.float32(1 / slope), np.float32(depth_limit_mm))
        for column in range(surface_mm.shape[1]):
            if doubtful[column] and inside[row, column] and distance_mm[row, column] < floor_mm:
                best = _best_distance(
                    row, column, tip_radius_mm, distance_mm, nearest, inside, frame, pieces, reach_mm, about
                )
                surface_mm[row, column] = min(depth_limit_mm, max(best - tip_radius_mm, 0.0) / slope)
