"""The longest piece from a point of a run on that follows it within the tolerance, or so.

It is tried to points farther and farther on, then to points between the last that it reached and the first
that it did not. Each trial is a least-squares fit in constant time (least_squares.py) and a look at its
points that ends at the first it misses.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.tracing.cubic import follows, place_straight, shift_along
from workers.tracing.least_squares import add_sums, place_cubic
from workers.tracing.runs import joint, least_share

Points = NDArray[np.float64]
Lengths = NDArray[np.float64]

GROWTH = 1.6
MUCH_TURNED = 0.5  # cosine of 60 degrees
SHIFTS = 3
RESOLUTION = 8  # a piece may end one part in so many before it need


@njit(cache=True)
def place_longest(
    run: Points,
    along: Lengths,
    first: int,
    last: int,
    length: int,
    ends: Points,
    held: Points,
    steps: int,
    tolerance: float,
    piece: Points,
    sums: Points,
) -> int:
    """Fit the longest piece from a point on, or so; return where it ends, and how in ``held``."""
    if least_share(run, first, first + 1) == 0.0:
        place_straight(run, first, first + 1, piece)
        _hold_end(run, along, first + 1, last, length, ends, held)
        return first + 1
    trial = np.empty((4, 2))
    shifted, own_sums = along[length:], sums[length:]
    good, bad, known = first, last + 1, first
    good_x = good_y = 0.0
    at = min(first + steps, last)
    while True:
        known = add_sums(run, along, first, known, at, sums)
        _hold_end(run, along, at, last, length, ends, held)
        place_cubic(run, along, first, at, held, sums, trial)
        within = tolerance * least_share(run, first, at)
        is_near = follows(run, along, first, at, trial, within)
        if not is_near and _turns_much(trial):
            is_near = _follows_when_shifted(run, along, first, at, held, within, trial, shifted, own_sums)
        if is_near:
            good, good_x, good_y = at, held[1, 0], held[1, 1]
            piece[:] = trial
            if at == last:
                break
        else:
            bad = at
        if bad > last:
            at = min(first + 1 + int(GROWTH * (good - first)), last)
        elif bad - good <= 1 + (good - first) // RESOLUTION:
            break
        else:
            at = (good + bad) // 2
    if good == first:  # not even to the next point with these directions
        good = first + 1
        place_straight(run, first, good, piece)
        _hold_end(run, along, good, last, length, ends, held)
    else:
        held[1, 0], held[1, 1] = good_x, good_y
    return good


@njit(cache=True)
def _turns_much(piece: Points) -> bool:
    """Return whether a piece turns so much that its points' shares of the way tell little of their places."""
    ax, ay = piece[1, 0] - piece[0, 0], piece[1, 1] - piece[0, 1]
    bx, by = piece[3, 0] - piece[2, 0], piece[3, 1] - piece[2, 1]
    dot = ax * bx + ay * by
    squares = (ax * ax + ay * ay) * (bx * bx + by * by)
    return bool(dot <= 0.0 or dot * dot < MUCH_TURNED * MUCH_TURNED * squares)


@njit(cache=True)
def _follows_when_shifted(
    run: Points,
    along: Lengths,
    first: int,
    last: int,
    held: Points,
    tolerance: float,
    trial: Points,
    shifted: Lengths,
    sums: Points,
) -> bool:
    """Shift the points to where the piece passes them and fit it anew; return whether it follows then."""
    shifted[first : last + 1] = along[first : last + 1]
    for _ in range(SHIFTS):
        shift_along(run, shifted, first, last, trial)
        add_sums(run, shifted, first, first, last, sums)
        place_cubic(run, shifted, first, last, held, sums, trial)
        if follows(run, shifted, first, last, trial, tolerance):
            return True
    return False


@njit(cache=True)
def _hold_end(
    run: Points, along: Lengths, at: int, last: int, length: int, ends: Points, held: Points
) -> None:
    """Hold the end of a piece that ends at a point: as the whole is held, or by the points beside it."""
    if at == last:
        held[1] = ends[1]
    else:
        x, y = joint(run, along, at, length)
        held[1, 0], held[1, 1] = -x, -y
