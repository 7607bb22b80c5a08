"""Cubic curves along an edge, each as long as the tolerance allows, joined with a common direction.

Corners end a piece with directions of their own; long straight stretches are found first, so that curves run
into them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.tracing.cubic import is_free, leaves_chord, place_straight
from workers.tracing.least_squares import SUMS
from workers.tracing.longest_piece import place_longest
from workers.tracing.runs import closed_run, closing_direction, direction, least_share, measure, open_run
from workers.tracing.stations import REACH
from workers.tracing.straights import SLACK_PX, line_through, set_on_line, straight_stretches

Points = NDArray[np.float64]
Lengths = NDArray[np.float64]
Indices = NDArray[np.int32]

FIRST_STEPS = 8  # points that the first piece of a run is tried with
SHARE_IN_NOISE = 0.9  # of the tolerance; the rest is for what lies between the points
SHARE = 0.7  # of a clean edge, which is worth following more closely: thin lines keep their area


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
    shares: Lengths | None = None,
) -> Pieces:
    """Return cubic pieces along closed loops, none farther from the edge than the tolerance.

    Args:
        points: Points of closed loops (n, 2), px.
        starts: Where each loop starts, and the end of the last (m + 1).
        corners: Indices of points at sharp corners, rising (k).
        places: Where those corners really are (k, 2), px.
        skipped: How many points to either side of a corner give way to it.
        tolerance_px: Permitted distance from the points' polygon, or from that of the points
            evened out, px.
        noise_px: Standard deviation of the noise that is evened out first, px.
        shares: What part of the tolerance holds at each point (n), 0 for the points' polygon itself;
            where it is less than 1, no noise is evened out.

    Source: P. J. Schneider, "An algorithm for automatically fitting digitized curves", Graphics Gems, 1990.
    """
    places_and_shares = points if shares is None else np.column_stack((points, shares))
    controls, piece_starts = _fit(places_and_shares, starts, corners, places, skipped, tolerance_px, noise_px)
    return Pieces(controls, piece_starts)


def fit_runs(runs: Sequence[Points], tolerance: float) -> list[Points]:
    """Return cubic pieces (n, 4, 2) along each open line of points, none farther off than the tolerance.

    Args:
        runs: Points (n, 2) from one sharp corner to the next, none twice in a row; about one unit apart.
        tolerance: Permitted distance from the points' polygon, in the same unit.
    """
    if not runs:
        return []
    starts = np.cumsum([0, *(len(run) for run in runs)])
    controls, piece_starts = _fit_open(np.concatenate(runs), starts, tolerance)
    return np.split(controls, piece_starts[1:-1])


@njit(cache=True)
def _fit_open(points: Points, starts: NDArray[np.int64], tolerance: float) -> tuple[Points, Indices]:
    """Fit every run from its first point to its last."""
    controls = np.empty((len(points) + len(starts), 4, 2), np.float64)
    piece_starts = np.zeros(len(starts), np.int32)
    room = (starts[1:] - starts[:-1]).max()
    along, sums = np.empty(2 * room), np.empty((2 * room, SUMS))
    ends = np.zeros((2, 2), np.float64)
    count = int(piece_starts[0])  # no literal: each would be compiled for apart
    for k in range(len(starts) - 1):
        run = points[starts[k] : starts[k + 1]].copy()
        ends[:] = 0.0
        count = _fit_run(run, along, len(run), ends, tolerance, 0.0, controls, count, sums)
        piece_starts[k + 1] = count
    return controls[:count].copy(), piece_starts


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
    raw, run, along = np.empty((room, points.shape[1])), np.empty((room, points.shape[1])), np.empty(2 * room)
    sums = np.empty((2 * room, SUMS))
    ends, both = np.zeros((2, 2), np.float64), np.zeros((2, 2), np.float64)
    count = int(piece_starts[0])  # no literal: each would be compiled for apart
    corner = 0
    for loop in range(len(starts) - 1):
        ring = points[starts[loop] : starts[loop + 1]]
        first = corner
        while corner < len(corners) and corners[corner] < starts[loop + 1]:
            corner += 1
        if corner == first:
            length = closed_run(ring, noise, raw, run)
            closing_direction(run, length, ends)
            count = _fit_run(run, along, length, ends, tolerance, noise, controls, count, sums)
        for k in range(first, corner):
            following = k + 1 if k + 1 < corner else first
            begin, end = corners[k] - starts[loop], corners[following] - starts[loop]
            both[0], both[1] = places[k], places[following]
            length = open_run(ring, begin, end, skipped, both, noise, raw, run)
            run[0, :2], run[length - 1, :2] = both[0], both[1]
            run[0, 2:] = 1.0
            run[length - 1, 2:] = 1.0
            ends[:] = 0.0
            count = _fit_run(run, along, length, ends, tolerance, noise, controls, count, sums)
        piece_starts[loop + 1] = count
    return controls[:count].copy(), piece_starts


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
    least = least_share(run, start, end)
    if is_free(ends) and leaves_chord(run, start, end) <= tolerance * least:
        place_straight(run, start, end, controls[count])
        return count + 1
    measure(run, length, along)
    within = (SHARE_IN_NOISE if noise > 0.0 else SHARE) * tolerance
    stretches = straight_stretches(run, along, length, min(SLACK_PX + noise, tolerance * least / 2))
    between = ends.copy()
    at = start
    for k in range(len(stretches)):
        first, last = stretches[k, 0], stretches[k, 1]
        line = line_through(run, first, last)
        if first > 0:
            set_on_line(run, first, line)
        if last < end:
            set_on_line(run, last, line)
        x, y = direction(run, first, last)
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
        end = place_longest(
            run, along, first, last, length, ends, held, steps, tolerance, controls[count], sums
        )
        count += 1
        steps = max(end - first, 2)
        held[0, 0], held[0, 1] = -held[1, 0], -held[1, 1]
        first = end
    return count
