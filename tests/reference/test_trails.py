"""Trails through nets of pieces, against theorems and exhaustive search.

Euler 1736 (the bridges of Koenigsberg); the route inspection problem: a set of odd
nodes joined as cheaply as possible (Kwan 1960).
"""

import itertools
from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from workers.toolpaths.trails import trails

Integers = NDArray[np.int32]
Floats = NDArray[np.float64]


def net(*pieces: tuple[int, int]) -> Integers:
    """Pieces of a net, by the nodes they join."""
    return np.array(pieces, np.int32)


def run(
    ends: Integers, lengths_mm: Floats, lift_worth_mm: float, deep_mm: Floats | None = None
) -> tuple[int, list[int]]:
    """Number of trails, and how often each piece is run; checks that trails hang together."""
    times = [0] * len(ends)
    deep_mm = np.zeros(int(ends.max()) + 1) if deep_mm is None else deep_mm
    found = trails(ends, lengths_mm, deep_mm, lift_worth_mm)
    for pieces, backwards in found:
        here = None
        for piece, is_backwards in zip(pieces.tolist(), backwards.tolist(), strict=True):
            first, last = ends[piece][::-1] if is_backwards else ends[piece]
            assert here is None or here == first
            here = last
            times[piece] += 1
    return len(found), times


def test_koenigsberg_needs_two_trails() -> None:
    """Four odd nodes: two trails, no bridge crossed twice, if a lift costs next to nothing."""
    bridges = net((0, 1), (0, 1), (0, 2), (0, 2), (0, 3), (1, 3), (2, 3))

    count, times = run(bridges, np.ones(7), 0.01)

    assert count == 2
    assert times == [1] * 7


def test_koenigsberg_in_one_trail_crosses_one_bridge_twice() -> None:
    """With two odd nodes left a single trail will do; one bridge joins the other two."""
    bridges = net((0, 1), (0, 1), (0, 2), (0, 2), (0, 3), (1, 3), (2, 3))

    count, times = run(bridges, np.ones(7), 100.0)

    assert count == 1
    assert sorted(times) == [1] * 6 + [2]


def test_a_star_of_three_is_one_trail_with_its_shortest_leg_twice() -> None:
    """Three legs and the middle are odd: running one leg twice leaves two ends."""
    count, times = run(net((0, 1), (0, 2), (0, 3)), np.array([5.0, 2.0, 9.0]), 50.0)

    assert count == 1
    assert times == [1, 2, 1]


def test_a_lone_stroke_is_never_run_twice() -> None:
    """Its two ends are the ends of the one trail it needs anyway."""
    assert run(net((0, 1)), np.array([1.0]), 1000.0) == (1, [1])


def test_loops_and_parallel_pieces_are_run() -> None:
    """A loop on one node and a pair between two nodes close up without a lift."""
    assert run(net((0, 0), (0, 1), (0, 1)), np.array([3.0, 1.0, 1.0]), 10.0) == (1, [1, 1, 1])


def test_separate_nets_are_separate_trails() -> None:
    """No running twice joins what is apart."""
    assert run(net((0, 1), (2, 3)), np.ones(2), 1000.0) == (2, [1, 1])


def test_a_trail_ends_where_that_is_shallow() -> None:
    """Three equal legs: the one with the deep end is run twice, so that both ends lie at the face."""
    legs, deep_mm = net((0, 1), (0, 2), (0, 3)), np.array([0.0, 0.0, 4.0, 0.0])

    assert run(legs, np.full(3, 5.0), 50.0, deep_mm) == (1, [1, 2, 1])


@pytest.mark.parametrize("seed", range(40))
def test_on_trees_no_choice_is_cheaper(seed: int) -> None:
    """Every way of running pieces twice is tried; cost = what is run twice + the lifts + depths of ends."""
    rng = np.random.default_rng(seed)
    nodes = int(rng.integers(2, 9))
    ends = net(*((int(rng.integers(0, node)), node) for node in range(1, nodes)))
    lengths_mm = rng.uniform(1, 10, nodes - 1)
    lift_mm = float(rng.choice([0.5, 3.0, 8.0, 30.0]))
    deep_mm = rng.choice([0.0, 1.0, 6.0], nodes)

    count, times = run(ends, lengths_mm, lift_mm, deep_mm)

    ours_mm = lengths_mm @ (np.array(times) - 1) + lift_mm * count + _odd(ends, times) @ deep_mm
    assert ours_mm == pytest.approx(_cheapest(ends, lengths_mm, lift_mm, deep_mm))


def _odd(ends: Integers, times: Sequence[int]) -> Integers:
    """1 for each node at which an odd number of runs meets."""
    degree = np.zeros(int(ends.max()) + 1, np.int32)
    for piece, often in zip(ends.tolist(), times, strict=True):
        degree[piece] += often
    return degree % 2


def _cheapest(ends: Integers, lengths_mm: Floats, lift_mm: float, deep_mm: Floats) -> float:
    costs = []
    for twice in itertools.product([0, 1], repeat=len(ends)):
        odd = _odd(ends, [1 + again for again in twice])
        trails_count = max(1, int(odd.sum()) // 2)
        costs.append(float(lengths_mm @ np.array(twice) + lift_mm * trails_count + odd @ deep_mm))
    return min(costs)
