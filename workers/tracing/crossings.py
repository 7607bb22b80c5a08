"""Which fitted pieces cross themselves or others.

Nearly all pairs of pieces are told apart without looking along them: pieces far from each other share no cell
of a grid; a straight line parts the control points of two, and with them the curves; one whose control points
go forward without turning back cannot meet itself; two of them that join lie before and behind their joint.
Only what is left is cut into chords.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.tracing.cubic import point_at

Points = NDArray[np.float64]
Indices = NDArray[np.int32]
Marks = NDArray[np.bool_]

CHORDS_WITHIN_PX = 0.005
CELL_PX = 24.0


def crossing_pieces(controls: Points, starts: Indices) -> Marks:
    """Return for each piece whether it crosses itself or another one.

    Args:
        controls: Cubic pieces of closed loops (n, 4, 2), px.
        starts: Where each loop starts, and the end of the last (m + 1).
    """
    return crossing_among(controls, following(starts), CELL_PX)


def following(starts: Indices) -> Indices:
    """Return which point or piece of closed loops comes after each (n); ``starts`` as above."""
    nexts = np.arange(1, starts[-1] + 1, dtype=np.int32)
    nexts[starts[1:] - 1] = starts[:-1]
    return nexts


def crossing_among(controls: Points, nexts: Indices, cell_px: float) -> Marks:
    """Return for each piece whether it crosses itself or another one.

    Args:
        controls: Cubic pieces (n, 4, 2), px.
        nexts: Which piece begins where each ends; itself where none does.
        cell_px: Of the grid in which pieces near each other are looked for: about the length of most.
    """
    crossed = np.zeros(len(controls), np.bool_)
    if len(controls):
        _mark_neighbours(controls, nexts, crossed)
        _mark_others(controls, nexts, crossed, cell_px)
    return crossed


@njit(cache=True)
def _mark_neighbours(controls: Points, nexts: Indices, crossed: Marks) -> None:
    """Mark pieces that cross themselves or the one that they join."""
    for k in range(len(controls)):
        piece, following = controls[k], controls[nexts[k]]
        if not _goes_forward(piece) and _meet(piece, piece, True):
            crossed[k] = True
        if nexts[k] != k and not _lie_before_and_behind(piece, following) and _meet(piece, following, False):
            crossed[k] = crossed[nexts[k]] = True


@njit(cache=True)
def _goes_forward(piece: Points) -> bool:
    """Return whether all three legs of the control points lead the way of the chord."""
    x, y = piece[3, 0] - piece[0, 0], piece[3, 1] - piece[0, 1]
    for k in range(3):
        if (piece[k + 1, 0] - piece[k, 0]) * x + (piece[k + 1, 1] - piece[k, 1]) * y <= 0.0:
            return False
    return True


@njit(cache=True)
def _lie_before_and_behind(piece: Points, following: Points) -> bool:
    """Return whether a line through the joint of two pieces parts them."""
    ax, ay = piece[3, 0] - piece[2, 0], piece[3, 1] - piece[2, 1]
    bx, by = following[1, 0] - following[0, 0], following[1, 1] - following[0, 1]
    a, b = math.sqrt(ax * ax + ay * ay), math.sqrt(bx * bx + by * by)
    x, y = ax * b + bx * a, ay * b + by * a
    for k in range(3):
        if (piece[k, 0] - piece[3, 0]) * x + (piece[k, 1] - piece[3, 1]) * y >= 0.0:
            return False
        if (following[k + 1, 0] - piece[3, 0]) * x + (following[k + 1, 1] - piece[3, 1]) * y <= 0.0:
            return False
    return True


@njit(cache=True)
def _mark_others(controls: Points, nexts: Indices, crossed: Marks, cell_px: float) -> None:
    """Mark pieces that cross others that they do not join."""
    owners, boxes = _parts(controls, cell_px)
    low_x, low_y = boxes[:, 0].min(), boxes[:, 1].min()
    columns, rows = (
        int((boxes[:, 2].max() - low_x) / cell_px) + 1,
        int((boxes[:, 3].max() - low_y) / cell_px) + 1,
    )
    firsts = np.full(rows * columns, -1, np.int32)  # by cell, the last entry, which leads to the one before
    members, befores = np.empty(4 * len(owners), np.int32), np.empty(4 * len(owners), np.int32)
    count = 0
    for part in range(len(owners)):
        box = boxes[part]
        left, right = int((box[0] - low_x) / cell_px), int((box[2] - low_x) / cell_px)
        top, bottom = int((box[1] - low_y) / cell_px), int((box[3] - low_y) / cell_px)
        for row in range(top, bottom + 1):
            for column in range(left, right + 1):
                cell = row * columns + column
                entry = firsts[cell]
                while entry >= 0:
                    if _overlap(box, boxes[members[entry]]):
                        _mark_if_crossing(controls, nexts, owners[part], owners[members[entry]], crossed)
                    entry = befores[entry]
                if count == len(members):
                    members = np.concatenate((members, np.empty_like(members)))
                    befores = np.concatenate((befores, np.empty_like(befores)))
                members[count], befores[count] = part, firsts[cell]
                firsts[cell] = count
                count += 1


@njit(cache=True)
def _parts(controls: Points, cell_px: float) -> tuple[Indices, Points]:
    """Cut pieces into parts that are no longer than a cell; return the piece and the box of each part."""
    counts = np.empty(len(controls), np.int32)
    for k in range(len(controls)):
        piece = controls[k]
        size = 0.0
        for axis in range(2):
            a, b, c, d = piece[0, axis], piece[1, axis], piece[2, axis], piece[3, axis]
            size = max(size, max(a, b, c, d) - min(a, b, c, d))
        counts[k] = max(math.ceil(size / cell_px), 1)
    owners, boxes = np.empty(counts.sum(), np.int32), np.empty((counts.sum(), 4))
    at = 0
    for k in range(len(controls)):
        piece, parts = controls[k], counts[k]
        margin = _bend(piece) * 6 / (8 * parts * parts)  # by which the curve may leave the chord of a part
        x, y = piece[0, 0], piece[0, 1]
        for part in range(1, parts + 1):
            on_x, on_y = point_at(piece, part / parts)
            boxes[at, 0], boxes[at, 1] = min(x, on_x) - margin, min(y, on_y) - margin
            boxes[at, 2], boxes[at, 3] = max(x, on_x) + margin, max(y, on_y) + margin
            owners[at] = k
            at += 1
            x, y = on_x, on_y
    return owners, boxes


@njit(cache=True)
def _bend(piece: Points) -> float:
    """Return a sixth of the largest second derivative of a cubic, which lies at one of its ends."""
    ax, ay = piece[0, 0] - 2 * piece[1, 0] + piece[2, 0], piece[0, 1] - 2 * piece[1, 1] + piece[2, 1]
    bx, by = piece[1, 0] - 2 * piece[2, 0] + piece[3, 0], piece[1, 1] - 2 * piece[2, 1] + piece[3, 1]
    return math.sqrt(max(ax * ax + ay * ay, bx * bx + by * by))


@njit(cache=True)
def _overlap(one: Points, other: Points) -> bool:
    """Return whether two boxes have a place in common."""
    return bool(one[0] <= other[2] and other[0] <= one[2] and one[1] <= other[3] and other[1] <= one[3])


@njit(cache=True)
def _mark_if_crossing(controls: Points, nexts: Indices, a: int, b: int, crossed: Marks) -> None:
    """Mark two pieces that do not join, if they cross."""
    if a == b or nexts[a] == b or nexts[b] == a or (crossed[a] and crossed[b]):
        return
    one, other = controls[a], controls[b]
    if not _parts_them(one, one, other) and not _parts_them(other, one, other) and _meet(one, other, False):
        crossed[a] = crossed[b] = True


@njit(cache=True)
def _parts_them(chord: Points, one: Points, other: Points) -> bool:
    """Return whether a line along the chord of a piece has two pieces' control points on different sides."""
    x, y = chord[3, 0] - chord[0, 0], chord[3, 1] - chord[0, 1]
    least_one = least_other = math.inf
    most_one = most_other = -math.inf
    for k in range(4):
        aside = one[k, 1] * x - one[k, 0] * y
        least_one, most_one = min(least_one, aside), max(most_one, aside)
        aside = other[k, 1] * x - other[k, 0] * y
        least_other, most_other = min(least_other, aside), max(most_other, aside)
    return most_one < least_other or most_other < least_one


@njit(cache=True)
def _meet(one: Points, other: Points, is_same: bool) -> bool:
    """Return whether two pieces, or a piece and itself, meet anywhere but at ends that they share."""
    ours, theirs = _chords(one), _chords(other)
    for i in range(len(ours) - 1):
        for j in range(i + 1 if is_same else 0, len(theirs) - 1):
            if _cross(ours[i : i + 2], theirs[j : j + 2]):
                return True
    return False


@njit(cache=True)
def _chords(piece: Points) -> Points:
    """Return points along a piece whose chords it does not leave, by the bound on linear interpolation."""
    steps = max(math.ceil(math.sqrt(6 * _bend(piece) / (8 * CHORDS_WITHIN_PX))), 1)
    points = np.empty((steps + 1, 2), np.float64)
    for step in range(steps):
        points[step, 0], points[step, 1] = point_at(piece, step / steps)
    points[steps] = piece[3]  # pieces that join share their end to the last bit
    return points


@njit(cache=True)
def _cross(first: Points, second: Points) -> bool:
    """Return whether two chords meet anywhere but at an end that they share."""
    a, b, c, d = first[0], first[1], second[0], second[1]
    if _is_same(b, c):
        return _is_same(a, d) or _doubles_back(b, a, d)
    if _is_same(a, d):
        return _doubles_back(a, b, c)
    for axis in range(2):
        if max(a[axis], b[axis]) < min(c[axis], d[axis]) or max(c[axis], d[axis]) < min(a[axis], b[axis]):
            return False
    return _side(a, b, c) * _side(a, b, d) <= 0.0 and _side(c, d, a) * _side(c, d, b) <= 0.0


@njit(cache=True)
def _side(a: Points, b: Points, c: Points) -> float:
    """Return twice the area of the triangle, positive if it turns left."""
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


@njit(cache=True)
def _is_same(a: Points, b: Points) -> bool:
    return bool(a[0] == b[0] and a[1] == b[1])


@njit(cache=True)
def _doubles_back(joint: Points, one: Points, other: Points) -> bool:
    """Return whether two chords that share an end lie on each other."""
    along = (one[0] - joint[0]) * (other[0] - joint[0]) + (one[1] - joint[1]) * (other[1] - joint[1])
    return _side(joint, one, other) == 0.0 and along > 0.0
