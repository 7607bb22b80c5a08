"""Closed rings filled to areas, by either rule of drawing."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

from workers.layout.areas import joined

Points = NDArray[np.float64]


def filled_nonzero(rings: Sequence[Points]) -> MultiPolygon:
    """Return the area that rings turn around more often one way than the other: how fonts are drawn.

    Source: the nonzero fill rule (SVG 2, painting, fill-rule).
    """
    return _filled(rings, lambda turns: turns != 0)


def filled_even_odd(rings: Sequence[Points]) -> MultiPolygon:
    """Return the area that an odd number of rings surround: how our drawings are filled.

    Source: the evenodd fill rule (SVG 2, painting, fill-rule).
    """
    return _filled(rings, lambda turns: turns % 2 == 1)


def _filled(rings: Sequence[Points], counts: Callable[[int], bool]) -> MultiPolygon:
    if not rings:
        return MultiPolygon()
    lines = shapely.union_all(
        np.array([shapely.LinearRing(ring) for ring in rings])
    )  # noded where they cross
    faces = [face for face in shapely.get_parts(shapely.polygonize([lines])) if isinstance(face, Polygon)]
    starts = np.concatenate(rings)
    ends = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    return joined([face for face in faces if counts(_turns_around(starts, ends, face))])


def _turns_around(starts: Points, ends: Points, face: Polygon) -> int:
    """How often the sides turn around a face, anticlockwise positive, by a ray to the right."""
    point = face.representative_point()
    x, y = point.x, point.y
    rises = (starts[:, 1] <= y) & (ends[:, 1] > y)
    falls = (starts[:, 1] > y) & (ends[:, 1] <= y)
    along, to_point = ends - starts, np.array([x, y]) - starts
    side = along[:, 0] * to_point[:, 1] - along[:, 1] * to_point[:, 0]
    return int(np.count_nonzero(rises & (side > 0)) - np.count_nonzero(falls & (side < 0)))
