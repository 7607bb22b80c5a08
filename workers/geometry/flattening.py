"""Curved outlines as polygons, no farther from the curves than asked.

A cubic leaves the chords of n equal steps of its parameter by at most M / (8 n^2),
M being the largest second derivative, which for a cubic lies at one of its ends.
So n has a closed form for each piece and all pieces are cut up at once.
"""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

from workers.geometry.filling import filled
from workers.values.curved_artwork import CurvedArtwork
from workers.values.outlines import Outlines
from workers.values.region import Artwork, Region

DEFAULT_TOLERANCE_MM = 0.005  # a tenth of what a careful router repeats; small enough to forget


def flatten(outlines: Outlines, tolerance_mm: float = DEFAULT_TOLERANCE_MM) -> Artwork:
    """Return the inked area of outlines as polygons: even-odd, valid, holes kept.

    Args:
        outlines: Closed loops of cubic pieces, mm.
        tolerance_mm: How far the polygons' sides may lie from the curves.

    Source: the bound on linear interpolation, h^2 / 8 max |f''|, with f'' of a Bezier curve.
    """
    ink = filled(flat_rings(outlines.loops, tolerance_mm), is_even_odd=True)
    return Artwork(ink=Region(ink), width_mm=outlines.width_mm, height_mm=outlines.height_mm)


def flatten_keeping_curves(outlines: Outlines, tolerance_mm: float) -> CurvedArtwork:
    """Return the same polygons as :func:`flatten`, together with the curves."""
    pieces = np.concatenate([np.zeros((0, 4, 2)), *outlines.loops])
    return CurvedArtwork(
        artwork=flatten(outlines, tolerance_mm), pieces=pieces, steps=chord_steps(pieces, tolerance_mm)
    )


def chords_of(
    pieces: NDArray[np.float64], steps: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.float64]]:
    """Return the chords of pieces (m, 2, 2), whose they are (m), and the parameters of their ends (m, 2).

    Args:
        pieces: Cubic pieces (n, 4, 2).
        steps: Into how many equal steps of its parameter each is cut (n).
    """
    owner, number = step_owners(steps)
    ends = np.stack([number, number + 1], axis=1) / steps[owner, None]
    points = np.stack([along(pieces[owner], ends[:, end]) for end in (0, 1)], axis=1)
    return points, owner, ends


def flat_rings(loops: tuple[NDArray[np.float64], ...], tolerance_mm: float) -> list[NDArray[np.float64]]:
    """Return each loop as points (n, 2), the first not repeated, no two in a row the same.

    Args:
        loops: Closed loops of cubic pieces (n, 4, 2), mm.
        tolerance_mm: How far the chords may lie from the curves.
    """
    lengths = [len(loop) for loop in loops]
    if not sum(lengths):
        return []
    pieces = np.concatenate(loops)
    steps = chord_steps(pieces, tolerance_mm)
    owner, number = step_owners(steps)
    points = along(pieces[owner], number / steps[owner])
    loop_of = np.repeat(np.arange(len(loops)), lengths)[owner]
    ring_starts = np.searchsorted(loop_of, np.arange(len(loops) + 1))
    return [_without_repeats(points[start:end]) for start, end in itertools.pairwise(ring_starts)]


def step_owners(steps: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return for each step of all pieces whose it is, and which of that piece's, counted from 0."""
    owner = np.repeat(np.arange(len(steps)), steps)
    return owner, np.arange(len(owner)) - (np.cumsum(steps) - steps)[owner]


def chord_steps(pieces: NDArray[np.float64], tolerance_mm: float) -> NDArray[np.int64]:
    """Return into how many equal steps of its parameter each piece (n, 4, 2) must be cut."""
    bend_start = np.hypot(*(pieces[:, 0] - 2 * pieces[:, 1] + pieces[:, 2]).T)
    bend_end = np.hypot(*(pieces[:, 1] - 2 * pieces[:, 2] + pieces[:, 3]).T)
    second = 6 * np.maximum(bend_start, bend_end)
    steps: NDArray[np.int64] = np.ceil(np.sqrt(second / (8 * tolerance_mm)) - 1e-9).astype(np.int64)
    # a piece that only runs unevenly along its chord is straight all the same
    return np.where(_is_straight(pieces), 1, np.maximum(steps, 1))


def _is_straight(pieces: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return for each piece whether its inner control points lie on the chord, between the ends."""
    chord = pieces[:, 3] - pieces[:, 0]
    square = np.maximum((chord**2).sum(axis=1), 1e-30)
    straight = np.ones(len(pieces), np.bool_)
    for inner in (1, 2):
        leg = pieces[:, inner] - pieces[:, 0]
        along = (leg * chord).sum(axis=1) / square
        aside = np.abs(leg[:, 0] * chord[:, 1] - leg[:, 1] * chord[:, 0]) / np.sqrt(square)
        straight &= (aside < 1e-9) & (along >= 0) & (along <= 1)
    return straight


def along(pieces: NDArray[np.float64], t: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return one point of each piece (n, 4, 2), at its parameter (n)."""
    t = t[:, None]
    s = 1 - t
    points: NDArray[np.float64] = (
        s**3 * pieces[:, 0]
        + 3 * s * s * t * pieces[:, 1]
        + 3 * s * t * t * pieces[:, 2]
        + t**3 * pieces[:, 3]
    )
    return points


def _without_repeats(points: NDArray[np.float64]) -> NDArray[np.float64]:
    kept: NDArray[np.float64] = points[(points != np.roll(points, 1, axis=0)).any(axis=1)]
    return kept
