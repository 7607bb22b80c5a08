"""Connected ink and paper, as digital topology has it: ink at corners too, paper at sides only."""

import math

import numpy as np
import pytest

from tests.support.exact_coverage import circle, covered
from workers.touch_up.connected import flipped_at, ink_px2, parts_count, without_specks


def _picture(*lines: str) -> np.ndarray:
    return np.array([[0 if letter == "#" else 255 for letter in line] for line in lines], np.uint8)


def test_ink_is_joined_at_corners() -> None:
    """A stair of single pixels is one part (Rosenfeld 1970: 8 neighbours for one tone, 4 for the other)."""
    assert parts_count(_picture("#..", ".#.", "..#")) == 1


def test_paper_is_not_joined_at_corners() -> None:
    """Filling one of two holes that meet at a corner leaves the other."""
    two_holes = _picture("####", "#.##", "##.#", "####")
    assert np.array_equal(flipped_at(two_holes, 1, 1), _picture("####", "####", "##.#", "####"))


def test_flipping_takes_the_half_tones_along() -> None:
    """No rim is left where a disc was, and none where a hole was."""
    disc = covered([circle(20.3, 19.6, 7.7)], 40, 40)
    assert (flipped_at(disc, 20, 20) == 255).all()
    assert (flipped_at(255 - disc, 20, 20) == 0).all()


def test_a_neighbour_keeps_its_rim() -> None:
    """Half-tones between two discs stay with the one that stays."""
    left, right = circle(12.0, 15.0, 7.3), circle(27.4, 15.0, 7.3)  # 0.8 px apart: half-tones only between
    both, alone = covered([left, right], 30, 40), covered([right], 30, 40)
    assert parts_count(both) == 2
    changed = flipped_at(both, 15, 10)
    assert parts_count(changed) == 1
    assert np.array_equal(changed[:, 22:], alone[:, 22:])


def test_specks_are_told_by_covered_area() -> None:
    """A disc of 7.07 square pixels goes at a limit of 7.2 and stays at one of 6.9 (pi r^2, r = 1.5)."""
    disc = covered([circle(10.37, 9.81, 1.5)], 20, 20)
    assert (without_specks(disc, 7.2) == 255).all()
    assert np.array_equal(without_specks(disc, 6.9), disc)


def test_grey_paper_and_grey_ink_are_no_area() -> None:
    """A disc of radius 30 on hazy paper, of faded ink, is pi r^2 to a hundredth of a pixel of its rim."""
    disc = covered([circle(40.3, 39.8, 30)], 80, 80)
    hazy = disc.copy()
    hazy[disc == 255] = 246
    hazy[disc == 0] = 12
    for picture in (disc, hazy):
        assert ink_px2(picture) == pytest.approx(math.pi * 900, abs=0.02 * 2 * math.pi * 30)
