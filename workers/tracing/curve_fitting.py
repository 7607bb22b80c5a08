"""Cubic curves along an edge, each as long as the tolerance allows, joined with a common direction.

From one joint a piece is tried to points farther and farther on, then to points between the last that it
reached within the tolerance and the first that it did not. Each trial is a least-squares fit in constant time
(least_squares.py) and a look at its points that ends at the first it misses. Corners end a piece with
directions of their own; long straight stretches are found first, so that curves run into them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.tracing.cubic import follows, is_free, leaves_chord, place_straight, shift_along
from workers.tracing.least_squares import SUMS, add_sums, place_cubic
from workers.tracing.stations import REACH, place_stations
from workers.tracing.straights import SLACK_PX, line_through, set_on_line, straight_stretches

Points = NDArray[np.float64]
Lengths = NDArray[np.float64]
Indices = NDArray[np.int32]

TANGENT_PX = 3.5  # to either side, from which the direction at a joint is taken
FIRST_STEPS = 8  # points that the first piece of a run is tried with
GROWTH = 1.6
MUCH_TURNED = 0.5  # cosine of 60 degrees
SHIFTS = 3
SHARE_IN_NOISE = 0.9  # of the tolerance; the rest is for what lies between the points
SHARE = 0.7  # of a clean edge, which is worth following more closely: thin lines keep their area
RESOLUTION = 8  # a piece may end one part in so many before it need
CLOSED_REACH = 4  # the part of a short loop that its points may be evened out over


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """Cubic pieces of closed loops: ``controls`` (n, 4, 2) in px; loop i is starts[i]:starts[i + 1]."""

    controls: Points
    starts: Indices


def fit_loops(
    points: Points,
    starts: Indices,
    corners: Indices,
    places: Points,
    skipped: int,
    tolerance_px: float,
    noise_px: float = 0.0,
) -> Pieces:
    """Return cubic pieces along closed loops, none farther from the edge than the tolerance.

    Args:
        points: Points of closed loops (n, 2), px.
        starts: Where each loop starts, and the end of the last (m + 1).
        corners: Indices of points at sharp corners, rising (k).
        places: Where those corners really are (k, 2), px.
        skipped: How many points to either side of a corner give way to it.
        tolerance_px: Permitted distance from the points' polygon, or from that of the points
            evened out, px; 0 for the polygon itself.
        noise_px: Standard deviation of the noise that is evened out first, px.

    Source: P. J. Schneider, "An algorithm for automatically fitting digitized curves", Graphics Gems, 1990.
    """
    controls, piece_starts = _fit(points, starts, corners, places, skipped, tolerance_px, noise_px)
    return Pieces(controls, piece_starts)


@njit(cache=True)
def _fit(
    points: Points,
    starts: Indices,
    corners: Indices,
    places: Points,
    skipped: int,
    tolerance: float,
    noise: float,
) -> tuple[Points, Indices]:
    """Fit every loop: all round if it has no corner, else from corner to corner."""
    controls = np.empty((len(points) + 2 * len(corners) + len(starts), 4, 2), np.float64)
    piece_starts = np.zeros(len(starts), np.int32)
    room = 3 + 2 * REACH + (starts[1:] - starts[:-1]).max()
    raw, run, along = np.empty((room, 2)), np.empty((room, 2)), np.empty(2 * room)
    sums = np.empty((2 * room, SUMS))
    ends = np.zeros((2, 2), np.float64)
    count = int(piece_starts[0])  # no literal: each would be compiled for apart
    corner = 0
    for loop in range(len(starts) - 1):
        ring = points[starts[loop] : starts[loop + 1]]
        first = corner
        while corner < len(corners) and corners[corner] < starts[loop + 1]:
            corner += 1
        if corner == first:
            length = _closed_run(ring, noise, raw, run)
            _closing_direction(run, length, ends)
            count = _fit_run(run, along, length, ends, tolerance, noise, controls, count, sums)
        for k in range(first, corner):
            following = k + 1 if k + 1 < corner else first
            begin, end = corners[k] - starts[loop], corners[following] - starts[loop]
            length = _open_run(ring, begin, end, skipped, noise, raw, run)
            run[0], run[length - 1] = places[k], places[following]
            ends[:] = 0.0
            count = _fit_run(run, along, length, ends, tolerance, noise, controls, count, sums)
        piece_starts[loop + 1] = count
    return controls[:count].copy(), piece_starts


@njit(cache=True)
def _closed_run(ring: Points, noise: float, raw: Points, run: Points) -> int:
    """Write down the stations of a loop without corners, from the point farthest from its middle on."""
    n = len(ring)
    x = y = 0.0
    for i in range(n):
        x, y = x + ring[i, 0], y + ring[i, 1]
    x, y = x / n, y / n
    first = 0
    farthest = -1.0
    for i in range(n):
        dx, dy = ring[i, 0] - x, ring[i, 1] - y
        square = dx * dx + dy * dy
        if square > farthest + 1e-9:  # equals decide alike, however the picture lies
            farthest = square
            first = i
    reach = min(REACH, n // CLOSED_REACH)
    _copy_round(ring, (first - reach) % n, n + 1 + 2 * reach, raw)
    length = place_stations(raw, 0, n + 2 * reach, reach, n + reach, noise, run)
    run[length - 1] = run[0]
    return length


@njit(cache=True)
def _open_run(
    ring: Points, start: int, end: int, skipped: int, noise: float, raw: Points, run: Points
) -> int:
    """Write down the stations from one corner to the next, leaving out points that the corners cut off."""
    n = len(ring)
    steps = (end - start) % n
    if steps == 0:
        steps = n
    length = steps - 2 * skipped + 1
    if length <= 0:
        return 2
    _copy_round(ring, (start + skipped) % n, length, raw)
    return 2 + place_stations(raw, 0, length - 1, 0, length - 1, noise, run[1:])


@njit(cache=True)
def _copy_round(ring: Points, at: int, count: int, into: Points) -> None:
    """Copy so many points of a loop from one on, round and round."""
    done = 0
    while done < count:
        more = min(count - done, len(ring) - at)
        into[done : done + more] = ring[at : at + more]
        done += more
        at = 0


@njit(cache=True)
def _closing_direction(run: Points, length: int, ends: Points) -> None:
    """Give both ends of a closed run one direction, from the points on both sides of it."""
    x = y = 0.0
    for k in range(1, (length - 1) // 2 + 1):
        dx, dy = run[k, 0] - run[length - 1 - k, 0], run[k, 1] - run[length - 1 - k, 1]
        x, y = x + dx, y + dy
        if dx * dx + dy * dy >= 4 * TANGENT_PX * TANGENT_PX:
            break
    size = max(math.hypot(x, y), 1e-12)
    ends[0, 0], ends[0, 1] = x / size, y / size
    ends[1, 0], ends[1, 1] = -x / size, -y / size


@njit(cache=True)
def _joint(run: Points, along: Lengths, at: int, length: int) -> tuple[float, float]:
    """Return the direction of a run at one of its points, from its neighbours on both sides."""
    x = y = 0.0
    for k in range(1, min(at, length - 1 - at) + 1):
        x += run[at + k, 0] - run[at - k, 0]
        y += run[at + k, 1] - run[at - k, 1]
        if along[at + k] - along[at - k] >= 2 * TANGENT_PX:
            break
    size = max(math.sqrt(x * x + y * y), 1e-12)
    return x / size, y / size


@njit(cache=True)
def _fit_run(
    run: Points,
    along: Lengths,
    length: int,
    ends: Points,
    tolerance: float,
    noise: float,
    controls: Points,
    count: int,
    sums: Points,
) -> int:
    """Fit one run, from corner to corner or all round: its straight stretches, and curves between them."""
    start, end = length - length, length - 1  # no literal: each would be compiled for apart
    if tolerance == 0.0:
        for i in range(end):
            place_straight(run, i, i + 1, controls[count])
            count += 1
        return count
    if is_free(ends) and leaves_chord(run, start, end) <= tolerance:
        place_straight(run, start, end, controls[count])
        return count + 1
    along[0] = 0.0
    for i in range(1, length):
        dx, dy = run[i, 0] - run[i - 1, 0], run[i, 1] - run[i - 1, 1]
        along[i] = along[i - 1] + max(math.sqrt(dx * dx + dy * dy), 1e-9)
    within = (SHARE_IN_NOISE if noise > 0.0 else SHARE) * tolerance
    stretches = straight_stretches(run, along, length, min(SLACK_PX + noise, tolerance / 2))
    between = ends.copy()
    at = start
    for k in range(len(stretches)):
        first, last = stretches[k, 0], stretches[k, 1]
        line = line_through(run, first, last)
        if first > 0:
            set_on_line(run, first, line)
        if last < end:
            set_on_line(run, last, line)
        x, y = _direction(run, first, last)
        between[1, 0], between[1, 1] = -x, -y
        if first > at:
            count = _fit_between(run, along, at, first, length, between, within, controls, count, sums)
        place_straight(run, first, last, controls[count])
        count += 1
        between[0, 0], between[0, 1] = x, y
        at = last
    if at < end:
        between[1] = ends[1]
        count = _fit_between(run, along, at, end, length, between, within, controls, count, sums)
    return count


@njit(cache=True)
def _direction(run: Points, first: int, last: int) -> tuple[float, float]:
    """Return the direction from one point to another."""
    x, y = run[last, 0] - run[first, 0], run[last, 1] - run[first, 1]
    size = max(math.hypot(x, y), 1e-12)
    return x / size, y / size


@njit(cache=True)
def _fit_between(
    run: Points,
    along: Lengths,
    first: int,
    last: int,
    length: int,
    ends: Points,
    tolerance: float,
    controls: Points,
    count: int,
    sums: Points,
) -> int:
    """Fit curves between two points of a run, one after the other, each as long as it can be."""
    held = ends.copy()
    steps = FIRST_STEPS
    while first < last:
        end = _longest(run, along, first, last, length, ends, held, steps, tolerance, controls[count], sums)
        count += 1
        steps = max(end - first, 2)
        held[0, 0], held[0, 1] = -held[1, 0], -held[1, 1]
        first = end
    return count


@njit(cache=True)
def _longest(
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
    trial = np.empty((4, 2))
    shifted, own_sums = along[length:], sums[length:]
    good, bad, known = first, last + 1, first
    good_x = good_y = 0.0
    at = min(first + steps, last)
    while True:
        known = add_sums(run, along, first, known, at, sums)
        _hold_end(run, along, at, last, length, ends, held)
        place_cubic(run, along, first, at, held, sums, trial)
        is_near = follows(run, along, first, at, trial, tolerance)
        if not is_near and _turns_much(trial):
            is_near = _follows_when_shifted(run, along, first, at, held, tolerance, trial, shifted, own_sums)
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
        x, y = _joint(run, along, at, length)
        held[1, 0], held[1, 1] = -x, -y
