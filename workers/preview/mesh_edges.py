"""Rims, rounded corners and creases of a triangulated face."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from workers.values.design import Board

Floats = NDArray[np.float32]
Integers = NDArray[np.uint32]
Truths = NDArray[np.bool_]

_LEVEL_SLOPE = 0.12  # below this a triangle belongs to a floor or the face
_SECTORS = 8  # directions of slopes that share a smooth surface


def rim_edges(triangles: Integers, may_be_rim: Truths) -> Integers:
    """Return the edges that have a triangle on their left and none on their right (m, 2).

    Args:
        triangles: Over point numbers.
        may_be_rim: For each point, whether a rim can run through it; the others need not be looked at.
    """
    near = triangles[may_be_rim[triangles].sum(axis=1) > 1]
    edges = np.concatenate((near[:, [0, 1]], near[:, [1, 2]], near[:, [2, 0]])).astype(np.int64)
    edges = edges[may_be_rim[edges].all(axis=1)]
    count = len(may_be_rim)
    there, back = edges[:, 0] * count + edges[:, 1], edges[:, 1] * count + edges[:, 0]
    lonely: Integers = edges[~np.isin(back, there)].astype(np.uint32)
    return lonely


def rounded_points(x_mm: Floats, y_mm: Floats, depth_mm: Floats, board: Board, rim: Integers) -> Floats:
    """Return grid points (n, 3) in mm; those on a rounded corner's rim moved onto the arc."""
    x, y = (part.reshape(-1).copy() for part in np.meshgrid(x_mm, y_mm))
    on_rim = np.unique(rim)
    radius = board.corner_radius_mm
    half = np.array([board.width_mm / 2, board.height_mm / 2])
    from_middle = np.column_stack((x[on_rim], y[on_rim])) - half
    past = np.abs(from_middle) - (half - radius)
    reach = np.linalg.norm(past, axis=1)
    spacing_mm = float(np.hypot(x_mm[1], y_mm[1]))
    on_arc = (past > 0).all(axis=1) & (np.abs(reach - radius) <= spacing_mm) & (reach > 0)
    arc = past[on_arc] * (radius / reach[on_arc])[:, None] + (half - radius)
    x[on_rim[on_arc]], y[on_rim[on_arc]] = (np.copysign(arc, from_middle[on_arc]) + half).T
    return np.column_stack((x, y, 0 - depth_mm.reshape(-1)))


def facet_normals(
    points_mm: Floats, triangles: Integers
) -> tuple[NDArray[np.intp], Floats, Integers, Truths]:
    """Return points with one normal for each surface they are part of, so that creases stay sharp.

    Level triangles are one kind of surface, slopes another for each eighth of the compass.

    Args:
        points_mm: (n, 3).
        triangles: (m, 3) over them.

    Returns:
        For each new point the number of its old one, its normal, and whether it is part of a slope; the
        triangles over new points come third.
    """
    facing = _facing(points_mm, triangles)
    slope = np.hypot(facing[0], facing[1]) > _LEVEL_SLOPE * facing[2]
    turn = np.floor(np.arctan2(facing[1][slope], facing[0][slope]) * (_SECTORS / (2 * np.pi)) + 0.5)
    kind = np.zeros(len(triangles), dtype=np.int64)
    kind[slope] = 1 + turn.astype(np.int64) % _SECTORS
    used, placed = in_use(triangles, len(points_mm))
    keys = placed.astype(np.int64) * (_SECTORS + 1) + kind[:, None]
    found, numbered = in_use(keys, len(used) * (_SECTORS + 1))
    normals = np.stack(
        [
            np.bincount(numbered.reshape(-1), np.repeat(facing[axis], 3), minlength=len(found))
            for axis in range(3)
        ],
        axis=1,
    )
    unit = (normals / np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-12)).astype(np.float32)
    number, kinds = np.divmod(found, _SECTORS + 1)
    return used[number], unit, numbered, kinds > 0


def _facing(points_mm: Floats, triangles: Integers) -> list[Floats]:
    """The three parts of each triangle's vector product: across it, twice as long as its area."""
    one, two, three = (points_mm[triangles[:, corner]].T for corner in range(3))
    first, second = two - one, three - one
    turns = ((1, 2), (2, 0), (0, 1))
    return [first[low] * second[high] - first[high] * second[low] for low, high in turns]


def in_use(numbers: NDArray[Any], count: int) -> tuple[NDArray[np.intp], Integers]:
    """Return which of so many numbers occur, in order, and each number's place among those.

    >>> in_use(np.array([[7, 2], [2, 9]]), 10)[1].tolist()
    [[1, 0], [0, 2]]
    """
    is_used = np.zeros(count, dtype=np.bool_)
    is_used[numbers] = True
    place = np.cumsum(is_used, dtype=np.uint32) - np.uint32(1)
    return np.flatnonzero(is_used), place[numbers]
