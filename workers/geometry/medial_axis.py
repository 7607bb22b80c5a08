"""The medial axis of an area: where a V-bit rides, and how deep."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.geometry.bisectors import Bisectors, lengths_mm, subdivided
from workers.geometry.diagram_edges import finite_edges, is_bisecting, is_inside, with_radii
from workers.geometry.pruning import compact, peel
from workers.geometry.segment_voronoi import SegmentVoronoi, segment_voronoi
from workers.values.medial_axis import MedialAxis
from workers.values.region import Region

Floats = NDArray[np.float64]
Integers = NDArray[np.int32]


def medial_axis(region: Region, tolerance_mm: float = 0.02, chord_mm: float = 0.005) -> MedialAxis:
    """Return the centres of the largest discs in an area, where they say something of it.

    Args:
        region: The area.
        tolerance_mm: Branches go whose loss takes no more than this off the area: the
            joints of a smooth curve's chords. Twice the tolerance of the outline is right.
        chord_mm: How far the straight pieces between nodes may be from the true axis,
            counted as the radius they claim over the distance to the outline.

    Returns:
        The axis; its radii are the distances to the outline within a millionth of a mm.
        It has as many parts as the area, and as many loops as the area has holes; holes that
        touch count as one, and one that touches the outline as none.

    Source: T. H. Blum's transform; the diagram is that of sides and corners, so nothing is
    sampled; closed forms in tests/reference/test_medial_axis_positions.py.
    """
    if region.polygons.is_empty:
        return MedialAxis(
            nodes_mm=np.empty((0, 3)), edges=np.empty((0, 2), np.int32), lone_nodes=np.empty(0, np.int32)
        )
    inside, _ = whole_axes(segment_voronoi(region))
    return pruned(inside, tolerance_mm, chord_mm)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class WholeAxis:
    """All that is equally far from two places of an outline, on one side of it: joints of chords and all."""

    bisectors: Bisectors
    nodes_mm: Floats  # (n, 3) x, y, radius
    lengths_mm: Floats  # (m,) of the bisectors


def whole_axes(voronoi: SegmentVoronoi) -> tuple[WholeAxis, WholeAxis]:
    """Return what a diagram holds inside its area and around it; there without the rays to infinity."""
    pieces = finite_edges(voronoi)
    pieces = pieces.taken(is_bisecting(voronoi, pieces))
    inside = is_inside(voronoi, pieces)
    bisectors, nodes_mm = with_radii(voronoi, pieces)
    length_mm = lengths_mm(bisectors, nodes_mm)
    bisectors, nodes_mm = _parted_where_rings_touch(bisectors, nodes_mm, voronoi.meeting)
    one, other = (
        WholeAxis(bisectors=bisectors.taken(side), nodes_mm=nodes_mm, lengths_mm=length_mm[side])
        for side in (inside, ~inside)
    )
    return one, other


def pruned(whole: WholeAxis, tolerance_mm: float = 0.02, chord_mm: float = 0.005) -> MedialAxis:
    """Return the axis without the branches that say nothing; as ``medial_axis``."""
    bisectors, nodes_mm = whole.bisectors, whole.nodes_mm
    stays, is_last = peel(bisectors.edges, whole.lengths_mm, nodes_mm[:, 2].copy(), tolerance_mm, math.inf)
    nodes_mm, edges = subdivided(bisectors.taken(stays), nodes_mm, chord_mm)
    return compact(nodes_mm, edges, np.flatnonzero(is_last))


def _parted_where_rings_touch(
    bisectors: Bisectors, nodes_mm: Floats, meeting: NDArray[np.bool_]
) -> tuple[Bisectors, Floats]:
    """Give each edge an end of its own where parts of the area meet in a mere point."""
    ends = bisectors.edges.ravel()
    shared = np.flatnonzero(meeting[ends])
    if not len(shared):
        return bisectors, nodes_mm
    parted = ends.copy()
    parted[shared] = len(nodes_mm) + np.arange(len(shared), dtype=np.int32)
    return bisectors.with_edges(parted.reshape(-1, 2)), np.vstack([nodes_mm, nodes_mm[ends[shared]]])
