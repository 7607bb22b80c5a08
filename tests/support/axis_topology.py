"""How many pieces and loops a medial axis has, and how many it must have."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely
from numpy.typing import NDArray

from workers.values.medial_axis import MedialAxis
from workers.values.region import Region


def parts_and_loops(axis: MedialAxis) -> tuple[int, int]:
    """Return how many pieces an axis has, and how many independent loops."""
    parts = _groups(len(axis.nodes_mm), axis.edges.tolist())
    return parts, len(axis.edges) - len(axis.nodes_mm) + parts


def parts_and_gaps(region: Region) -> tuple[int, int]:
    """Return how many parts an area has, and round how many gaps one can walk without leaving it.

    Holes that touch each other count as one, and one that touches the outer ring as none: nothing passes
    through a mere point.
    """
    polygons = region.polygons.geoms
    return len(polygons), sum(_gaps([part.exterior, *part.interiors]) for part in polygons)


def _gaps(rings: list[shapely.Geometry]) -> int:
    """Return how many groups of rings that touch there are besides the outer ring's."""
    pairs: NDArray[np.int64] = shapely.STRtree(rings).query(rings, predicate="intersects")
    return _groups(len(rings), pairs.T.tolist()) - 1


def _groups(count: int, pairs: Iterable[tuple[int, int]]) -> int:
    """Return into how many groups pairs tie things together."""
    root = list(range(count))

    def find(one: int) -> int:
        while root[one] != one:
            root[one] = root[root[one]]
            one = root[one]
        return one

    for first, second in pairs:
        root[find(first)] = find(second)
    return len({find(one) for one in range(count)})
