"""Which loop of cubic pieces lies in which, told on the curves themselves.

From the first point of a loop a ray is followed to the right; the loop lies in those that the ray crosses an
odd number of times. A piece wholly to the right crosses it as often, odd or even, as the chord between its
ends does; only pieces that the ray may start in are cut up.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.tracing.cubic import point_at

Pieces = NDArray[np.float64]
Indices = NDArray[np.int64]

CHORDS = 32  # of a piece that a ray starts beside: leaves less than a thousandth of its bend


@njit(cache=True)
def nested_loops(pieces: Pieces, starts: Indices) -> tuple[Indices, Indices]:
    """Return pairs of loops, the first of each in the second, in order.

    Args:
        pieces: Cubic pieces of loops that do not cross (n, 4, 2).
        starts: Where each loop starts, and the end of the last (m + 1).
    """
    loops = len(starts) - 1
    boxes = np.empty((loops, 4))
    for loop in range(loops):
        whole = pieces[starts[loop] : starts[loop + 1]]
        boxes[loop, 0], boxes[loop, 1] = whole[:, :, 0].min(), whole[:, :, 1].min()
        boxes[loop, 2], boxes[loop, 3] = whole[:, :, 0].max(), whole[:, :, 1].max()
    inside, around = [0 for _ in range(0)], [0 for _ in range(0)]
    for loop in range(loops):
        x, y = pieces[starts[loop], 0]
        for other in range(loops):
            box = boxes[other]
            if loop == other or not (box[0] <= x <= box[2] and box[1] <= y <= box[3]):
                continue
            if _lies_in(pieces[starts[other] : starts[other + 1]], x, y):
                inside.append(loop)
                around.append(other)
    return np.array(inside, np.int64), np.array(around, np.int64)


@njit(cache=True)
def _lies_in(loop: Pieces, x: float, y: float) -> bool:
    """Return whether a loop crosses the ray to the right of a place an odd number of times."""
    is_inside = False
    for k in range(len(loop)):
        piece = loop[k]
        a, b, c, d = piece[0, 0], piece[1, 0], piece[2, 0], piece[3, 0]
        if max(a, b, c, d) < x:
            continue
        if min(a, b, c, d) > x:
            is_inside ^= (piece[0, 1] > y) != (piece[3, 1] > y)
            continue
        before_x, before_y = piece[0, 0], piece[0, 1]
        for step in range(1, CHORDS + 1):
            on_x, on_y = point_at(piece, step / CHORDS) if step < CHORDS else (piece[3, 0], piece[3, 1])
            if (before_y > y) != (on_y > y):
                is_inside ^= before_x + (y - before_y) / (on_y - before_y) * (on_x - before_x) > x
            before_x, before_y = on_x, on_y
    return is_inside
