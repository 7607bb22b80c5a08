"""The view at a slant is what a pinhole camera sees: its formula says where points are, what hides them."""

import io
import math

import numpy as np
import pytest
from PIL import Image

from tests.support.specimens import board
from workers.cutting_data.tables import MATERIALS
from workers.preview.appearance import Appearance
from workers.preview.camera import camera_over, framed
from workers.preview.oblique import draw_oblique, oblique_camera
from workers.preview.part import Part
from workers.preview.rays import hits
from workers.values.height_field import HeightField

PART = Part(left_mm=-60, top_mm=60, rows=240, columns=240, mm_per_px=0.5)
TABLE_MM = 10.0
BLOCK = np.array([[x, y, z] for x in (-20.0, 20.0) for y in (-15.0, 15.0) for z in (0.0, -TABLE_MM)])


def block_mm() -> np.ndarray:
    """A block 40 x 30 x 10 mm in the middle of its table."""
    depth_mm = np.full((240, 240), TABLE_MM, np.float32)
    depth_mm[90:150, 80:160] = 0
    return depth_mm


def test_a_place_ahead_is_in_the_middle_and_others_at_the_ratios_of_their_ways() -> None:
    """From 100 mm over it, 10 mm to the right and 5 mm up are 10 and 5 hundredths of the focal length."""
    camera = camera_over((0, 0), 0, 90, 100)
    seen = camera.seen_at(np.array([[0.0, 0, 0], [10, 0, 0], [0, 5, 0], [10, 0, -100]]))
    assert seen == pytest.approx(np.array([[0, 0], [0.1, 0], [0, -0.05], [0.05, 0]]), abs=1e-9)


@pytest.mark.parametrize("elevation_deg", [30.0, 45.0, 60.0])
def test_rays_end_where_the_formula_sees_the_corners_of_a_block(elevation_deg: float) -> None:
    """Near each upper corner the ray through its own place in the picture ends there, on the face."""
    camera = framed(camera_over((0, 0), -20, elevation_deg, 300), BLOCK, 400, 20, 400)
    met = hits(camera, block_mm(), PART, TABLE_MM, 1)
    x_mm, y_mm = PART.left_mm + (met[:, :, 0] + 0.5) * 0.5, PART.top_mm - (met[:, :, 1] + 0.5) * 0.5
    inset = BLOCK[BLOCK[:, 2] == 0] * (0.9, 0.9, 1)
    for (x, y, _), (column, row) in zip(inset, camera.seen_at(inset), strict=True):
        place = int(row), int(column)
        assert (x_mm[place], y_mm[place]) == pytest.approx((x, y), abs=0.3)
        assert met[(*place, 2)] == pytest.approx(0, abs=1e-6)


def test_the_front_of_a_block_is_as_high_as_its_projection() -> None:
    """10 mm of wall at 40 degrees are 10 cos 40 high from far away; the wall leans over a cell of 0.5 mm."""
    camera = framed(camera_over((0, 0), 0, 40, 30_000), BLOCK, 400, 20, 400)
    heights = hits(camera, block_mm(), PART, TABLE_MM, 1)[:, 200, 2] * 0.5
    wall = np.count_nonzero((heights < -0.3) & (heights > -TABLE_MM + 0.3))
    per_mm = camera.focal_px / 30_000
    high_mm = (TABLE_MM - 0.6) * math.cos(math.radians(40))
    assert wall == pytest.approx(high_mm * per_mm, abs=0.5 * per_mm)


def test_what_lies_behind_a_block_is_hidden() -> None:
    """At 45 degrees a block 10 mm high hides 10 mm of table behind it, from far away."""
    camera = framed(camera_over((0, 0), 0, 45, 30_000), BLOCK, 400, 20, 400)
    met = hits(camera, block_mm(), PART, TABLE_MM, 1)[:, 200]
    y_mm = PART.top_mm - (met[:, 1] + 0.5) * 0.5
    behind = y_mm[(met[:, 2] * 0.5 < -TABLE_MM + 0.01) & (y_mm > 16)]
    assert behind.min() == pytest.approx(25, abs=0.7)


def test_rays_that_leap_end_where_rays_that_walk_do() -> None:
    """On a surface of waves: what is met is on the surface, and nothing before it was below the surface."""
    rows, columns = np.indices((240, 240), dtype=np.float32)
    depth_mm = (4 + 3 * np.sin(rows / 7) * np.cos(columns / 9)).astype(np.float32)
    camera = framed(camera_over((0, 0), 25, 35, 300), BLOCK, 60, 2, 60)
    met = hits(camera, depth_mm, PART, TABLE_MM, 1).astype(float)
    eye = np.array([camera.eye_mm[0] + 60, 60 - camera.eye_mm[1], camera.eye_mm[2]]) / 0.5 - (0.5, 0.5, 0)
    for end in met.reshape(-1, 3)[::37]:
        start = eye + (end - eye) * (eye[2] / (eye[2] - end[2]))
        walk = start + (end - start) * np.linspace(0, 1, 400)[:-2, None]
        row, column = np.floor(walk[:, 1]).astype(int), np.floor(walk[:, 0]).astype(int)
        down, across = walk[:, 1] - row, walk[:, 0] - column
        upper = depth_mm[row, column] * (1 - across) + depth_mm[row, column + 1] * across
        lower = depth_mm[row + 1, column] * (1 - across) + depth_mm[row + 1, column + 1] * across
        assert (walk[:, 2] * 0.5 > -(upper * (1 - down) + lower * down) - 0.06).all()


@pytest.mark.parametrize(("width_mm", "height_mm"), [(120, 60), (40, 160)])
def test_the_whole_board_is_in_the_picture_and_the_same_every_time(width_mm: float, height_mm: float) -> None:
    """All round there is table, be the board wide or upright."""
    sign = board(width_mm, height_mm, 18, corner_radius_mm=5)
    flat = HeightField(depth_mm=np.zeros((9, 9), np.float32), cell_mm=1.0, left_mm=0, bottom_mm=0)
    look = Appearance(material=MATERIALS["walnut"])
    data = draw_oblique(flat, sign, look)
    assert data == draw_oblique(flat, sign, look)
    pixels = np.asarray(Image.open(io.BytesIO(data))).astype(int)
    assert pixels.shape[:2] == (oblique_camera(sign).rows, oblique_camera(sign).columns)
    rim = np.concatenate((pixels[0], pixels[-1], pixels[:, 0], pixels[:, -1]))
    assert rim.min() > 150
    assert pixels.min() < 100


def test_plywood_shows_its_layers_on_its_edge_and_other_boards_do_not() -> None:
    """Down the front wall of plywood the brightness changes many times, of fibreboard hardly."""
    sign = board(120, 60, 18)
    flat = HeightField(depth_mm=np.zeros((9, 9), np.float32), cell_mm=1.0, left_mm=0, bottom_mm=0)
    camera = oblique_camera(sign)
    top, bottom = camera.seen_at(np.array([[60.0, 0, -2], [60.0, 0, -16]]))
    turns = []
    for name in ("birch-plywood", "mdf"):
        data = draw_oblique(flat, sign, Appearance(material=MATERIALS[name]))
        pixels = np.asarray(Image.open(io.BytesIO(data)).convert("L")).astype(int)
        wall = pixels[int(top[1]) : int(bottom[1]), int(top[0])]
        turns.append(np.count_nonzero(np.abs(np.diff(wall)) > 4))
    assert turns[0] > 8
    assert turns[1] == 0
