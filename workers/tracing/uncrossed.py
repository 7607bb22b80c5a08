"""Curves that cross neither themselves nor each other: where they do, they follow the edge more closely.

The polygon of the edge's own points never crosses. So the tolerance is halved where pieces cross, and there
alone, until they follow the points one by one; a loop that crosses even then keeps its points all round.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from workers.tracing.crossings import crossing_pieces
from workers.tracing.curve_fitting import Pieces, fit_loops

Points = NDArray[np.float64]
Indices = NDArray[np.int32]
Marks = NDArray[np.bool_]
Shares = NDArray[np.float64]

LOCAL_ROUNDS = 8  # of closer and closer following; then whole loops keep their points
LEAST_SHARE = 0.2  # of the tolerance; below, the points are followed one by one
CORNERS_SHARE = 0.5  # of the tolerance; from there on, corners give way to the points
BESIDE_PX = 1.5  # round a piece that crosses, for its neighbours to give way too


def fit_without_crossings(
    loops: tuple[Points, Indices],
    corners: tuple[Indices, Points],
    skipped: int,
    tolerance_px: float,
    noise_px: float,
) -> tuple[Pieces, int]:
    """Return pieces along closed loops, none crossing, and how many loops had to be fitted again.

    Args:
        loops: Points, and where each loop starts, as for ``fit_loops``.
        corners: Indices of points at sharp corners, and where those are.
        skipped: How many points to either side of a corner give way to it.
        tolerance_px: Permitted distance from the points, px.
        noise_px: Standard deviation of the noise that is evened out, px.
    """
    pieces = fit_loops(*loops, *corners, skipped, tolerance_px, noise_px)
    shares = np.ones(len(loops[0]))
    refitted = np.zeros(len(pieces.starts) - 1, np.bool_)
    for attempt in range(LOCAL_ROUNDS + len(refitted)):
        crossed = crossing_pieces(pieces.controls, pieces.starts)
        if not crossed.any():
            break
        chosen = np.logical_or.reduceat(crossed, pieces.starts[:-1])
        if attempt >= LOCAL_ROUNDS and not (shares[_points_of(chosen, loops[1])] > 0.0).any():
            break
        _lower(shares, loops, pieces, crossed, chosen, is_local=attempt < LOCAL_ROUNDS)
        corners = _away_from(corners, shares, pieces.controls[crossed])
        refitted |= chosen
        pieces = _with_refitted(pieces, loops, corners, skipped, tolerance_px, noise_px, shares, chosen)
    return pieces, int(refitted.sum())


def _points_of(chosen: Marks, starts: Indices) -> Marks:
    """Return which points belong to chosen loops."""
    return np.repeat(chosen, np.diff(starts))


def _lower(
    shares: Shares,
    loops: tuple[Points, Indices],
    pieces: Pieces,
    crossed: Marks,
    chosen: Marks,
    *,
    is_local: bool,
) -> None:
    """Lower the share of the tolerance at points beside crossing pieces, or all round their loops."""
    points, starts = loops
    if not is_local:
        shares[_points_of(chosen, starts)] = 0.0
        return
    lowered = np.zeros(len(points), np.bool_)
    owner = np.searchsorted(pieces.starts, np.flatnonzero(crossed), side="right") - 1
    for loop, piece in zip(owner, pieces.controls[crossed], strict=True):
        own = slice(starts[loop], starts[loop + 1])
        low, high = piece.min(axis=0) - BESIDE_PX, piece.max(axis=0) + BESIDE_PX
        lowered[own] |= ((points[own] >= low) & (points[own] <= high)).all(axis=1)
    shares[lowered] = np.where(shares[lowered] < 2 * LEAST_SHARE, 0.0, shares[lowered] / 2)


def _away_from(corners: tuple[Indices, Points], shares: Shares, controls: Points) -> tuple[Indices, Points]:
    """Return the corners without those at the ends of pieces that cross though they keep closer."""
    ends = controls[:, [0, 3]].reshape(-1, 1, 2)
    is_crossed = (ends == corners[1]).all(axis=2).any(axis=0)
    is_kept = ~(is_crossed & (shares[corners[0]] <= CORNERS_SHARE)) & (shares[corners[0]] > 0.0)
    return corners[0][is_kept], corners[1][is_kept]


def _with_refitted(
    pieces: Pieces,
    loops: tuple[Points, Indices],
    corners: tuple[Indices, Points],
    skipped: int,
    tolerance_px: float,
    noise_px: float,
    shares: Shares,
    chosen: Marks,
) -> Pieces:
    """Return the pieces with those of chosen loops fitted anew."""
    points, starts = loops
    taken = _points_of(chosen, starts)
    is_corner = taken[corners[0]]
    new_starts = np.concatenate(([0], np.cumsum(np.diff(starts)[chosen]))).astype(np.int32)
    new_corners = (np.cumsum(taken)[corners[0][is_corner]] - 1).astype(np.int32)
    fitted = fit_loops(
        *(points[taken], new_starts, new_corners, corners[1][is_corner]),
        skipped=skipped,
        tolerance_px=tolerance_px,
        noise_px=noise_px,
        shares=shares[taken],
    )
    anew = iter(np.split(fitted.controls, fitted.starts[1:-1]))
    kept = np.split(pieces.controls, pieces.starts[1:-1])
    whole = [next(anew) if is_chosen else old for old, is_chosen in zip(kept, chosen, strict=True)]
    joined = np.cumsum([0, *(len(loop) for loop in whole)]).astype(np.int32)
    return Pieces(np.concatenate(whole), joined)
