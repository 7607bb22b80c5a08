"""The board's own part of a depth map, without what was cut round it."""

import numpy as np
import pytest

from tests.support.specimens import board
from workers.preview.window import board_window, outside_mm, without_cutout
from workers.values.height_field import HeightField

CELL_MM = 0.2
THICKNESS_MM = 9.0


def cut_round(radius_mm: float, ground_mm: float) -> HeightField:
    """A board of 40 x 30 mm cut free, all of its left half a tab that slopes."""
    rows, columns = 200, 250  # 5 mm of blank all round
    row, column = np.indices((rows, columns))
    x_mm, y_mm = (column + 0.5) * CELL_MM - 5, (row + 0.5) * CELL_MM - 5
    beyond_mm = outside_mm(board(40, 30, THICKNESS_MM, radius_mm), x_mm, y_mm)
    slot_mm = np.where(x_mm < 20, np.clip(y_mm / 30 * 9.2, 0.5, 9.2), 9.2)  # a slope from end to end
    depth_mm = np.where(
        (beyond_mm > -0.05) & (beyond_mm < 3), np.maximum(slot_mm, ground_mm), ground_mm
    ).astype(np.float32)
    depth_mm[90:110, 120:140] = 2.5
    return HeightField(depth_mm=depth_mm, cell_mm=CELL_MM, left_mm=-5, bottom_mm=-5)


@pytest.mark.parametrize("radius_mm", [0.0, 6.0, 15.0])
@pytest.mark.parametrize("ground_mm", [0.0, 1.5])
def test_tabs_and_the_cut_round_the_board_are_left_out(radius_mm: float, ground_mm: float) -> None:
    """What is left on the board is its carving; the ground goes on to the edge as it is."""
    sign = board(40, 30, THICKNESS_MM, radius_mm)
    field = cut_round(radius_mm, ground_mm)

    kept = without_cutout(board_window(field, sign), sign, CELL_MM)

    row, column = np.indices(kept.shape)
    on_board = outside_mm(sign, (column + 0.5) * CELL_MM, (row + 0.5) * CELL_MM) < 0
    assert set(np.unique(kept[on_board]).tolist()) == {ground_mm, 2.5}
    assert kept.max() == 2.5
    assert np.count_nonzero(kept[on_board] == 2.5) == 400
    assert kept[~on_board].max(initial=0.0) == (2.5 if ground_mm and radius_mm else 0.0)


def test_nothing_is_changed_where_nothing_was_cut_round() -> None:
    """Carving that ends a little inside the edge."""
    depth_mm = np.zeros((150, 200), np.float32)
    depth_mm[5:-5, 5:-5] = 1.0
    sign = board(40, 30, THICKNESS_MM, 2.0)

    assert (without_cutout(depth_mm, sign, CELL_MM) == depth_mm).all()
