"""Which branches of a medial axis say nothing about the drawing, or only that it has corners."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.values.medial_axis import MedialAxis

_CORNER_STEEPNESS = 0.3  # of the radius along a branch: sin(b / 2), so corners of more than 35 degrees


def without_corners(axis: MedialAxis) -> MedialAxis:
    """Return the axis of the strokes alone, without the branches that run into their corners.

    A compact part, such as a square, is all corners: its widest node stays as a lone node.
    """
    chord_mm = np.diff(axis.nodes_mm[axis.edges, :2], axis=1)[:, 0]
    stays, is_last = peel(
        np.array(axis.edges),
        np.hypot(chord_mm[:, 0], chord_mm[:, 1]),
        axis.nodes_mm[:, 2].copy(),
        -math.inf,
        _CORNER_STEEPNESS,
    )
    is_last[axis.lone_nodes] = True
    return compact(axis.nodes_mm, axis.edges[stays], np.flatnonzero(is_last))


def compact(
    nodes_mm: NDArray[np.float64], edges: NDArray[np.int32], lone_nodes: NDArray[np.int64]
) -> MedialAxis:
    """Return the axis of these edges with only the nodes it needs, in their old order."""
    needed = np.zeros(len(nodes_mm), np.bool_)
    needed[edges] = True
    needed[lone_nodes] = True
    number = np.cumsum(needed, dtype=np.int32) - 1
    return MedialAxis(nodes_mm=nodes_mm[needed], edges=number[edges], lone_nodes=number[lone_nodes])


@njit(cache=True)
def peel(
    edges: NDArray[np.int32],
    lengths_mm: NDArray[np.float64],
    radii_mm: NDArray[np.float64],
    tolerance_mm: float,
    steepness: float,
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Peel branches whose loss takes no more than the tolerance off the drawing.

    A leaf goes while (length to the farthest tip peeled through it + that tip's radius)
    - radius of its neighbour <= tolerance: the neighbour's disc then covers all that the
    branch covered, but for the tolerance. It is no angle that decides, so a sharp corner
    stays however blunt, and the joints of a smooth curve's chords go. A leaf goes as well
    where the radius grows from it by at least the steepness. Trees cannot fall apart and
    loops cannot open.

    Args:
        edges: (m, 2) indices of nodes.
        lengths_mm: (m,) length of each edge.
        radii_mm: (n,) radius at each node.
        tolerance_mm: How much of the drawing may be lost, measured across its outline.
        steepness: Least growth of the radius, for each unit of length, of a branch to peel
            whatever it holds; infinite for none.

    Returns:
        Which edges stay; which nodes are the last of a tree that went entirely.
    """
    degree = np.zeros(len(radii_mm), np.int32)
    crossed = np.zeros(len(radii_mm), np.int32)  # exclusive or of the edges left: for a leaf, its only one
    for edge in range(len(edges)):
        for side in range(2):
            degree[edges[edge, side]] += 1
            crossed[edges[edge, side]] ^= edge
    queue = np.empty(len(radii_mm), np.int32)
    end = 0
    for node in range(len(radii_mm)):
        if degree[node] == 1:
            queue[end] = node
            end += 1
    reach_mm = radii_mm.copy()
    stays = np.ones(len(edges), np.bool_)
    is_last = np.zeros(len(radii_mm), np.bool_)
    start = 0
    while start < end:
        leaf = queue[start]
        start += 1
        if degree[leaf] != 1:  # its neighbour was peeled onto it
            continue
        edge = crossed[leaf]
        neighbour = edges[edge, 1] if edges[edge, 0] == leaf else edges[edge, 0]
        through_mm = reach_mm[leaf] + lengths_mm[edge]
        is_steep = radii_mm[neighbour] - radii_mm[leaf] >= steepness * lengths_mm[edge]
        if through_mm - radii_mm[neighbour] > tolerance_mm and not is_steep:
            continue
        stays[edge] = False
        degree[leaf] = 0
        degree[neighbour] -= 1
        crossed[neighbour] ^= edge
        reach_mm[neighbour] = max(reach_mm[neighbour], through_mm)
        if degree[neighbour] == 1:
            queue[end] = neighbour
            end += 1
        elif degree[neighbour] == 0:
            is_last[neighbour] = True
    return stays, is_last
