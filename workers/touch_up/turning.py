"""Turns about the origin, exact where they can be."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon


def turned(shape: MultiPolygon, turn_deg: float) -> MultiPolygon:
    """Return a shape turned anticlockwise round the origin; quarter turns are exact."""
    matrix = turning_matrix(turn_deg)
    done: MultiPolygon = shapely.transform(shape, lambda points: points @ matrix)
    return done


def turning_matrix(turn_deg: float) -> NDArray[np.float64]:
    """Return the matrix that points (n, 2) are multiplied by from the right, to turn anticlockwise."""
    cos, sin = cos_sin(turn_deg)
    return np.array([[cos, sin], [-sin, cos]])


def cos_sin(turn_deg: float) -> tuple[float, float]:
    """Return cosine and sine of an angle, exact for quarter turns.

    >>> cos_sin(-90.0)
    (0.0, -1.0)
    """
    quarters, rest_deg = divmod(turn_deg, 90.0)
    cos, sin = math.cos(math.radians(rest_deg)), math.sin(math.radians(rest_deg))
    for _ in range(int(quarters) % 4):
        cos, sin = 0.0 - sin, cos
    return cos, sin
