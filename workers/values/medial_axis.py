"""The middle of an area, and how wide the area is there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.values.arrays import frozen


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class MedialAxis:
    """Centres of the largest discs that fit into an area, with their radii.

    Along an edge x, y and radius run straight from node to node. A round dot has
    no edge: its one node stands among ``lone_nodes``.
    """

    nodes_mm: NDArray[np.float64]  # (n, 3) x, y, radius
    edges: NDArray[np.int32]  # (m, 2) indices of nodes
    lone_nodes: NDArray[np.int32]  # (k,) indices of nodes without an edge

    def __post_init__(self) -> None:
        object.__setattr__(self, "nodes_mm", frozen(self.nodes_mm, np.float64, 2, 3))
        object.__setattr__(self, "edges", frozen(self.edges, np.int32, 2, 2))
        object.__setattr__(self, "lone_nodes", frozen(self.lone_nodes, np.int32, 1))
