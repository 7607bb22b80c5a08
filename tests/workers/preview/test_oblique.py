"""The view at a slant is a parallel projection."""

import io
import math

import numpy as np
import pytest
from PIL import Image

from tests.support.specimens import board
from workers.cutting_data.tables import MATERIALS
from workers.preview.oblique import draw_oblique, projected
from workers.values.height_field import HeightField

STRAIGHT_FROM_ABOVE_DEG = 90.0


def scene(rows: int = 60, columns: int = 4) -> tuple[np.ndarray, np.ndarray]:
    """A black table, top row first, and its depth of 10 mm."""
    light = np.zeros((rows, columns, 3), np.float32)
    return light, np.full((rows, columns), 10, np.float32)


def test_from_straight_above_nothing_changes() -> None:
    """sin 90 = 1, cos 90 = 0: each row stays where it is."""
    light, depth_mm = scene()
    light[:, :, 0] = np.linspace(0, 1, 60, dtype=np.float32)[:, None]
    seen = projected(light, depth_mm, 1.0, STRAIGHT_FROM_ABOVE_DEG)
    assert seen == pytest.approx(light[-len(seen) :], abs=1 / 59 + 1e-6)
    assert len(seen) >= 59


@pytest.mark.parametrize("elevation_deg", [30.0, 45.0, 60.0])
def test_a_block_shows_its_top_and_its_front(elevation_deg: float) -> None:
    """20 px deep and 10 px high: top 20 sin(e), front 10 cos(e), the front darker (parallel projection)."""
    light, depth_mm = scene(120)
    light[50:70], depth_mm[50:70] = 1, 0
    seen = projected(light, depth_mm, 1.0, elevation_deg)[:, 0, 0]
    elevation = math.radians(elevation_deg)
    assert np.count_nonzero(seen == 1) == pytest.approx(20 * math.sin(elevation), abs=2.6)
    front = np.count_nonzero((seen > 0) & (seen < 1))
    assert front == pytest.approx(10 * math.cos(elevation), abs=2.6)


def test_what_lies_behind_a_block_is_hidden() -> None:
    """A block 10 mm high hides 10 / tan(e) of table behind it: at 45 degrees, 10 mm."""
    light, depth_mm = scene(120)
    depth_mm[60:80] = 0
    light[52:59] = 0.5  # behind it, nearer than 10 mm
    assert not (projected(light, depth_mm, 1.0, 45.0) == 0.5).any()
    light[40:47] = 0.5  # farther than 10 mm
    assert (projected(light, depth_mm, 1.0, 45.0) == 0.5).any()


@pytest.mark.parametrize(("width_mm", "height_mm"), [(120, 60), (40, 160)])
def test_the_whole_board_is_in_the_picture_and_the_same_every_time(width_mm: float, height_mm: float) -> None:
    """All round there is table, be the board wide or upright."""
    sign = board(width_mm, height_mm, 18, corner_radius_mm=5)
    flat = HeightField(depth_mm=np.zeros((9, 9), np.float32), cell_mm=1.0, left_mm=0, bottom_mm=0)
    data = draw_oblique(flat, sign, MATERIALS["walnut"])
    assert data == draw_oblique(flat, sign, MATERIALS["walnut"])
    pixels = np.asarray(Image.open(io.BytesIO(data))).astype(int)
    rim = np.concatenate((pixels[0], pixels[-1], pixels[:, 0], pixels[:, -1]))
    assert rim.min() > 150
    assert pixels.min() < 100
