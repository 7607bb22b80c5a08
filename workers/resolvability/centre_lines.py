"""Strokes and the gaps between them, as lines with a width at every point."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from workers.geometry.outline_diagram import ink_axis, paper_axis
from workers.geometry.pruning import without_corners
from workers.geometry.strokes import strokes
from workers.values.medial_axis import MedialAxis
from workers.values.region import Region

_COMPACT_FRACTION = 0.5  # a part whose centre line is shorter than this share of its width is a dot


@dataclass(frozen=True, slots=True, eq=False)
class CentreLine:
    """One stroke or gap. A compact one, as long as it is wide, has a single point."""

    points_mm: NDArray[np.float64]  # (n, 3) x, y, width

    @property
    def lengths_mm(self) -> NDArray[np.float64]:
        """Length of each piece between two points."""
        steps_mm = np.diff(self.points_mm[:, :2], axis=0)
        return np.asarray(np.hypot(steps_mm[:, 0], steps_mm[:, 1]))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Measured:
    """The centre lines of ink, and of paper between ink; corners are no strokes of their own."""

    ink: MedialAxis
    paper: MedialAxis  # open field included
    strokes: tuple[CentreLine, ...]


@lru_cache(maxsize=3)  # examination, repair and advice ask for the same region within one step
def measured(region: Region) -> Measured:
    """Return the centre lines of an area and of what surrounds it, from one Voronoi diagram."""
    if region.polygons.is_empty:
        nothing = MedialAxis(
            nodes_mm=np.empty((0, 3)), edges=np.empty((0, 2), np.int32), lone_nodes=np.empty(0, np.int32)
        )
        return Measured(ink=nothing, paper=nothing, strokes=())
    ink, paper = (without_corners(axis(region)) for axis in (ink_axis, paper_axis))
    return Measured(ink=ink, paper=paper, strokes=tuple(map(_dot_if_compact, centre_lines(ink))))


def _dot_if_compact(line: CentreLine) -> CentreLine:
    """Return a stroke as its widest point where it is hardly longer than wide."""
    widest = int(line.points_mm[:, 2].argmax())
    if line.lengths_mm.sum() > _COMPACT_FRACTION * line.points_mm[widest, 2]:
        return line
    return CentreLine(line.points_mm[widest : widest + 1])


def centre_lines(axis: MedialAxis) -> tuple[CentreLine, ...]:
    """Return every stroke of an axis and every dot."""
    widths_mm = axis.nodes_mm * (1, 1, 2)
    lines = [CentreLine(widths_mm[run]) for run in strokes(axis)]
    dots = [CentreLine(widths_mm[node : node + 1]) for node in axis.lone_nodes.tolist()]
    return tuple(lines + dots)


def narrower_than(axis: MedialAxis, width_mm: float) -> MedialAxis:
    """Return the part of an axis that is narrower than a width, cut exactly there."""
    axis = split_at(axis, width_mm)
    radius_mm = axis.nodes_mm[:, 2]
    is_narrow = radius_mm < width_mm / 2
    return MedialAxis(
        nodes_mm=axis.nodes_mm,
        edges=axis.edges[is_narrow[axis.edges].any(axis=1)],
        lone_nodes=axis.lone_nodes[is_narrow[axis.lone_nodes]],
    )


def split_at(axis: MedialAxis, width_mm: float) -> MedialAxis:
    """Return the same axis with a node wherever its width passes a width; such nodes have just that."""
    is_narrow = axis.nodes_mm[:, 2] < width_mm / 2
    narrow_ends = is_narrow[axis.edges]
    across = np.flatnonzero(narrow_ends[:, 0] != narrow_ends[:, 1])
    start_mm, end_mm = axis.nodes_mm[axis.edges[across, 0]], axis.nodes_mm[axis.edges[across, 1]]
    share = (width_mm / 2 - start_mm[:, 2]) / (end_mm[:, 2] - start_mm[:, 2])
    cuts_mm = start_mm + share[:, None] * (end_mm - start_mm)
    cuts_mm[:, 2] = width_mm / 2
    cuts = len(axis.nodes_mm) + np.arange(len(across), dtype=np.int32)
    edges = axis.edges.copy()
    edges[across, 1] = cuts
    return MedialAxis(
        nodes_mm=np.vstack([axis.nodes_mm, cuts_mm]),
        edges=np.vstack([edges, np.column_stack([cuts, axis.edges[across, 1]])]),
        lone_nodes=axis.lone_nodes,
    )
