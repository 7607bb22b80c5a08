"""Connected parts, against a flood fill written here and pictures one can count."""

from __future__ import annotations

import numpy as np
import pytest

from workers.rectification.runs import painted, parts_of


def flooded(mask: np.ndarray, corners: bool) -> list[int]:
    """Return the sizes of the connected parts of a mask, largest first, by filling them one by one."""
    left = {(int(r), int(c)) for r, c in zip(*np.nonzero(mask), strict=True)}
    steps = [(0, 1), (1, 0), (0, -1), (-1, 0)] + ([(1, 1), (1, -1), (-1, 1), (-1, -1)] if corners else [])
    sizes = []
    while left:
        front, size = [left.pop()], 0
        while front:
            row, column = front.pop()
            size += 1
            for down, across in steps:
                near = (row + down, column + across)
                if near in left:
                    left.remove(near)
                    front.append(near)
        sizes.append(size)
    return sorted(sizes, reverse=True)


@pytest.mark.parametrize("share", [0.2, 0.41, 0.6, 0.9])
@pytest.mark.parametrize("ink", [True, False])
def test_parts_are_those_of_a_flood_fill(share: float, ink: bool) -> None:
    """Ink is joined at corners, paper only at sides, in pictures as tangled as noise."""
    coverage = np.where(np.random.default_rng(3).random((60, 47)) < share, 10, 240).astype(np.uint8)
    parts = parts_of(coverage, ink=ink)
    mask = coverage < 128 if ink else coverage >= 128
    assert sorted(parts.area_px.tolist(), reverse=True) == flooded(mask, corners=ink)


def test_figures_of_a_part_say_where_it_is() -> None:
    """A bar from the left rim inwards: 24 pixels, darkest 7, it touches the rim and reaches 4 px in."""
    coverage = np.full((20, 30), 255, np.uint8)
    coverage[8:12, 0:6] = 50
    coverage[9, 3] = 7
    parts = parts_of(coverage, ink=True)
    assert parts.area_px.tolist() == [24]
    assert parts.darkest.tolist() == [7]
    assert parts.rim_gap_px.tolist() == [0]
    assert parts.depth_px.tolist() == [5]


def test_painting_takes_the_soft_rim_along_and_nothing_else() -> None:
    """A painted-out spot leaves bare paper; its neighbour keeps every value."""
    coverage = np.full((12, 24), 255, np.uint8)
    coverage[3:9, 3:9], coverage[4:8, 4:8] = 180, 0
    coverage[3:9, 13:19], coverage[4:8, 14:18] = 180, 0
    before = coverage.copy()
    parts = parts_of(coverage, ink=True)
    painted(coverage, parts, np.array([True, False]), 255)
    assert (coverage[:, :11] == 255).all()
    assert np.array_equal(coverage[:, 11:], before[:, 11:])


def test_a_picture_without_ink_has_no_parts() -> None:
    """Nothing is found in nothing."""
    assert len(parts_of(np.full((5, 5), 255, np.uint8), ink=True).area_px) == 0
