"""The close look goes to where the carving is finest, and rakes the light."""

import io

import numpy as np
import pytest
from PIL import Image

from tests.support.specimens import board
from workers.cutting_data.tables import MATERIALS
from workers.preview.appearance import Appearance
from workers.preview.close_up import draw_close_up
from workers.preview.finest import finest_place_mm
from workers.preview.shading import DAYLIGHT, RAKING, light_on
from workers.values.height_field import HeightField

BOARD = board(200, 100, 12)
CELL_MM = 0.2
LOOK = Appearance(material=MATERIALS["cherry"])


def stripes(left_mm: float, bottom_mm: float, apart_mm: float) -> np.ndarray:
    """A field 20 mm square of strokes half as wide as they lie apart, and a broad blot elsewhere."""
    depth_mm = np.zeros((500, 1000), np.float32)
    depth_mm[350:450, 700:950] = 2.0
    columns = np.indices((100, 100))[1]
    row, column = round(bottom_mm / CELL_MM), round(left_mm / CELL_MM)
    inked = (columns * CELL_MM) % apart_mm < apart_mm / 2
    depth_mm[row : row + 100, column : column + 100][inked] = 1.0
    return depth_mm


@pytest.mark.parametrize(("left_mm", "bottom_mm"), [(20, 10), (150, 12), (90, 70)])
def test_the_finest_place_is_where_strokes_lie_close(left_mm: float, bottom_mm: float) -> None:
    """A box of 24 x 24 mm holds all of the 20 x 20 mm of fine strokes, wherever they are."""
    x_mm, y_mm = finest_place_mm(stripes(left_mm, bottom_mm, 2.0), CELL_MM, BOARD, 24, 24)
    assert (x_mm, y_mm) == pytest.approx((left_mm + 10, bottom_mm + 10), abs=3.0)


def test_fine_strokes_are_in_the_middle_beside_a_long_line() -> None:
    """A line right across is longer than the strokes' edges, and would draw the box down to itself."""
    depth_mm = np.zeros((500, 1000), np.float32)
    columns = np.arange(200) * CELL_MM
    depth_mm[300:330, 400:600][:, columns % 2.0 < 1.0] = 1.0  # 40 x 6 mm of strokes, their middle at 100, 63
    depth_mm[240:260, :] = 1.0  # a line at y 48 to 52

    x_mm, y_mm = finest_place_mm(depth_mm, CELL_MM, BOARD, 50, 34)

    assert (x_mm, y_mm) == pytest.approx((100, 63), abs=2.0)


def test_where_nothing_is_carved_it_is_the_middle() -> None:
    """And what is cut right through is not carved."""
    depth_mm = np.zeros((500, 1000), np.float32)
    depth_mm[10:30, 10:30] = 12.3
    assert finest_place_mm(np.zeros_like(depth_mm), CELL_MM, BOARD, 24, 24) == (100, 50)


def test_raking_light_throws_longer_shadows() -> None:
    """Behind a wall of 2 mm a shadow reaches at most 2 over the lamp's height; the lower's is longer."""
    depth_mm = np.zeros((120, 120), np.float32)
    depth_mm[20:, 20:] = 2.0
    dark = [
        int(np.count_nonzero(light_on(depth_mm, depth_mm, 0.2, lamp)[80, 22:] < 0.72))
        for lamp in (DAYLIGHT, RAKING)
    ]
    reach_px = [2.0 / 0.2 / lamp.height for lamp in (DAYLIGHT, RAKING)]
    assert all(0 < seen <= reach for seen, reach in zip(dark, reach_px, strict=True))
    assert dark[1] > 2 * dark[0]


@pytest.mark.parametrize("size_mm", [(200, 100), (12, 12), (30, 400)])
def test_every_board_has_its_close_look(size_mm: tuple[float, float]) -> None:
    """Also one smaller than what is looked at: round it lies table."""
    sign = board(*size_mm, 9)
    rows, columns = (round(side / CELL_MM) for side in (size_mm[1], size_mm[0]))
    depth_mm = np.zeros((rows, columns), np.float32)
    depth_mm[rows // 3 : rows // 2, columns // 3 : columns // 2] = 1.5
    cut = HeightField(depth_mm=depth_mm, cell_mm=CELL_MM, left_mm=0, bottom_mm=0)
    data = draw_close_up(cut, sign, LOOK)
    assert data == draw_close_up(cut, sign, LOOK)
    assert Image.open(io.BytesIO(data)).size == (1280, 801)
