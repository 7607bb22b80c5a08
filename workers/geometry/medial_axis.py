"""The medial axis of an area: where a V-bit rides, and how deep."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from workers.geometry.bisectors import Bisectors, lengths_mm, subdivided
from workers.geometry.pruning import compact, peel
from workers.geometry.segment_voronoi import NOWHERE, SEGMENT, START_POINT, SegmentVoronoi, segment_voronoi
from workers.values.medial_axis import MedialAxis
from workers.values.region import Region

Floats = NDArray[np.float64]
Integers = NDArray[np.int32]
Flags = NDArray[np.bool_]


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
        It has as many parts as the area, and as many loops as the area has holes.

    Source: T. H. Blum's transform; the diagram is that of sides and corners, so nothing is
    sampled; tests/reference/test_medial_axis_closed_forms.py.
    """
    if region.polygons.is_empty:
        return MedialAxis(
            nodes_mm=np.empty((0, 3)), edges=np.empty((0, 2), np.int32), lone_nodes=np.empty(0, np.int32)
        )
    return axis_of(segment_voronoi(region), tolerance_mm, chord_mm)


def axis_of(
    voronoi: SegmentVoronoi, tolerance_mm: float = 0.02, chord_mm: float = 0.005, *, outside: bool = False
) -> MedialAxis:
    """Return the medial axis that a diagram already built holds; as ``medial_axis``.

    Args:
        voronoi: The diagram.
        tolerance_mm: As for ``medial_axis``.
        chord_mm: As for ``medial_axis``.
        outside: Take the axis of what surrounds the area instead, as far as it has ends: the
            rays that run to infinity are left out.
    """
    pieces = _bisecting(voronoi)
    inside = _is_inside(voronoi, pieces)
    pieces = pieces.taken(~inside if outside else inside)
    bisectors, nodes_mm = _with_radii(voronoi, pieces)
    bisectors, nodes_mm = _parted_where_rings_touch(bisectors, nodes_mm, voronoi.grid_mm)
    stays, is_last = peel(
        bisectors.edges, lengths_mm(bisectors, nodes_mm), nodes_mm[:, 2].copy(), tolerance_mm, math.inf
    )
    nodes_mm, edges = subdivided(bisectors.taken(stays), nodes_mm, chord_mm)
    return compact(nodes_mm, edges, np.flatnonzero(is_last))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Pieces:
    """Edges of the diagram, each with the two cells it parts."""

    edges: Integers  # (m, 2) vertices
    cells: Integers  # (m, 2) on the left, on the right

    def taken(self, chosen: Flags) -> _Pieces:
        return _Pieces(edges=self.edges[chosen], cells=self.cells[chosen])


def _bisecting(voronoi: SegmentVoronoi) -> _Pieces:
    """Return the finite edges but those between a side and its own end."""
    edges, cells = voronoi.starts.reshape(-1, 2), voronoi.cells.reshape(-1, 2)
    finite = (edges != NOWHERE).all(axis=1)
    pieces = _Pieces(edges=edges[finite], cells=cells[finite])
    is_side = voronoi.cell_parts[pieces.cells] == SEGMENT
    mixed = np.flatnonzero(is_side[:, 0] != is_side[:, 1])
    left, right = pieces.cells[mixed].T
    side_cell = np.where(is_side[mixed, 0], left, right)
    point_mm = _points_of(voronoi, np.where(is_side[mixed, 0], right, left))
    ends_mm = voronoi.sides_mm[voronoi.cell_sides[side_cell]]
    is_own_end = (point_mm == ends_mm[:, :2]).all(axis=1) | (point_mm == ends_mm[:, 2:]).all(axis=1)
    bisecting = np.ones(len(pieces.edges), np.bool_)
    bisecting[mixed[is_own_end]] = False
    return pieces.taken(bisecting)


def _points_of(voronoi: SegmentVoronoi, cells: Integers) -> Floats:
    """Return the corners that point cells belong to."""
    ends_mm = voronoi.sides_mm[voronoi.cell_sides[cells]]
    at_start = voronoi.cell_parts[cells] == START_POINT
    return np.where(at_start[:, None], ends_mm[:, :2], ends_mm[:, 2:])


def _is_inside(voronoi: SegmentVoronoi, pieces: _Pieces) -> Flags:
    """Tell which edges are inside the area, from the nearest side or corner alone.

    Beside a side it is the hand on which the edge lies. Between two corners it is the
    corner's turn: the discs that touch a corner are inside only where it is reflex.
    """
    sides_mm = voronoi.sides_mm
    along_mm = sides_mm[:, 2:] - sides_mm[:, :2]
    middle_mm = voronoi.vertices_mm[pieces.edges].mean(axis=1)
    is_side = voronoi.cell_parts[pieces.cells] == SEGMENT
    cell = np.where(is_side[:, 0], pieces.cells[:, 0], pieces.cells[:, 1])
    side = voronoi.cell_sides[cell]
    inside = _cross(along_mm[side], middle_mm - sides_mm[side, :2]) > 0
    between = np.flatnonzero(~is_side.any(axis=1))
    at_start = voronoi.cell_parts[pieces.cells[between]] == START_POINT
    corners = voronoi.cell_sides[pieces.cells[between]]
    corners = np.where(at_start, corners, voronoi.following[corners])  # the side that starts at the corner
    turn = voronoi.turns[corners[:, 1]]
    inside[between] = np.where(turn == 0, inside[between], turn < 0)
    touching = between[voronoi.shared[corners].any(axis=1)]  # two turns at one corner
    inside[touching] = shapely.contains_xy(voronoi.area_mm, *middle_mm[touching].T)
    return np.asarray(inside)


def _with_radii(voronoi: SegmentVoronoi, pieces: _Pieces) -> tuple[Bisectors, Floats]:
    """Return the edges with what they part, and the vertices with their distance to the outline."""
    left, right = pieces.cells.T
    left_side, right_side = (voronoi.cell_parts[cells] == SEGMENT for cells in (left, right))
    swapped = right_side & ~left_side  # so that a side comes before a corner
    first, second = np.where(swapped, right, left), np.where(swapped, left, right)
    bisectors = Bisectors(
        edges=pieces.edges,
        has_side=left_side | right_side,
        has_corner=~(left_side & right_side),
        first_mm=np.where(
            (left_side | right_side)[:, None],
            voronoi.sides_mm[voronoi.cell_sides[first]],
            np.tile(_points_of(voronoi, first), 2),
        ),
        corner_mm=_points_of(voronoi, second),
    )
    nodes_mm = np.column_stack([voronoi.vertices_mm, np.zeros(len(voronoi.vertices_mm))])
    for end in (0, 1):
        vertex = pieces.edges[:, end]
        nodes_mm[vertex, 2] = bisectors.distances_mm(nodes_mm[vertex, :2])
    return bisectors, nodes_mm


def _parted_where_rings_touch(
    bisectors: Bisectors, nodes_mm: Floats, grid_mm: float
) -> tuple[Bisectors, Floats]:
    """Give each edge an end of its own where parts of the area meet in a mere point."""
    ends = bisectors.edges.ravel()
    degree = np.bincount(ends, minlength=len(nodes_mm))
    shared = np.flatnonzero((nodes_mm[ends, 2] < grid_mm) & (degree[ends] > 1))
    if not len(shared):
        return bisectors, nodes_mm
    parted = ends.copy()
    parted[shared] = len(nodes_mm) + np.arange(len(shared), dtype=np.int32)
    return bisectors.with_edges(parted.reshape(-1, 2)), np.vstack([nodes_mm, nodes_mm[ends[shared]]])


def _cross(first: Floats, second: Floats) -> Floats:
    return np.asarray(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0])
