"""Depth in colours says how deep."""

import io

import numpy as np
import pytest
from PIL import Image

from tests.support.specimens import board
from workers.preview.depth_key import draw_depth_key, scale_steps_mm
from workers.values.height_field import HeightField

BOARD = board(150, 75, 12)
MARGIN_PX, PX_PER_MM = 40, 10


def pixels_of(*cuts: tuple[int, int, int, int, float]) -> np.ndarray:
    """The picture of a board with boxes (left, bottom, right, top) in mm cut to a depth."""
    depth_mm = np.zeros((150, 300), np.float32)
    for left, bottom, right, top, deep_mm in cuts:
        depth_mm[2 * bottom : 2 * top, 2 * left : 2 * right] = deep_mm
    data = draw_depth_key(HeightField(depth_mm=depth_mm, cell_mm=0.5, left_mm=0, bottom_mm=0), BOARD)
    return np.asarray(Image.open(io.BytesIO(data))).astype(int)


def test_a_depth_has_the_colour_that_the_scale_gives_it() -> None:
    """Floors of 1 and 2 mm are the colours at half and at the end of the bar beneath."""
    pixels = pixels_of((20, 20, 40, 40, 1.0), (60, 20, 80, 40, 2.0))
    bar = pixels[MARGIN_PX * 2 + 750 + 13, MARGIN_PX + 1 : MARGIN_PX + 1439]  # within its outline
    for x_mm, share in ((30, 0.5), (70, 1.0)):
        found = pixels[MARGIN_PX + (75 - 30) * PX_PER_MM, MARGIN_PX + x_mm * PX_PER_MM]
        assert found == pytest.approx(bar[round(share * (len(bar) - 1))], abs=6)


def test_the_deeper_the_darker() -> None:
    """So that a print in grey reads the same way."""
    pixels = pixels_of(*((10 + 20 * step, 20, 25 + 20 * step, 40, 0.5 * step) for step in range(1, 6)))
    row = MARGIN_PX + (75 - 30) * PX_PER_MM
    tones = [pixels[row, MARGIN_PX + (17 + 20 * step) * PX_PER_MM].sum() for step in range(1, 6)]
    assert tones == sorted(tones, reverse=True)
    assert len(set(tones)) == 5


def test_what_is_cut_through_has_a_colour_of_its_own_and_no_place_on_the_scale() -> None:
    """12.3 mm in a board of 12 is red; a floor of 2 mm stays the dark end."""
    pixels = pixels_of((20, 20, 40, 40, 12.3), (60, 20, 80, 40, 2.0))
    row = MARGIN_PX + (75 - 30) * PX_PER_MM
    red, green, blue = pixels[row, MARGIN_PX + 30 * PX_PER_MM]
    assert red > 2 * green
    assert red > 2 * blue
    assert pixels[row, MARGIN_PX + 70 * PX_PER_MM].tolist() == [24, 45, 82]


@pytest.mark.parametrize(
    ("deepest_mm", "steps_mm"),
    [(0.0, [0]), (0.4, [0, 0.1, 0.2, 0.3, 0.4]), (2.3, [0, 0.5, 1, 1.5, 2, 2.3]), (19, [0, 5, 10, 15, 19])],
)
def test_the_scale_names_round_depths_and_the_deepest(deepest_mm: float, steps_mm: list[float]) -> None:
    """About five of them."""
    assert scale_steps_mm(deepest_mm) == pytest.approx(steps_mm)


def test_an_uncut_board_has_no_scale_but_a_picture() -> None:
    """Foreign programs may cut nothing."""
    assert pixels_of().shape == (750 + 80 + 120, 1580, 3)
