"""Curves fitted to the sides of polygons, from corner to corner."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from workers.geometry.flattening import step_owners
from workers.tracing.curve_fitting import fit_loops, fit_runs

Points = NDArray[np.float64]

CORNER_RAD = np.radians(30.0)  # the chords of round ends and joints turn by 22.5 degrees at most
TOLERANCE_PX = 0.2  # of fitting, which thinks in pixels: 0.02 mm at 10 px/mm


def fit_lines(lines: Sequence[Points], tolerance_mm: float) -> list[Points]:
    """Return cubic pieces (m, 4, 2) along each line of points (n, 2), mm; ends and sharp corners stay.

    Args:
        lines: Points; a line that ends where it begins is closed, and smooth there unless it has a corner.
        tolerance_mm: How far the curves may leave the line.
    """
    px_per_mm = TOLERANCE_PX / tolerance_mm
    runs = [_runs(_without_repeats(line * px_per_mm)) for line in lines]
    fitted = iter(fit_runs([_dense(run) for parts in runs for run in parts], TOLERANCE_PX))
    found = []
    for line, parts in zip(lines, runs, strict=True):
        if parts:
            pieces = np.concatenate([next(fitted) for _ in parts]) / px_per_mm
        else:
            pieces = _round(_dense(_without_repeats(line * px_per_mm))[:-1]) / px_per_mm
        if not (line[0] == line[-1]).all():
            pieces[0, 0], pieces[-1, 3] = line[0], line[-1]  # to the last bit, for what joins it
        found.append(pieces)
    return found


def _round(ring: Points) -> Points:
    """Return pieces along a closed line without corners."""
    none = np.zeros(0, np.int32)
    starts = np.array([0, len(ring)], np.int32)
    return fit_loops(ring, starts, none, np.zeros((0, 2)), 0, TOLERANCE_PX).controls


def _runs(line: Points) -> list[Points]:
    """Return a line cut at its corners; of a closed one without any, nothing."""
    is_closed = bool((line[0] == line[-1]).all())
    steps = np.diff(line, axis=0)
    following = np.roll(steps, -1, axis=0)
    cross = steps[:, 0] * following[:, 1] - steps[:, 1] * following[:, 0]
    is_corner = np.abs(np.arctan2(cross, (steps * following).sum(axis=1))) > CORNER_RAD
    corners = np.flatnonzero(is_corner if is_closed else is_corner[:-1]) + 1
    if not is_closed:
        return [line[first : last + 1] for first, last in itertools.pairwise([0, *corners, len(line) - 1])]
    if not len(corners):
        return []
    ring = np.concatenate([line[:-1], line])
    ends = [*corners, corners[0] + len(steps)]
    return [ring[first : last + 1] for first, last in itertools.pairwise(ends)]


def _dense(line: Points) -> Points:
    """Return a line with points at most 1 px apart."""
    steps = np.diff(line, axis=0)
    counts = np.maximum(np.ceil(np.hypot(*steps.T)).astype(int), 1)
    owner, number = step_owners(counts)
    share = number / counts[owner]
    return np.concatenate([line[owner] + share[:, None] * steps[owner], line[-1:]])


def _without_repeats(line: Points) -> Points:
    is_other = np.concatenate([[True], (line[1:] != line[:-1]).any(axis=1)])
    kept: Points = line[is_other]
    return kept
