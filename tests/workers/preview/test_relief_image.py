"""The picture shows the board, its carving and its holes, and is the same every time."""

import io

import numpy as np
import pytest
from PIL import Image

from tests.support.specimens import board
from workers.cutting_data.tables import MATERIALS
from workers.preview.appearance import Appearance
from workers.preview.relief_image import draw_relief
from workers.values.design import Board
from workers.values.height_field import HeightField

CELL_MM = 0.2
BOARD = board(120, 60, 12, corner_radius_mm=10)
PVC = Appearance(material=MATERIALS["foamed-pvc"])


def field(*cuts: tuple[float, float, float, float, float], margin_mm: float = 0.0) -> HeightField:
    """A flat field with boxes (left, bottom, right, top) cut to a depth; free all round the margin."""
    rows, columns = (round((side + 2 * margin_mm) / CELL_MM) for side in (BOARD.height_mm, BOARD.width_mm))
    depth = np.zeros((rows, columns), dtype=np.float32)
    if margin_mm:
        wide = round(margin_mm / CELL_MM)
        depth[:wide], depth[-wide:], depth[:, :wide], depth[:, -wide:] = 12.3, 12.3, 12.3, 12.3
    for left, bottom, right, top, deep in cuts:
        low_x, low_y, high_x, high_y = (
            round((side + margin_mm) / CELL_MM) for side in (left, bottom, right, top)
        )
        depth[low_y:high_y, low_x:high_x] = deep
    return HeightField(depth_mm=depth, cell_mm=CELL_MM, left_mm=-margin_mm, bottom_mm=-margin_mm)


def picture(cut: HeightField, material_name: str = "foamed-pvc", sign: Board = BOARD) -> np.ndarray:
    """The colours of a picture."""
    data = draw_relief(cut, sign, Appearance(material=MATERIALS[material_name]))
    return np.asarray(Image.open(io.BytesIO(data)).convert("RGB")).astype(int)


def at(pixels: np.ndarray, x_mm: float, y_mm: float) -> np.ndarray:
    """Mean colour of 5 x 5 pixels at a place on the board."""
    px_per_mm = 1504 / 120
    row, column = 48 + (60 - y_mm) * px_per_mm, 48 + x_mm * px_per_mm
    return pixels[int(row) - 2 : int(row) + 3, int(column) - 2 : int(column) + 3].mean(axis=(0, 1))


def test_the_long_side_is_1600_pixels() -> None:
    """3 % of table on either side; 120 x 60 mm on 1504 x 752."""
    data = draw_relief(field(), BOARD, PVC)
    image = Image.open(io.BytesIO(data))
    assert image.size == (1600, 752 + 96)
    assert image.info["dpi"][0] == pytest.approx(1504 / 120 * 25.4, rel=1e-3)


def test_an_uncut_face_has_the_materials_colour() -> None:
    """Within the even grain of a plastic."""
    assert at(picture(field()), 60, 30) == pytest.approx(np.array(PVC.material.colour), abs=4)


def test_a_floor_is_darker_than_the_face() -> None:
    """Cut material takes the light in."""
    pixels = picture(field((40, 20, 80, 40, 2.0)))
    assert at(pixels, 60, 30).mean() < at(pixels, 20, 30).mean() - 10


def test_paint_covers_what_is_carved_and_nothing_else() -> None:
    """The floor has the paint's hue in flat light, the face its own; not even the eased edge is painted."""
    cut = field((30, 10, 90, 50, 1.0), margin_mm=5)
    data = draw_relief(cut, BOARD, Appearance(material=MATERIALS["basswood"], paint=(31, 78, 121)))
    painted = np.asarray(Image.open(io.BytesIO(data)).convert("RGB")).astype(int)
    red, green, blue = at(painted, 60, 30)
    assert red < green < blue
    assert (red, green, blue) == pytest.approx((31, 78, 121), abs=25)
    bare = picture(cut, "basswood")
    assert (painted[:140] == bare[:140]).all()
    assert at(painted, 15, 30) == pytest.approx(at(bare, 15, 30), abs=0.01)


def test_light_comes_from_the_upper_left() -> None:
    """In a groove with sloping walls the wall that faces the lamp, to the right, is the brighter."""
    x_mm = (np.arange(600) + 0.5) * CELL_MM
    groove = np.maximum(0, 5 - np.abs(x_mm - 60)).astype(np.float32)
    cut = HeightField(depth_mm=np.tile(groove, (300, 1)), cell_mm=CELL_MM, left_mm=0.0, bottom_mm=0.0)
    pixels = picture(cut)
    assert at(pixels, 63.5, 30).mean() > at(pixels, 56.5, 30).mean() + 20


def test_a_wall_casts_a_shadow_on_the_floor() -> None:
    """To the right of the left wall the floor is darker than far from it."""
    pixels = picture(field((40, 10, 90, 50, 4.0)))
    assert at(pixels, 41.5, 30).mean() < at(pixels, 75, 30).mean() - 10


def test_through_a_hole_one_sees_no_board() -> None:
    """A hole is dark table, whatever the board's colour."""
    cut = field((55, 25, 65, 35, 12.3))
    light, dark = (at(picture(cut, name), 60, 30) for name in ("foamed-pvc", "walnut"))
    assert light == pytest.approx(dark, abs=1)


def test_corners_are_rounded_off() -> None:
    """The board's corner is table; the middle of its edge is board."""
    pixels = picture(field(), "walnut")
    assert at(pixels, 1, 59).mean() > 150
    assert at(pixels, 60, 58).mean() < 120


def test_the_cutout_does_not_darken_the_edge() -> None:
    """With the board cut free all round, its face looks as without the cut."""
    free, whole = picture(field(margin_mm=5)), picture(field())
    inner = (slice(60, -60), slice(60, -60))
    assert np.abs(free[inner] - whole[inner]).max() <= 2


def test_a_field_smaller_than_the_board_is_untouched_face_beyond() -> None:
    """Programs of others may carve only a part."""
    small = HeightField(depth_mm=np.full((50, 50), 1, np.float32), cell_mm=CELL_MM, left_mm=20, bottom_mm=20)
    pixels = picture(small)
    assert at(pixels, 90, 30) == pytest.approx(np.array(PVC.material.colour), abs=4)


@pytest.mark.parametrize("name", ["basswood", "white-oak", "birch-plywood", "mdf"])
def test_the_same_board_looks_the_same(name: str) -> None:
    """Grain is hashed from places, not drawn by chance."""
    cut = field((40, 20, 80, 40, 2.0))
    look = Appearance(material=MATERIALS[name])
    assert draw_relief(cut, BOARD, look) == draw_relief(cut, BOARD, look)


@pytest.mark.parametrize(("width_mm", "height_mm"), [(10, 10), (60, 300), (3000, 12)])
def test_boards_of_every_shape_are_drawn(width_mm: float, height_mm: float) -> None:
    """Small, upright and very long."""
    sign = board(width_mm, height_mm, 6)
    cut = HeightField(depth_mm=np.zeros((5, 5), np.float32), cell_mm=1.0, left_mm=0, bottom_mm=0)
    assert max(picture(cut, "walnut", sign).shape) == 1600
