"""Points of a mesh moved onto the creases of the surface, and sides between triangles turned along them.

A grid knows nothing of where a wall meets the face, so slanted edges come out as stairs. Each point near a
crease goes to where the planes round it meet: the place whose distances to all of them are least. Beside one
plane it stays, along a crease it moves across it, in a corner it goes to the tip.

Source: the quadric error of planes: T. Ju, F. Losasso, S. Schaefer, J. Warren, Dual contouring of Hermite
data, ACM Transactions on Graphics 21 (2002), 3.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.preview.levels import depth_between
from workers.values.height_field import HeightField

Floats = NDArray[np.float32]
Integers = NDArray[np.uint32]
Truths = NDArray[np.bool_]

_NEAR, _FAR = 0.75, 1.25  # of the shortest side at a point, where it looks round
_DIRECTIONS = 8
_ONE_PLANE = 0.05  # the slope's change from one side of a cell to the other, within a plane
_LEAST_BEND = 0.004  # of the normals' scatter, below which they are one wall
_HOLD = 0.005  # how strongly a point keeps its place, beside one plane's pull
_MOST_MOVE = 0.45  # of the shortest side
_MOST_ALONG = 0.52  # of it, along the axis that the crease crosses: of two neighbours at least one goes
_ROUNDS = 4
_LEAST_GAIN_MM = 0.005  # in the middle of a side, for it to be turned
_SLIVER_MM2 = 1e-5  # twice the area of triangles that look nowhere


def along_creases(
    points_mm: Floats, triangles: Integers, may_move: Truths, field: HeightField
) -> tuple[Floats, Integers]:
    """Return points and triangles, as many as before, with sides along the creases; none is turned over.

    Args:
        points_mm: Of a grid (n, 3), z upwards, from the field's lower left corner on.
        triangles: Over them (m, 3), anticlockwise seen from above.
        may_move: Whether a point may move (n,).
        field: What they follow.
    """
    room_mm = _shortest_sides(points_mm, triangles)
    movable = np.flatnonzero(may_move & np.isfinite(room_mm))
    moved_mm = points_mm.copy()
    moved_mm[movable] = _meeting_points(points_mm[movable], room_mm[movable], field.depth_mm, field.cell_mm)
    put_back(moved_mm, points_mm, triangles)
    return moved_mm, _turned(triangles, moved_mm, (moved_mm != points_mm).any(axis=1), field)


def _turned(triangles: Integers, points_mm: Floats, moved: Truths, field: HeightField) -> Integers:
    """The triangles, sides near moved points turned where the other diagonal is nearer to the surface."""
    turned = triangles.copy()
    near = np.flatnonzero(moved[triangles].any(axis=1))
    for _ in range(_ROUNDS):
        one, two, sides = _pairs(turned, near, moved)
        gain = _gains_mm(points_mm, sides, field.depth_mm, field.cell_mm)
        best = np.zeros(len(turned), dtype=np.float32)
        np.maximum.at(best, one, gain)
        np.maximum.at(best, two, gain)
        first = (gain > _LEAST_GAIN_MM) & (gain == best[one]) & (gain == best[two])
        if not first.any():
            break
        turned[one[first]], turned[two[first]] = sides[first][:, [0, 2, 3]], sides[first][:, [2, 1, 3]]
    return turned


def _pairs(
    triangles: Integers, chosen: NDArray[np.intp], moved: Truths
) -> tuple[NDArray[np.intp], NDArray[np.intp], Integers]:
    """Pairs of triangles with a side in common that may have to be turned.

    That is where both corners beside it lie on a crease, or one and its two ends.

    Returns:
        Their numbers, and (n, 4) the side's ends, the corner on its right and the one on its left.
    """
    corners = triangles[chosen]
    start, end, third = (
        np.concatenate([corners[:, (turn + corner) % 3] for turn in range(3)]) for corner in range(3)
    )
    key = np.minimum(start, end).astype(np.int64) << 32 | np.maximum(start, end)
    order = np.argsort(key, kind="stable")
    first = np.flatnonzero(key[order][1:] == key[order][:-1])
    left, right = order[first], order[first + 1]
    beside = moved[third[left]].astype(np.int8) + moved[third[right]]
    wanted = (beside == 2) | ((beside == 1) & moved[start[left]] & moved[end[left]])
    left, right = left[wanted], right[wanted]
    number = np.tile(chosen, 3)
    return number[left], number[right], np.column_stack((start[left], end[left], third[right], third[left]))


@njit(cache=True, nogil=True)
def _shortest_sides(points_mm: Any, triangles: Any) -> Any:
    """For each point the shortest side that ends there; infinite where none does."""
    shortest = np.full(len(points_mm), np.inf, dtype=np.float32)
    for triangle in triangles:
        for corner in range(3):
            one, two = triangle[corner], triangle[(corner + 1) % 3]
            across, up = points_mm[two, 0] - points_mm[one, 0], points_mm[two, 1] - points_mm[one, 1]
            length = math.sqrt(across**2 + up**2)
            shortest[one] = min(shortest[one], length)
            shortest[two] = min(shortest[two], length)
    return shortest


@njit(cache=True, nogil=True)
def put_back(moved_mm: Any, points_mm: Any, triangles: Any) -> None:
    """Take back moves until no triangle is turned over, the farthest of a triangle's first.

    Args:
        moved_mm: Points (n, 3); changed.
        points_mm: Where they were, no triangle turned over.
        triangles: (m, 3) over them, anticlockwise seen from above.
    """
    is_over = True
    while is_over:
        is_over = False
        for triangle in triangles:
            if _twice_area(moved_mm, triangle) >= -_SLIVER_MM2:
                continue
            farthest, most = triangle[0], 0.0
            for corner in triangle:
                across, up = (
                    moved_mm[corner, 0] - points_mm[corner, 0],
                    moved_mm[corner, 1] - points_mm[corner, 1],
                )
                if across**2 + up**2 > most:
                    farthest, most = corner, across**2 + up**2
            is_over |= most > 0
            moved_mm[farthest] = points_mm[farthest]


@njit(cache=True, nogil=True)
def _twice_area(points_mm: Any, triangle: Any) -> Any:
    """Twice the area of a triangle seen from above, negative when it is turned over."""
    one, two, three = triangle
    across, up = points_mm[two, 0] - points_mm[one, 0], points_mm[two, 1] - points_mm[one, 1]
    return across * (points_mm[three, 1] - points_mm[one, 1]) - up * (points_mm[three, 0] - points_mm[one, 0])


@njit(cache=True, nogil=True)
def _gains_mm(points_mm: Any, sides: Any, cells_mm: Any, cell_mm: float) -> Any:
    """How much nearer to the surface the other diagonal is; large where the present one makes a sliver."""
    gains = np.zeros(len(sides), dtype=np.float32)
    for number in range(len(sides)):
        start, end, right, left = sides[number]
        after = min(_twice_area(points_mm, (start, right, left)), _twice_area(points_mm, (right, end, left)))
        if after <= _SLIVER_MM2:
            continue
        before = min(_twice_area(points_mm, (start, end, left)), _twice_area(points_mm, (end, start, right)))
        off = _off_surface_mm(points_mm[start], points_mm[end], cells_mm, cell_mm)
        gains[number] = off - _off_surface_mm(points_mm[left], points_mm[right], cells_mm, cell_mm)
        if before < _SLIVER_MM2:
            gains[number] += 1
    return gains


@njit(cache=True, nogil=True)
def _off_surface_mm(start_mm: Any, end_mm: Any, cells_mm: Any, cell_mm: float) -> Any:
    """How far the middle of a line lies above or below the surface."""
    x = max((start_mm[0] + end_mm[0]) / (2 * cell_mm) - 0.5, 0.0)
    y = max((start_mm[1] + end_mm[1]) / (2 * cell_mm) - 0.5, 0.0)
    return abs((start_mm[2] + end_mm[2]) / 2 + depth_between(cells_mm, x, y))


@njit(cache=True, nogil=True)
def _meeting_points(points_mm: Any, room_mm: Any, cells_mm: Any, cell_mm: float) -> Any:
    """Each point, or where the planes round it meet if they bend and that is near."""
    moved = points_mm.copy()
    for number in range(len(points_mm)):
        room = room_mm[number]
        weights, mean, pulls, target = _quadric(points_mm[number], room, cells_mm, cell_mm)
        x, y, z = mean
        if x**2 + y**2 + z**2 > (1 - _LEAST_BEND) * weights**2:
            continue
        hold = _HOLD * weights
        across, up, rise = _solution(pulls, hold, target)
        xx, xy, xz, yy, yz, zz = pulls
        left = (
            target[0] - xx * across - xy * up - xz * rise,
            target[1] - xy * across - yy * up - yz * rise,
            target[2] - xz * across - yz * up - zz * rise,
        )  # the hold kept it from going all the way: once more from there
        more_across, more_up, more_rise = _solution(pulls, hold, left)
        across, up, rise = across + more_across, up + more_up, rise + more_rise
        far = math.sqrt(across**2 + up**2)
        if far < _MOST_MOVE * room or far**2 < _MOST_ALONG * room * max(abs(across), abs(up)):
            moved[number, 0] += across
            moved[number, 1] += up
            moved[number, 2] = min(moved[number, 2] + rise, 0.0)
    return moved


@njit(cache=True, nogil=True)
def _quadric(point_mm: Any, room_mm: float, cells_mm: Any, cell_mm: float) -> Any:
    """Sums over the planes round a point: of weights, n, n n^T (its upper half) and n times the distance."""
    weights = x = y = z = xx = xy = xz = yy = yz = zz = far_x = far_y = far_z = 0.0
    for look in range(2 * _DIRECTIONS):
        reach = (_NEAR if look % 2 else _FAR) * room_mm
        turn = math.pi * look / _DIRECTIONS
        column = int((point_mm[0] + reach * math.cos(turn)) / cell_mm)
        row = int((point_mm[1] + reach * math.sin(turn)) / cell_mm)
        column = min(max(column, 1), cells_mm.shape[1] - 2)
        row = min(max(row, 1), cells_mm.shape[0] - 2)
        here = cells_mm[row, column]
        left, right = here - cells_mm[row, column - 1], cells_mm[row, column + 1] - here
        below, above = here - cells_mm[row - 1, column], cells_mm[row + 1, column] - here
        bend = (abs(right - left) + abs(above - below)) / (cell_mm * _ONE_PLANE)
        weight = 1 / (1 + bend**2) ** 2
        slope_x, slope_y = (left + right) / (2 * cell_mm), (below + above) / (2 * cell_mm)
        length = math.sqrt(slope_x**2 + slope_y**2 + 1)
        to_x, to_y, to_z = slope_x / length, slope_y / length, 1 / length
        far = weight * (
            to_x * ((column + 0.5) * cell_mm - point_mm[0])
            + to_y * ((row + 0.5) * cell_mm - point_mm[1])
            - to_z * (here + point_mm[2])
        )
        weights += weight
        x, y, z = x + weight * to_x, y + weight * to_y, z + weight * to_z
        xx, xy, xz = xx + weight * to_x * to_x, xy + weight * to_x * to_y, xz + weight * to_x * to_z
        yy, yz, zz = yy + weight * to_y * to_y, yz + weight * to_y * to_z, zz + weight * to_z * to_z
        far_x, far_y, far_z = far_x + far * to_x, far_y + far * to_y, far_z + far * to_z
    return weights, (x, y, z), (xx, xy, xz, yy, yz, zz), (far_x, far_y, far_z)


@njit(cache=True, nogil=True)
def _solution(pulls: Any, hold: float, target: Any) -> Any:
    """The way that three equations ask for, by Cramer's rule."""
    xx, xy, xz, yy, yz, zz = pulls
    xx, yy, zz = xx + hold, yy + hold, zz + hold
    x, y, z = target
    one, two, three = yy * zz - yz * yz, xz * yz - xy * zz, xy * yz - xz * yy
    four, five, six = xx * zz - xz * xz, xy * xz - xx * yz, xx * yy - xy * xy
    whole = xx * one + xy * two + xz * three
    return (
        (one * x + two * y + three * z) / whole,
        (two * x + four * y + five * z) / whole,
        (three * x + five * y + six * z) / whole,
    )
