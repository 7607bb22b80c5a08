"""The depth map can be measured in."""

import io

import numpy as np
import pytest
from PIL import Image

from tests.support.specimens import board
from workers.preview.depth_map import write_depth_map
from workers.values.height_field import HeightField

BOARD = board(40, 20, 12)


def levels(data: bytes) -> np.ndarray:
    """The levels of a map, which must be 16 bits deep."""
    image = Image.open(io.BytesIO(data))
    assert image.mode == "I;16"
    return np.asarray(image)


def test_levels_are_depths() -> None:
    """Each level times mm_per_level is the cell's depth to half a level; the top row has the highest y."""
    depth = np.linspace(0, 12.3, 200 * 100, dtype=np.float32).reshape(100, 200)
    found = write_depth_map(HeightField(depth_mm=depth, cell_mm=0.2, left_mm=0, bottom_mm=0), BOARD)
    assert (found.mm_per_px, found.mm_per_level) == (0.2, 0.001)
    assert np.abs(levels(found.data)[::-1] * 0.001 - depth).max() <= 0.0005 + 1e-6


def test_only_the_boards_box_is_shown() -> None:
    """A field that reaches 2 mm past the board is cropped to it."""
    depth = np.zeros((24, 44), dtype=np.float32)
    depth[2, 2] = 3.0  # the cell in the board's lower left corner
    found = levels(
        write_depth_map(HeightField(depth_mm=depth, cell_mm=1, left_mm=-2, bottom_mm=-2), BOARD).data
    )
    assert found.shape == (20, 40)
    assert found[19, 0] == 3000
    assert np.count_nonzero(found) == 1


def test_a_grid_beside_the_corner_is_read_between_its_cells() -> None:
    """A field that starts half a cell outside the board: each pixel is the mean of two cells."""
    ramp = np.tile(np.arange(41, dtype=np.float32), (20, 1))
    found = levels(
        write_depth_map(HeightField(depth_mm=ramp, cell_mm=1, left_mm=-0.5, bottom_mm=0), BOARD).data
    )
    assert found[5].tolist() == [1000 * step + 500 for step in range(40)]


def test_beyond_the_field_is_the_face() -> None:
    """Untouched is 0."""
    depth = np.ones((10, 10), dtype=np.float32)
    found = levels(
        write_depth_map(HeightField(depth_mm=depth, cell_mm=1, left_mm=35, bottom_mm=15), BOARD).data
    )
    assert np.count_nonzero(found) == 5 * 5


def test_the_pixel_size_is_in_the_file() -> None:
    """pHYs in pixels per metre: 0.1 mm is 10,000, that is 254 per inch (PNG, 11.3.4.3)."""
    depth = np.zeros((200, 400), dtype=np.float32)
    data = write_depth_map(HeightField(depth_mm=depth, cell_mm=0.1, left_mm=0, bottom_mm=0), BOARD).data
    assert Image.open(io.BytesIO(data)).info["dpi"] == pytest.approx((254, 254))


def test_very_deep_boards_get_a_coarser_scale() -> None:
    """65.535 mm is where the fine scale ends."""
    depth = np.full((20, 40), 120.0, dtype=np.float32)
    found = write_depth_map(
        HeightField(depth_mm=depth, cell_mm=1, left_mm=0, bottom_mm=0), board(40, 20, 150)
    )
    assert found.mm_per_level == 0.01
    assert levels(found.data)[0, 0] == 12000
