"""The finest detail from near by, in light that rakes across the board."""

from __future__ import annotations

import numpy as np

from workers.preview.appearance import Appearance
from workers.preview.camera import Camera, camera_over, framed
from workers.preview.finest import box_side_mm, finest_place_mm
from workers.preview.part import Part
from workers.preview.photograph import photograph
from workers.preview.png import encode_png
from workers.preview.scene import scene_of
from workers.preview.shading import RAKING
from workers.preview.tones import srgb_tones
from workers.preview.window import board_window, without_cutout
from workers.values.design import Board
from workers.values.height_field import HeightField

_TURN_DEG, _ELEVATION_DEG = -14.0, 52.0
_AWAY = 3.2  # times the width of what is seen
_WIDE_PX, _HIGH_PX = 1280, 860
_SCENE_PX = 1500  # across what is lit; a little more than is seen, so that no pixel is stretched


def draw_close_up(field: HeightField, board: Board, look: Appearance) -> bytes:
    """Return a picture of the place with the most detail as PNG.

    Args:
        field: What the programs leave, mm.
        board: The finished board.
        look: Its material, paint and grain.
    """
    wide_mm = box_side_mm(board)
    high_mm = wide_mm * _HIGH_PX / _WIDE_PX
    cells = without_cutout(board_window(field, board), board, field.cell_mm)
    middle_mm = finest_place_mm(cells, field.cell_mm, board, wide_mm, high_mm)
    camera = _camera(middle_mm, wide_mm, high_mm)
    part = _lit_part(camera, board)
    scene = scene_of(field, board, look, part, RAKING, finer=1)
    seen = photograph(scene, camera, board, look, RAKING)
    return encode_png(srgb_tones(seen)[:, :, ::-1], wide_mm / _WIDE_PX)


def _camera(middle_mm: tuple[float, float], wide_mm: float, high_mm: float) -> Camera:
    """A camera that has the box in its picture."""
    camera = camera_over(middle_mm, _TURN_DEG, _ELEVATION_DEG, _AWAY * wide_mm)
    (x_mm, y_mm), half_x, half_y = middle_mm, wide_mm / 2, high_mm / 2
    corners_mm = np.array(
        [[x_mm + dx, y_mm + dy, 0.0] for dx in (-half_x, half_x) for dy in (-half_y, half_y)]
    )
    return framed(camera, corners_mm, _WIDE_PX, 0.0, _HIGH_PX)


def _lit_part(camera: Camera, board: Board) -> Part:
    """All that the camera can see, of the face and of the table under it."""
    ground_mm = np.concatenate((camera.ground_mm(0.0), camera.ground_mm(board.thickness_mm)))
    low_mm, high_mm = ground_mm.min(axis=0), ground_mm.max(axis=0)
    wide_mm, tall_mm = (high_mm - low_mm).tolist()
    mm_per_px = wide_mm / _SCENE_PX
    return Part(
        left_mm=float(low_mm[0]),
        top_mm=float(high_mm[1]),
        rows=round(tall_mm / mm_per_px),
        columns=_SCENE_PX,
        mm_per_px=mm_per_px,
    )
