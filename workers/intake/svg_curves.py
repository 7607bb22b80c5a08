"""Areas handed to the general path library, and taken back, curves kept."""

from __future__ import annotations

import numpy as np
import pathops
from numpy.typing import NDArray

from workers.intake.svg_area import Area, Loops, straight

PATH_UNITS_PER_MM = (
    100.0  # the path library works to about half a unit; float32 keeps 0.02 um of a metre's board
)


def to_path(area: Area) -> pathops.Path:
    """Return an area as a path of the path library, in its units."""
    rule = pathops.FillType.EVEN_ODD if area.is_even_odd else pathops.FillType.WINDING
    path = pathops.Path(fillType=rule)
    for loop in area.loops:
        append_pieces(path, loop * PATH_UNITS_PER_MM)
        path.close()
    return path


def append_pieces(path: pathops.Path, pieces: NDArray[np.float64]) -> None:
    """Draw pieces with a path of the path library; lines as lines."""
    thirds = np.stack([(2 * pieces[:, 0] + pieces[:, 3]) / 3, (pieces[:, 0] + 2 * pieces[:, 3]) / 3], axis=1)
    is_straight = np.abs(pieces[:, 1:3] - thirds).max(axis=(1, 2)) < 1e-6
    path.moveTo(*pieces[0, 0])
    for piece, is_line in zip(pieces, is_straight, strict=True):
        if is_line:
            path.lineTo(*piece[3])
        else:
            path.cubicTo(*piece[1:].ravel())


def from_path(path: pathops.Path) -> Loops:
    """Return a path of the path library as closed cubic loops, mm."""
    path.convertConicsToQuads(0.05)
    loops: list[list[NDArray[np.float64]]] = []
    at = np.zeros(2)
    for verb, raw in path:
        points = [np.array(point) / PATH_UNITS_PER_MM for point in raw]
        if verb == pathops.PathVerb.MOVE:
            loops.append([])
        elif points:
            loops[-1].append(_piece(verb, at, points))
        at = points[-1] if points else at
    return tuple(np.array(_closed(loop)) for loop in loops if loop)


def parted(loop: NDArray[np.float64]) -> Loops:
    """Return a loop that passes through a point more than once as loops that do not.

    Args:
        loop: A closed loop, mm, as the path library leaves it where an outline touches itself.
    """
    found: list[NDArray[np.float64]] = []
    open_pieces: list[NDArray[np.float64]] = []
    starts: list[tuple[float, float]] = []
    where: dict[tuple[float, float], int] = {}
    for piece in loop:
        start, end = _corner(piece[0]), _corner(piece[3])
        where[start] = len(open_pieces)
        open_pieces.append(piece)
        starts.append(start)
        if end in where:
            first = where[end]
            found.append(np.array(open_pieces[first:]))
            for gone in starts[first:]:
                where.pop(gone, None)
            del open_pieces[first:], starts[first:]
    return tuple(found) if not open_pieces else (loop,)


def _corner(point: NDArray[np.float64]) -> tuple[float, float]:
    """Return a point as the path library can tell it from others."""
    return round(float(point[0]), 6), round(float(point[1]), 6)


def _closed(loop: list[NDArray[np.float64]]) -> list[NDArray[np.float64]]:
    """Return pieces with a last one back to the start, if that is missing."""
    start, end = loop[0][0], loop[-1][3]
    return loop if np.array_equal(start, end) else [*loop, straight(end, start)]


def _piece(
    verb: pathops.PathVerb, at: NDArray[np.float64], points: list[NDArray[np.float64]]
) -> NDArray[np.float64]:
    """Return a segment as a cubic piece."""
    if verb == pathops.PathVerb.LINE:
        return straight(at, points[0])
    if verb == pathops.PathVerb.QUAD:
        control, end = points
        return np.array([at, at + 2 / 3 * (control - at), end + 2 / 3 * (control - end), end])
    return np.array([at, *points])
