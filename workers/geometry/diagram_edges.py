"""The edges of a segment Voronoi diagram: what they part, on which side of the outline, how far from it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from workers.geometry.bisectors import Bisectors
from workers.geometry.segment_voronoi import NOWHERE, SEGMENT, START_POINT, SegmentVoronoi

Floats = NDArray[np.float64]
Integers = NDArray[np.int32]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class DiagramEdges:
    """Edges of the diagram, each with the two cells it parts."""

    edges: Integers  # (m, 2) vertices
    cells: Integers  # (m, 2) on the left, on the right

    def taken(self, chosen: Flags) -> DiagramEdges:
        """Return some of them."""
        return DiagramEdges(edges=self.edges[chosen], cells=self.cells[chosen])


def finite_edges(voronoi: SegmentVoronoi) -> DiagramEdges:
    """Return all edges but the rays."""
    edges, cells = voronoi.starts.reshape(-1, 2), voronoi.cells.reshape(-1, 2)
    finite = (edges != NOWHERE).all(axis=1)
    return DiagramEdges(edges=edges[finite], cells=cells[finite])


def is_bisecting(voronoi: SegmentVoronoi, pieces: DiagramEdges) -> Flags:
    """Tell which edges do more than part a side from its own end."""
    is_side = voronoi.cell_parts[pieces.cells] == SEGMENT
    mixed = np.flatnonzero(is_side[:, 0] != is_side[:, 1])
    left, right = pieces.cells[mixed].T
    side_cell = np.where(is_side[mixed, 0], left, right)
    point_mm = points_of(voronoi, np.where(is_side[mixed, 0], right, left))
    ends_mm = voronoi.sides_mm[voronoi.cell_sides[side_cell]]
    is_own_end = (point_mm == ends_mm[:, :2]).all(axis=1) | (point_mm == ends_mm[:, 2:]).all(axis=1)
    bisecting = np.ones(len(pieces.edges), np.bool_)
    bisecting[mixed[is_own_end]] = False
    return bisecting


def points_of(voronoi: SegmentVoronoi, cells: Integers) -> Floats:
    """Return the corners that point cells belong to."""
    ends_mm = voronoi.sides_mm[voronoi.cell_sides[cells]]
    at_start = voronoi.cell_parts[cells] == START_POINT
    return np.where(at_start[:, None], ends_mm[:, :2], ends_mm[:, 2:])


def is_inside(voronoi: SegmentVoronoi, pieces: DiagramEdges) -> Flags:
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


def with_radii(voronoi: SegmentVoronoi, pieces: DiagramEdges) -> tuple[Bisectors, Floats]:
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
            np.tile(points_of(voronoi, first), 2),
        ),
        corner_mm=points_of(voronoi, second),
    )
    nodes_mm = np.column_stack([voronoi.vertices_mm, np.zeros(len(voronoi.vertices_mm))])
    for end in (0, 1):
        vertex = pieces.edges[:, end]
        nodes_mm[vertex, 2] = bisectors.distances_mm(nodes_mm[vertex, :2])
    return bisectors, nodes_mm


def _cross(first: Floats, second: Floats) -> Floats:
    return np.asarray(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0])
