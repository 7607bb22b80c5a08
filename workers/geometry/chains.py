"""A medial axis cut at its junctions into unbroken runs."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.values.medial_axis import MedialAxis


def chains(axis: MedialAxis) -> list[NDArray[np.int32]]:
    """Return the axis as runs of nodes between junctions and ends; every edge is in one run.

    A closed loop without a junction names its first node again at its end. Lone nodes
    are in no run.
    """
    if not len(axis.edges):
        return []
    nodes, ends = _walk(axis.edges, len(axis.nodes_mm))
    return np.split(nodes, ends[:-1])


@njit(cache=True)
def _walk(edges: NDArray[np.int32], nodes_count: int) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Return all runs one after another, and where each ends."""
    degree = np.zeros(nodes_count, np.int32)
    crossed = np.zeros(
        nodes_count, np.int32
    )  # exclusive or of the node's edges: the one out, given the one in
    for edge in range(len(edges)):
        for side in range(2):
            degree[edges[edge, side]] += 1
            crossed[edges[edge, side]] ^= edge
    walked = np.zeros(len(edges), np.bool_)
    nodes = np.empty(2 * len(edges), np.int32)
    ends = np.empty(len(edges), np.int32)
    length = 0
    runs = 0
    for loops in (False, True):  # first what starts at a junction or an end, then what is left
        for first in range(len(edges)):
            if walked[first]:
                continue
            start = edges[first, 0]
            if degree[start] == 2 and not loops:
                start = edges[first, 1]
                if degree[start] == 2:
                    continue
            node, edge = start, first
            nodes[length] = node
            length += 1
            while True:
                walked[edge] = True
                node = edges[edge, 1] if edges[edge, 0] == node else edges[edge, 0]
                nodes[length] = node
                length += 1
                if degree[node] != 2 or node == start:
                    break
                edge = crossed[node] ^ edge
            ends[runs] = length
            runs += 1
    return nodes[:length], ends[:runs]
