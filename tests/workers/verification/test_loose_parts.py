"""Pieces that nothing holds, counted as a general library for pictures counts them."""

import cv2
import numpy as np
import pytest

from workers.verification.grid import Grid
from workers.verification.loose_parts import loose_parts

GRID = Grid(left_mm=-1.0, bottom_mm=-1.0, right_mm=11.0, top_mm=9.0, cell_mm=0.1)


@pytest.mark.parametrize("seed", range(12))
def test_pieces_are_those_of_a_general_library(seed: int) -> None:
    """OpenCV's connected components of side-by-side cells, those at the rim and the board's own left out."""
    dice = np.random.default_rng(seed)
    coarse = dice.random((25, 30)).astype(np.float32)
    depth_mm = cv2.resize(coarse, (120, 100), interpolation=cv2.INTER_LINEAR) * 20
    standing = (depth_mm < 10).astype(np.uint8)
    count, labels, figures, _ = cv2.connectedComponentsWithStats(standing, connectivity=4)
    board = np.bincount(labels[10:-10, 10:-10][standing[10:-10, 10:-10] == 1], minlength=count).argmax()
    rim = np.unique(np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]]))
    sizes = [figures[one, cv2.CC_STAT_AREA] for one in range(1, count) if one not in rim and one != board]

    found = loose_parts(depth_mm, 10.0, 0.0, GRID)

    assert (found.count if found else 0) == len(sizes)
    if found:
        assert found.largest_mm2 == pytest.approx(max(sizes) * 0.01)
        column, row = (round((at_mm + 1.0) / 0.1 - 0.5) for at_mm in found.at_mm)
        assert figures[labels[row, column], cv2.CC_STAT_AREA] == max(sizes)


def test_small_pieces_go_with_the_chips() -> None:
    """Of 1 mm2 and 9 mm2, one counts where 4 mm2 are asked for."""
    depth_mm = np.zeros((100, 120), np.float32)
    depth_mm[20:60, 20:90] = 20
    depth_mm[22:32, 22:32] = depth_mm[25:55, 50:80] = 0

    found = loose_parts(depth_mm, 10.0, 4.0, GRID)

    assert found is not None
    assert (found.count, round(found.largest_mm2, 3)) == (1, 9.0)


def test_nothing_is_loose_in_a_whole_board() -> None:
    """Nor in one that is cut away altogether."""
    whole = np.zeros((100, 120), np.float32)
    assert loose_parts(whole, 10.0, 0.0, GRID) is None
    assert loose_parts(whole + 20, 10.0, 0.0, GRID) is None
