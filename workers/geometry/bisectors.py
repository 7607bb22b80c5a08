"""Lines equally far from two sides or corners, and the straight pieces that stand for them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int32]

_LEAST_SPAN_MM = 1e-7  # a focus nearer to its line, or two corners nearer to each other, are no curve
_MARGIN = 0.99  # the step is true for short pieces; the longest deviate by half a percent more


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Bisectors:
    """Edges between nodes, each with the two things it is equally far from.

    Two sides: a straight line, its radius too. A side and a corner: a parabola.
    Two corners: a straight line, but its radius is a hyperbola.
    """

    edges: Integers  # (m, 2) nodes
    has_side: NDArray[np.bool_]
    has_corner: NDArray[np.bool_]
    first_mm: Floats  # (m, 4) ends of the side, or the first corner twice
    corner_mm: Floats  # (m, 2) the corner, or the second of two

    def taken(self, chosen: NDArray[np.bool_]) -> Bisectors:
        """Return some of them."""
        return Bisectors(
            edges=self.edges[chosen],
            has_side=self.has_side[chosen],
            has_corner=self.has_corner[chosen],
            first_mm=self.first_mm[chosen],
            corner_mm=self.corner_mm[chosen],
        )

    def with_edges(self, edges: Integers) -> Bisectors:
        """Return the same between other nodes."""
        return replace(self, edges=edges)

    def distances_mm(self, points_mm: Floats) -> Floats:
        """Return how far one point an edge is from what the edge parts."""
        start_mm = self.first_mm[:, :2]
        along_mm = self.first_mm[:, 2:] - start_mm
        off_mm = points_mm - start_mm
        across_mm2 = along_mm[:, 0] * off_mm[:, 1] - along_mm[:, 1] * off_mm[:, 0]
        length_mm = np.hypot(*along_mm.T)
        to_line_mm = np.abs(across_mm2) / np.where(length_mm > 0, length_mm, 1)
        return np.where(self.has_side, to_line_mm, np.hypot(*off_mm.T))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Curves:
    """The bisectors in coordinates of their own: along the side, or along the line of equal distance."""

    along: Floats  # (m, 2) unit vector
    towards: Floats  # (m, 2) unit vector from the side to the corner
    origin_mm: Floats  # (m, 2) the corner, or the middle between two
    span_mm: Floats  # (m,) corner to side, or half the gap between two corners
    reach_mm: Floats  # (m, 2) the edge's ends, along
    is_curved: NDArray[np.bool_]


def curves_of(bisectors: Bisectors, nodes_mm: Floats) -> Curves:
    """Return the bisectors between their nodes in coordinates of their own."""
    start_mm, end_mm = bisectors.first_mm[:, :2], bisectors.first_mm[:, 2:]
    across_mm = bisectors.corner_mm - start_mm
    side_mm = np.where(
        bisectors.has_side[:, None], end_mm - start_mm, np.column_stack([-across_mm[:, 1], across_mm[:, 0]])
    )
    length_mm = np.hypot(*side_mm.T)
    along = side_mm / np.where(length_mm > 0, length_mm, 1)[:, None]
    height_mm = along[:, 0] * across_mm[:, 1] - along[:, 1] * across_mm[:, 0]
    normal = np.column_stack([-along[:, 1], along[:, 0]]) * np.where(height_mm < 0, -1, 1)[:, None]
    span_mm = np.where(bisectors.has_side, np.abs(height_mm), np.hypot(*across_mm.T) / 2)
    middle_mm = (start_mm + bisectors.corner_mm) / 2
    origin_mm = np.where(bisectors.has_side[:, None], bisectors.corner_mm, middle_mm)
    reach_mm = np.einsum("mek,mk->me", nodes_mm[bisectors.edges, :2] - origin_mm[:, None], along)
    return Curves(
        along=along,
        towards=normal,
        origin_mm=origin_mm,
        span_mm=span_mm,
        reach_mm=reach_mm,
        is_curved=bisectors.has_corner & (span_mm > _LEAST_SPAN_MM),
    )


def lengths_mm(bisectors: Bisectors, nodes_mm: Floats) -> Floats:
    """Return the length of each edge, along its parabola where it is one."""
    chord_mm = np.diff(nodes_mm[bisectors.edges, :2], axis=1)[:, 0]
    length_mm: Floats = np.hypot(chord_mm[:, 0], chord_mm[:, 1])
    is_bent = bisectors.has_side & bisectors.has_corner
    curves = curves_of(bisectors.taken(is_bent), nodes_mm)
    span_mm = np.maximum(curves.span_mm, _LEAST_SPAN_MM)
    slope = curves.reach_mm / span_mm[:, None]
    primitive = slope * np.hypot(slope, 1) + np.arcsinh(slope)
    arc_mm = span_mm / 2 * np.abs(primitive[:, 1] - primitive[:, 0])
    length_mm[is_bent] = np.where(curves.is_curved, arc_mm, length_mm[is_bent])
    return length_mm


def subdivided(bisectors: Bisectors, nodes_mm: Floats, chord_mm: float) -> tuple[Floats, Integers]:
    """Return nodes and edges so that x, y and radius run straight along every edge.

    Even steps of asinh(along / span) put the same deviation into every piece: sqrt(4 e / span)
    on a parabola, sqrt(8 e / span) between two corners, e being the deviation allowed.

    Args:
        bisectors: The edges.
        nodes_mm: (n, 3) x, y, radius.
        chord_mm: Largest radius claimed over the distance to what the edge parts.
    """
    curves = curves_of(bisectors, nodes_mm)
    bent = np.flatnonzero(curves.is_curved)
    span_mm = curves.span_mm[bent]
    is_parabola = bisectors.has_side[bent]
    place = np.arcsinh(curves.reach_mm[bent] / span_mm[:, None])
    step = _MARGIN * np.sqrt(np.where(is_parabola, 4, 8) * chord_mm / span_mm)
    pieces = np.ones(len(bisectors.edges), np.int64)
    pieces[bent] = np.maximum(1, np.ceil(np.abs(place[:, 1] - place[:, 0]) / step - 1e-9))
    within = np.repeat(np.arange(len(bent)), pieces[bent] - 1)  # one entry a new node
    number = _count_up(pieces[bent] - 1) + 1
    reach = place[within, 0] + (place[within, 1] - place[within, 0]) * number / pieces[bent][within]
    span_mm, edge = span_mm[within], bent[within]
    along_mm = span_mm * np.sinh(reach)
    radius_mm = np.where(
        is_parabola[within], (along_mm**2 / span_mm + span_mm) / 2, np.hypot(along_mm, span_mm)
    )
    lift_mm = np.where(is_parabola[within], radius_mm - span_mm, 0)
    points_mm = (
        curves.origin_mm[edge]
        + along_mm[:, None] * curves.along[edge]
        + lift_mm[:, None] * curves.towards[edge]
    )
    grown_mm = np.vstack([nodes_mm, np.column_stack([points_mm, radius_mm])])
    return grown_mm, _strung(bisectors.edges, pieces, len(nodes_mm))


def _strung(edges: Integers, pieces: NDArray[np.int64], first_new: int) -> Integers:
    """Return the edges cut into pieces, new nodes being numbered along them in turn."""
    last = np.cumsum(pieces)
    starts, ends = (
        np.empty(last[-1] if len(last) else 0, np.int32),
        np.empty(last[-1] if len(last) else 0, np.int32),
    )
    is_last = np.zeros(len(ends), np.bool_)
    is_last[last - 1] = True
    new = first_new + np.arange(len(ends) - len(edges), dtype=np.int32)
    ends[is_last], ends[~is_last] = edges[:, 1], new
    is_first = np.roll(is_last, 1)
    starts[is_first], starts[~is_first] = edges[:, 0], new
    return np.column_stack([starts, ends])


def _count_up(counts: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return 0, 1, ... for each count in turn."""
    return np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
