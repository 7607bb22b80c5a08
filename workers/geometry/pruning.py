"""Which branches of a medial axis say nothing about the drawing."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray


@njit(cache=True)
def peel(
    edges: NDArray[np.int32],
    lengths_mm: NDArray[np.float64],
    radii_mm: NDArray[np.float64],
    tolerance_mm: float,
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Peel branches whose loss takes no more than the tolerance off the drawing.

    A leaf goes while (length to the farthest tip peeled through it + that tip's radius)
    - radius of its neighbour <= tolerance: the neighbour's disc then covers all that the
    branch covered, but for the tolerance. It is no angle that decides, so a sharp corner
    stays however blunt, and the joints of a smooth curve's chords go. Trees cannot fall
    apart and loops cannot open.

    Args:
        edges: (m, 2) indices of nodes.
        lengths_mm: (m,) length of each edge.
        radii_mm: (n,) radius at each node.
        tolerance_mm: How much of the drawing may be lost, measured across its outline.

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
        if through_mm - radii_mm[neighbour] > tolerance_mm:
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
