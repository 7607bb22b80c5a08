"""Runs of the axis between junctions and ends."""

import numpy as np
import pytest

from workers.geometry.chains import chains
from workers.values.medial_axis import MedialAxis


def axis(edges: list[tuple[int, int]], nodes_count: int) -> MedialAxis:
    """Return an axis with these edges; places do not matter here."""
    return MedialAxis(
        nodes_mm=np.zeros((nodes_count, 3)),
        edges=np.array(edges, np.int32).reshape(-1, 2),
        lone_nodes=np.empty(0, np.int32),
    )


def test_a_fork_is_three_runs() -> None:
    """Where three edges meet, every run ends; a node on the way does not end one."""
    found = chains(axis([(0, 1), (2, 1), (1, 3), (4, 3)], 5))

    assert sorted(sorted((run[0], run[-1])) for run in found) == [[0, 1], [1, 2], [1, 4]]
    assert sorted(len(run) for run in found) == [2, 2, 3]


def test_a_loop_closes_on_itself() -> None:
    """A loop without a junction is one run that names its first node twice."""
    (loop,) = chains(axis([(2, 0), (0, 1), (1, 2)], 3))

    assert loop[0] == loop[-1]
    assert sorted(loop[:-1]) == [0, 1, 2]


def test_a_loop_at_a_junction_starts_and_ends_there() -> None:
    """A loop with a tail is two runs, the loop from the junction to itself."""
    found = chains(axis([(0, 1), (1, 2), (2, 3), (3, 1)], 4))

    assert sorted((run[0], run[-1]) for run in found) in ([(0, 1), (1, 1)], [(1, 0), (1, 1)])


def test_two_edges_between_the_same_nodes_are_both_walked() -> None:
    """A ring of two nodes is a loop of two edges."""
    (loop,) = chains(axis([(0, 1), (1, 0)], 2))

    assert len(loop) == 3


def test_no_edges_no_runs() -> None:
    """A lone dot has no run."""
    assert chains(axis([], 1)) == []


@pytest.mark.parametrize("seed", range(5))
def test_every_edge_is_walked_once(seed: int) -> None:
    """On any graph the runs hold each edge exactly once."""
    random = np.random.default_rng(seed)
    edges = np.unique(np.sort(random.integers(0, 30, (60, 2)), axis=1), axis=0)
    edges = edges[edges[:, 0] != edges[:, 1]]

    found = chains(axis(edges.tolist(), 30))

    walked = np.sort(np.vstack([np.column_stack([run[:-1], run[1:]]) for run in found]), axis=1)
    assert np.array_equal(np.unique(walked, axis=0), edges)
    assert len(walked) == len(edges)
