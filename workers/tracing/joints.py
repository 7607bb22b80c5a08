"""Where two stretches of outline meet: the very point that both curves pass."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from workers.geometry.flattening import along

Points = NDArray[np.float64]

ROUNDS = 6  # of Newton's rule, from a point that is right to a few micrometres
FARTHEST_MM = 0.05  # from where polygons meet; curves that hardly cross may meet anywhere
MET_MM = 1e-9


def part_of(piece: Points, start: float, end: float) -> Points:
    """Return a stretch of a cubic piece (4, 2) between two parameters, as a piece; backwards if they fall."""
    triples = ((start,) * 3, (start, start, end), (start, end, end), (end,) * 3)
    return np.array([_blossom(piece, *triple) for triple in triples])


def meeting(one: Points, s: float, other: Points, t: float) -> tuple[float, float] | None:
    """Return the parameters at which two pieces meet near given ones; None if they do not there.

    Args:
        one: A cubic piece (4, 2), mm.
        s: Its parameter near the place.
        other: Another one.
        t: Its parameter near the place.

    Source: Newton's method in two unknowns.
    """
    first_s, first_t = s, t
    start = _point(one, s)
    for _ in range(ROUNDS):
        gap = _point(other, t) - _point(one, s)
        a, b = _derivative(one, s), -_derivative(other, t)
        cross = a[0] * b[1] - a[1] * b[0]
        if abs(cross) < 1e-3 * np.hypot(*a) * np.hypot(*b) or cross == 0.0:
            return None
        s += (gap[0] * b[1] - gap[1] * b[0]) / cross
        t += (a[0] * gap[1] - a[1] * gap[0]) / cross
        if not (-0.5 <= s <= 1.5 and -0.5 <= t <= 1.5):
            return None
    place = _point(one, s)
    is_met = np.hypot(*(_point(other, t) - place)) < MET_MM and np.hypot(*(place - start)) < FARTHEST_MM
    is_inside = 0.0 < s < 1.0 and 0.0 < t < 1.0 and abs(s - first_s) + abs(t - first_t) < 0.5
    return (float(s), float(t)) if is_met and is_inside else None


def _blossom(piece: Points, a: float, b: float, c: float) -> Points:
    """Return the polar form of a cubic: de Casteljau's rule with a parameter of its own in each round."""
    points = piece
    for t in (a, b, c):
        points = points[:-1] * (1 - t) + points[1:] * t
    found: Points = points[0]
    return found


def _point(piece: Points, t: float) -> Points:
    found: Points = along(piece[None], np.array([t]))[0]
    return found


def _derivative(piece: Points, t: float) -> Points:
    a, b, c = np.diff(piece, axis=0)
    found: Points = 3 * ((1 - t) ** 2 * a + 2 * t * (1 - t) * b + t * t * c)
    return found
