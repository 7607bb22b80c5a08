"""Areas joined and moved: the few operations on polygons that this room needs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

_CHORD_MM = 0.003  # with the 0.005 of flattening less than half of what tracing promises


def joined(areas: Sequence[MultiPolygon | Polygon]) -> MultiPolygon:
    """Return the union of areas."""
    return _as_multipolygon(shapely.union_all(np.array(areas, dtype=object)))


def thinned(area: MultiPolygon) -> MultiPolygon:
    """Return the area with only those corners that its outline needs to stay where it is.

    Curves were cut up at another size, and for their sharpest bend: a third of the corners
    is of no use on the board, and every later stage costs by the corner. The library moves no
    side by more than a third over what it is asked.
    """
    return _as_multipolygon(shapely.simplify(area, _CHORD_MM, preserve_topology=True))


def moved(area: MultiPolygon, x_mm: float, y_mm: float) -> MultiPolygon:
    """Return the area shifted."""
    shifted: MultiPolygon = shapely.transform(area, lambda points: points + np.array([x_mm, y_mm]))
    return shifted


def turned(area: MultiPolygon, turn_deg: float) -> MultiPolygon:
    """Return the area turned anticlockwise about 0, 0; quarter turns exactly."""
    matrix = _turn(turn_deg)
    result: MultiPolygon = shapely.transform(area, lambda points: points @ matrix)
    return result


def ring_of(polygon: Polygon) -> NDArray[np.float64]:
    """Return the outer ring's points, the first repeated at the end."""
    return np.asarray(polygon.exterior.coords, dtype=np.float64)


def _turn(turn_deg: float) -> NDArray[np.float64]:
    """The matrix for points as rows."""
    quarters, rest_deg = divmod(turn_deg, 90)
    rest_rad = np.radians(rest_deg)
    cosine, sine = np.cos(rest_rad), np.sin(rest_rad)
    quarter = np.array([[0.0, 1.0], [-1.0, 0.0]])
    rest = np.array([[cosine, sine], [-sine, cosine]])
    matrix: NDArray[np.float64] = rest @ np.linalg.matrix_power(quarter, int(quarters) % 4)
    return matrix


def _as_multipolygon(geometry: shapely.Geometry) -> MultiPolygon:
    parts = [part for part in shapely.get_parts(geometry) if isinstance(part, Polygon) and part.area > 0]
    return MultiPolygon(parts)
