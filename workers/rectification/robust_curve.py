"""A smooth curve through most of some samples, which pays no heed to strays."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]

CURVE_DEGREE = 5
_STAGES = np.array([(1, 6), (2, 10), (3, 6), (CURVE_DEGREE, 10)])  # degree, rounds
_STIFFNESS = 1e-3  # against higher degrees
_SETTLED = 0.005  # of a stray's distance: a curve that moves less has found its place


def robust_curve(
    share: Array, off_px: Array, weight: Array, stray_px: float
) -> tuple[Array, NDArray[np.bool_]]:
    """Return Legendre coefficients of the curve through most samples, and which samples it keeps.

    It begins as a parabola by least absolute distances, which a covered corner cannot bend, and
    is set free degree by degree while strays lose their say.

    Args:
        share: (n,) place of each sample, 0..1.
        off_px: (n,) what is measured there.
        weight: (n,) what it counts.
        stray_px: Least distance from the curve at which a sample is a stray.

    Source: iteratively reweighted least squares; Tukey's biweight.
    """
    basis = np.asarray(np.polynomial.legendre.legvander(2 * share - 1, CURVE_DEGREE), np.float64)
    coefficients, cutoff = _settled(basis, off_px, weight, stray_px)
    return coefficients, np.abs(off_px - basis @ coefficients) < 0.7 * cutoff


@njit(cache=True, nogil=True)
def _settled(basis: Array, off_px: Array, weight: Array, stray_px: float) -> tuple[Array, float]:
    """Return the coefficients, and from which distance on a sample counts nothing."""
    trust = np.ones_like(off_px)
    coefficients = np.zeros(CURVE_DEGREE + 1)
    cutoff = np.inf
    stiffness = _STIFFNESS * max(weight.mean(), 1e-9)
    for stage in range(len(_STAGES)):
        degree = _STAGES[stage, 0]
        for _ in range(_STAGES[stage, 1]):
            last = coefficients.copy()
            _fit(basis, off_px, weight * trust, stiffness, degree, coefficients)
            distance = np.abs(off_px - (basis * coefficients).sum(axis=1))
            if degree <= 2:
                trust = 1.0 / (distance + 0.3 * stray_px)
            else:
                spread = 1.4826 * np.median(distance)
                cutoff = max(4.7 * min(spread, 2 * stray_px), 1.5 * stray_px) * (1.6 if degree == 3 else 1.0)
                trust = np.maximum(1.0 - (distance / cutoff) ** 2, 0.0) ** 2 + 1e-6
            if np.abs(coefficients - last).max() < _SETTLED * stray_px:
                break
    return coefficients, cutoff


@njit(cache=True, nogil=True)
def _fit(
    basis: Array, off_px: Array, weight: Array, stiffness: float, degree: int, coefficients: Array
) -> None:
    """Set the coefficients up to a degree by weighted least squares, stiff against high degrees."""
    size = degree + 1
    square, right = np.zeros((size, size)), np.zeros(size)
    for k in range(len(off_px)):
        for i in range(size):
            part = weight[k] * basis[k, i]
            right[i] += part * off_px[k]
            for j in range(i + 1):
                square[i, j] += part * basis[k, j]
    for i in range(size):
        square[i, i] += stiffness * i**2
    _solve(square, right)
    coefficients[:size] = right


@njit(cache=True, nogil=True)
def _solve(square: Array, right: Array) -> None:
    """Put the solution of normal equations, lower half given, in place of their right side.

    Source: Cholesky's method.
    """
    for i in range(len(right)):
        for j in range(i + 1):
            rest = square[i, j] - (square[i, :j] * square[j, :j]).sum()
            square[i, j] = np.sqrt(max(rest, 1e-300)) if i == j else rest / square[j, j]
        right[i] = (right[i] - (square[i, :i] * right[:i]).sum()) / square[i, i]
    for i in range(len(right) - 1, -1, -1):
        for k in range(i + 1, len(right)):
            right[i] -= square[k, i] * right[k]
        right[i] /= square[i, i]
