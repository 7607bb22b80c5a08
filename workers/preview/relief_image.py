"""The board from above as it will look: carved, cut out, lying on a table."""

from __future__ import annotations

from workers.preview.appearance import Appearance
from workers.preview.part import whole_board
from workers.preview.png import encode_png
from workers.preview.scene import scene_of
from workers.preview.tones import srgb_tones
from workers.values.design import Board
from workers.values.height_field import HeightField

LONG_SIDE_PX, MARGIN_PX = 1600, 48


def draw_relief(field: HeightField, board: Board, look: Appearance) -> bytes:
    """Return a picture of the carved board as PNG, 1600 pixels on its long side.

    Args:
        field: What the programs leave, mm.
        board: The finished board; beyond its edge the table shows.
        look: Its material, paint and grain.
    """
    scene = scene_of(field, board, look, whole_board(board, LONG_SIDE_PX, MARGIN_PX))
    return encode_png(srgb_tones(scene.light)[:, :, ::-1], scene.part.mm_per_px)
