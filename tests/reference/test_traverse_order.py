"""Traverses between paths against exhaustive search and the known length of random tours."""

import itertools
import math

import numpy as np
import pytest
from numpy.typing import NDArray

from workers.geometry.ordering import shortest_order

Floats = NDArray[np.float64]


def traverse_mm(
    starts_mm: Floats, ends_mm: Floats, order: NDArray[np.int32], turned: NDArray[np.bool_]
) -> float:
    """The round trip from (0, 0), by its definition."""
    enter_mm = np.where(turned[:, None], ends_mm[order], starts_mm[order])
    leave_mm = np.where(turned[:, None], starts_mm[order], ends_mm[order])
    steps_mm = np.vstack([enter_mm, [[0, 0]]]) - np.vstack([[[0, 0]], leave_mm])
    return float(np.hypot(*steps_mm.T).sum())


def best_mm(starts_mm: Floats, ends_mm: Floats) -> float:
    """The shortest of all orders and senses."""
    count = len(starts_mm)
    return min(
        traverse_mm(starts_mm, ends_mm, np.array(order, np.int32), np.array(turned))
        for order in itertools.permutations(range(count))
        for turned in itertools.product([False, True], repeat=count)
    )


@pytest.mark.parametrize("seed", range(8))
def test_few_paths_are_ordered_as_well_as_can_be(seed: int) -> None:
    """Five paths have 3840 orders; ours is the shortest of them."""
    rng = np.random.default_rng(seed)
    starts_mm, ends_mm = rng.uniform(0, 100, (2, 5, 2))

    order, turned = shortest_order(starts_mm, ends_mm)

    assert traverse_mm(starts_mm, ends_mm, order, turned) == pytest.approx(best_mm(starts_mm, ends_mm))


def test_many_dots_come_near_the_known_length() -> None:
    """The best tour of n random points in area A is about 0.7124 sqrt(n A), 2.7 % more at n = 1000.

    Beardwood, Halton and Hammersley 1959; the constant and the share for 1000 points from
    Johnson and McGeoch 1996 (memory). Nearest neighbour alone is some 25 % above.
    """
    points_mm = np.random.default_rng(1).uniform(0, 1, (1000, 2)) * (300, 200)
    known_mm = 0.7124 * math.sqrt(1000 * 300 * 200) * 1.027

    order, turned = shortest_order(points_mm, points_mm)

    length_mm = traverse_mm(points_mm, points_mm, order, turned)
    assert 0.95 * known_mm < length_mm < 1.07 * known_mm


def test_paths_in_a_row_are_run_to_and_fro() -> None:
    """Parallel strokes 10 mm apart: up one, down the next; the way between is 10 mm each."""
    x_mm = np.arange(1, 9) * 10.0
    starts_mm = np.column_stack([x_mm, np.zeros(8)])
    ends_mm = np.column_stack([x_mm, np.full(8, 50.0)])

    order, turned = shortest_order(starts_mm, ends_mm)

    assert traverse_mm(starts_mm, ends_mm, order, turned) == pytest.approx(10 * 8 + 80)
