"""A curve through most samples. Source: the samples' own polynomial, and numpy's least squares."""

import numpy as np
import pytest

from workers.rectification.robust_curve import CURVE_DEGREE, robust_curve


def test_a_bow_is_followed_and_what_covers_it_is_left_out() -> None:
    """A parabola of 8 px with a tenth of it under a thumb: within 0.05 px all along, the thumb not kept."""
    share = np.linspace(0.01, 0.99, 320)
    true = 8.0 * (1 - (2 * share - 1) ** 2)
    covered = (share > 0.6) & (share < 0.7)
    measured = true + 0.02 * np.sin(900 * share) + np.where(covered, 12.0, 0.0)

    coefficients, kept = robust_curve(share, measured, np.ones(320), 0.4)

    found = np.polynomial.legendre.legval(2 * share - 1, coefficients)
    assert np.abs(found - true).max() < 0.05
    assert not kept[covered].any()
    assert kept[~covered].all()


def test_without_strays_it_is_the_least_squares_curve() -> None:
    """Noise alone: as numpy's fit of the same degree, but for the weights near one, within 0.02 px."""
    share = np.linspace(0.0, 1.0, 400)
    noise = 0.1 * np.random.default_rng(3).standard_normal(400)
    measured = 3.0 * np.sin(2.0 * share) + noise

    coefficients, _ = robust_curve(share, measured, np.ones(400), 0.4)

    plain = np.polynomial.legendre.legfit(2 * share - 1, measured, CURVE_DEGREE)
    assert np.polynomial.legendre.legval(2 * share - 1, coefficients) == pytest.approx(
        np.polynomial.legendre.legval(2 * share - 1, plain), abs=0.02
    )
