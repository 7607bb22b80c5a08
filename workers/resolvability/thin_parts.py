"""Which parts of an axis a repair has to do with: what an examination finds too thin, and dead ends."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from workers.geometry.chains import chains
from workers.resolvability.centre_lines import narrower_than, split_at
from workers.values.examination import Judged
from workers.values.medial_axis import MedialAxis

_ON_LINE_MM = 1e-6  # a run's line goes through the very nodes of the axis


def part_along(axis: MedialAxis, runs: Sequence[Judged], width_mm: float) -> MedialAxis:
    """Return the part of an axis that is narrower than a width and lies in one of the runs.

    Args:
        axis: The ink's, or the paper's.
        runs: Stretches of it, as judged; of a dot all of the axis in it counts.
        width_mm: What is at least as wide is left out.
    """
    narrow = narrower_than(axis, width_mm)
    if not runs or not len(narrow.edges) + len(narrow.lone_nodes):
        return dataclasses.replace(narrow, edges=narrow.edges[:0], lone_nodes=narrow.lone_nodes[:0])
    middles_mm = narrow.nodes_mm[narrow.edges, :2].mean(axis=1)
    return dataclasses.replace(
        narrow,
        edges=narrow.edges[_in_runs(middles_mm, runs)],
        lone_nodes=narrow.lone_nodes[_in_runs(narrow.nodes_mm[narrow.lone_nodes, :2], runs)],
    )


def _in_runs(places_mm: NDArray[np.float64], runs: Sequence[Judged]) -> NDArray[np.bool_]:
    """Tell which places lie on the line of a run, or within the dot that one is."""
    is_dot = np.array([len(run.line_mm) == 1 for run in runs])
    lines = [line_of(run) for run in runs]
    reach_mm = np.where(is_dot, [run.width_mm for run in runs], _ON_LINE_MM)
    inside = np.zeros(len(places_mm), np.bool_)
    tree = shapely.STRtree(np.asarray(shapely.points(places_mm)))
    inside[tree.query(lines, predicate="dwithin", distance=reach_mm)[1]] = True
    return inside


def line_of(run: Judged) -> BaseGeometry:
    """Return the line of a run; of a dot its point."""
    return shapely.Point(run.line_mm[0]) if len(run.line_mm) == 1 else shapely.LineString(run.line_mm)


def without_dead_ends(axis: MedialAxis, width_mm: float, longest_mm: float) -> MedialAxis:
    """Return an axis of gaps with its dead ends cut back, where a gap narrows to nothing between two strokes.

    There the strokes run into each other, and may do so a little sooner: the gap gets shorter
    and stays one gap.

    Args:
        axis: Of the paper.
        width_mm: An end is given up as far as the gap is narrower.
        longest_mm: But no more of it than this.
    """
    axis = split_at(axis, width_mm)
    radius_mm = axis.nodes_mm[:, 2]
    degree = np.bincount(axis.edges.ravel(), minlength=len(axis.nodes_mm))
    is_narrow = (radius_mm[axis.edges] <= width_mm / 2).all(axis=1)
    given_up = np.zeros(len(axis.nodes_mm), np.bool_)
    for run in chains(dataclasses.replace(axis, edges=axis.edges[is_narrow])):
        is_dead = (degree[run[[0, -1]]] == 1) & (radius_mm[run[[0, -1]]] < width_mm / 2)
        if is_dead.sum() != 1:
            continue
        inward = run if is_dead[0] else run[::-1]
        along_mm = np.cumsum(np.hypot(*np.diff(axis.nodes_mm[inward, :2], axis=0).T))
        given_up[inward[:-1][along_mm <= longest_mm]] = True
    return dataclasses.replace(axis, edges=axis.edges[~given_up[axis.edges].any(axis=1)])
