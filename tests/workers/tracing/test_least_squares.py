"""A cubic from running sums is the one that numpy's general least squares finds."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from workers.tracing.least_squares import SUMS, add_sums, place_cubic

Points = NDArray[np.float64]
FREE = np.zeros(2)


def noisy_arc(seed: int, count: int) -> tuple[Points, Points]:
    """Points about an arc far from the origin, unevenly spaced, and how far along each lies."""
    random = np.random.default_rng(seed)
    angle = np.sort(random.uniform(0, 1.2, count))
    run = np.stack([3000 + 40 * np.cos(angle), 2000 + 40 * np.sin(angle)], axis=1)
    run += random.normal(0, 0.05, run.shape)
    return run, np.concatenate([[0], np.cumsum(np.hypot(*np.diff(run, axis=0).T))])


def fitted(run: Points, along: Points, first: int, last: int, ends: Points) -> Points:
    sums, piece = np.empty((len(run) + 1, SUMS)), np.empty((4, 2))
    known = add_sums(run, along, first, first, (first + last) // 2, sums)
    assert add_sums(run, along, first, known, last, sums) == last
    place_cubic(run, along, first, last, ends, sums, piece)
    return piece


def by_numpy(run: Points, along: Points, first: int, last: int, ends: Points) -> Points:
    """The same by one linear system of all points, a handle along its direction or free in x and y."""
    t = (along[first + 1 : last] - along[first]) / (along[last] - along[first])
    b1, b2 = 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t)
    fixed = np.outer((1 - t) ** 3 + b1, run[first]) + np.outer(t**3 + b2, run[last])
    columns, moves = [], []
    for which, basis in enumerate((b1, b2)):
        for way in np.eye(2) if not ends[which].any() else ends[which : which + 1]:
            columns.append(np.outer(basis, way).ravel())
            moves.append((which, way))
    found = np.linalg.lstsq(np.stack(columns, axis=1), (run[first + 1 : last] - fixed).ravel(), rcond=None)[0]
    piece = np.array([run[first], run[first], run[last], run[last]])
    for (which, way), size in zip(moves, found, strict=True):
        piece[1 + which] += size * way
    return piece


@pytest.mark.parametrize("is_start_held", [False, True])
@pytest.mark.parametrize("is_end_held", [False, True])
@settings(deadline=None, max_examples=25)
@given(seed=st.integers(0, 10**6), count=st.integers(20, 60))
def test_it_is_the_general_solution(is_start_held: bool, is_end_held: bool, seed: int, count: int) -> None:
    """Held and free ends; to 0.02 px, which is what the pull towards the thirds may do."""
    run, along = noisy_arc(seed, count)
    ends = np.array([[0.0, 1.0] if is_start_held else FREE, [0.95, -0.3122499] if is_end_held else FREE])
    first, last = 2, count - 3
    ours, theirs = fitted(run, along, first, last, ends), by_numpy(run, along, first, last, ends)
    t = np.linspace(0, 1, 50)[:, None]
    basis = [(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3]
    one, other = (sum(b * p for b, p in zip(basis, piece, strict=True)) for piece in (ours, theirs))
    assert np.abs(one - other).max() < 0.02


def test_without_points_between_the_handles_are_thirds() -> None:
    """What the points do not decide is drawn as Schneider did where no fit could be trusted."""
    run = np.array([[0.0, 0.0], [6.0, 0.0]])
    piece = fitted(run, np.array([0.0, 6.0]), 0, 1, np.array([[0.6, 0.8], [-0.6, 0.8]]))
    assert piece == pytest.approx(np.array([[0, 0], [1.2, 1.6], [4.8, 1.6], [6, 0]]), abs=1e-9)
