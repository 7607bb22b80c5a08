"""The board on its table as one sees it from in front: a little from the side, and at a slant."""

from __future__ import annotations

import numpy as np

from workers.preview.appearance import Appearance
from workers.preview.camera import Camera, camera_over, framed
from workers.preview.part import whole_board
from workers.preview.photograph import photograph
from workers.preview.png import encode_png
from workers.preview.relief_image import LONG_SIDE_PX, MARGIN_PX
from workers.preview.scene import scene_of
from workers.preview.shading import DAYLIGHT
from workers.preview.tones import srgb_tones
from workers.values.design import Board
from workers.values.height_field import HeightField

_TURN_DEG, _ELEVATION_DEG = -17.0, 42.0
_AWAY = 2.6  # times the board's diagonal: near enough for what is far to look smaller
_WIDE_PX, _MOST_HIGH_PX, _FRAME_PX = 1280, 1100, 50


def draw_oblique(field: HeightField, board: Board, look: Appearance) -> bytes:
    """Return a picture of the carved board at a slant as PNG.

    Args:
        field: What the programs leave, mm.
        board: The finished board.
        look: Its material, paint and grain.
    """
    scene = scene_of(field, board, look, whole_board(board, LONG_SIDE_PX, MARGIN_PX))
    camera = oblique_camera(board)
    seen = photograph(scene, camera, board, look, DAYLIGHT)
    return encode_png(srgb_tones(seen)[:, :, ::-1], scene.part.mm_per_px)


def oblique_camera(board: Board) -> Camera:
    """Return the camera that has the whole board in its picture."""
    diagonal_mm = float(np.hypot(board.width_mm, board.height_mm))
    camera = camera_over(
        (board.width_mm / 2, board.height_mm / 2), _TURN_DEG, _ELEVATION_DEG, _AWAY * diagonal_mm
    )
    corners_mm = np.array(
        [
            [x_mm, y_mm, z_mm]
            for x_mm in (0.0, board.width_mm)
            for y_mm in (0.0, board.height_mm)
            for z_mm in (0.0, -board.thickness_mm)
        ]
    )
    return framed(camera, corners_mm, _WIDE_PX, _FRAME_PX, _MOST_HIGH_PX)
