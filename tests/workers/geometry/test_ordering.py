"""The order of paths: complete, repeatable, and for any number of paths."""

import numpy as np
import pytest

from workers.geometry.ordering import shortest_order


@pytest.mark.parametrize("count", [0, 1, 2, 3, 4, 7, 8, 9, 60])
def test_every_path_comes_once(count: int) -> None:
    """From none to many."""
    points_mm = np.random.default_rng(count).uniform(0, 100, (count, 4))

    order, turned = shortest_order(points_mm[:, :2], points_mm[:, 2:])

    assert sorted(order.tolist()) == list(range(count))
    assert len(turned) == count


def test_equal_places_are_no_trouble() -> None:
    """A hundred paths on one spot have distance 0 everywhere."""
    points_mm = np.full((100, 2), 5.0)

    order, _ = shortest_order(points_mm, points_mm)

    assert sorted(order.tolist()) == list(range(100))


def test_the_same_paths_give_the_same_order() -> None:
    """The shake-ups come from a fixed sequence."""
    starts_mm, ends_mm = np.random.default_rng(3).uniform(0, 100, (2, 200, 2))

    first, again = (shortest_order(starts_mm, ends_mm) for _ in range(2))

    assert (first[0] == again[0]).all()
    assert (first[1] == again[1]).all()


def test_one_path_starts_at_the_end_nearer_home() -> None:
    """Either sense costs the same round trip; the nearest end is tried first."""
    order, turned = shortest_order(np.array([[90.0, 0]]), np.array([[10.0, 0]]))

    assert order.tolist() == [0]
    assert turned.tolist() == [True]
