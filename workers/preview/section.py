"""The board cut through where it is carved deepest: the groove's own profile, to scale, with its figures."""

from __future__ import annotations

import io

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from workers.preview.appearance import Appearance
from workers.preview.captions import PAPER
from workers.preview.grain import end_grain, plies
from workers.preview.section_figures import Drawing, draw_figures, draw_plan, draw_scale
from workers.preview.section_place import SectionPlace, depth_along_mm, section_place
from workers.preview.tones import linear_light, srgb_tones
from workers.preview.window import board_window, without_cutout
from workers.values.design import Board
from workers.values.frames import MM_PER_INCH
from workers.values.height_field import HeightField

Floats = NDArray[np.float32]

_WIDE_PX, _ABOVE_PX, _BELOW_PX, _SIDE_PX = 1400, 150, 190, 150
_MOST_HIGH_PX = 620  # of board; a thicker one is shown broken off
_TIMES_WIDE, _TIMES_DEEP, _LEAST_MM = 2.6, 3.0, 10.0  # how much of the board is shown
_BREAK_PX, _WAVE_PX = 26, 26.0
_COAT_PX = 12.0  # of paint, drawn so thick that it is seen
_FINER = 3  # drawn so much larger, then averaged


def draw_section(field: HeightField, board: Board, look: Appearance) -> bytes:
    """Return the section as PNG, one scale across and down, with depth, width and a bar of scale.

    Args:
        field: What the programs leave, mm.
        board: The finished board.
        look: Its material, paint and grain.
    """
    cells = without_cutout(board_window(field, board), board, field.cell_mm)
    place = section_place(cells, field.cell_mm, board)
    mm_per_px = shown_mm(place) / (_WIDE_PX - 2 * _SIDE_PX)
    high_px = min(round(board.thickness_mm / mm_per_px), _MOST_HIGH_PX)
    profile_px = _profile_px(cells, field.cell_mm, place, mm_per_px)
    drawing = Drawing(
        left_px=_SIDE_PX,
        right_px=_WIDE_PX - _SIDE_PX,
        face_px=_ABOVE_PX,
        high_px=high_px,
        is_broken=board.thickness_mm / mm_per_px > high_px + 1,
        mm_per_px=mm_per_px,
        profile_px=profile_px.reshape(-1, _FINER).mean(axis=1),
    )
    picture = Image.new("RGB", (_WIDE_PX, _ABOVE_PX + high_px + _BELOW_PX), PAPER)
    picture.paste(_wood(look, profile_px, drawing), (_SIDE_PX, _ABOVE_PX))
    draw_figures(ImageDraw.Draw(picture), board, place, drawing)
    draw_scale(ImageDraw.Draw(picture), drawing, picture.height - 50)
    draw_plan(picture, cells, board, place, drawing)
    written = io.BytesIO()
    per_inch = MM_PER_INCH / mm_per_px
    picture.save(written, "PNG", dpi=(per_inch, per_inch))
    return written.getvalue()


def shown_mm(place: SectionPlace) -> float:
    """Return how much of the board a section shows."""
    return max(_LEAST_MM, _TIMES_WIDE * (place.end_mm - place.start_mm), _TIMES_DEEP * place.depth_mm)


def _profile_px(cells: Floats, cell_mm: float, place: SectionPlace, mm_per_px: float) -> Floats:
    """Depth in picture's pixels for each column of the enlarged drawing, the carving in its middle."""
    columns = (_WIDE_PX - 2 * _SIDE_PX) * _FINER
    middle_mm = (place.start_mm + place.end_mm) / 2
    along_mm = ((np.arange(columns) + 0.5 - columns / 2) / _FINER * mm_per_px + middle_mm).astype(np.float32)
    return depth_along_mm(cells, cell_mm, place, along_mm) * np.float32(1 / mm_per_px)


def _wood(look: Appearance, profile_px: Floats, drawing: Drawing) -> Image.Image:
    """The cut face of the board, smooth at its edges; a coat of paint lies on the profile."""
    rows, columns = drawing.high_px * _FINER, len(profile_px)
    down_px = ((np.arange(rows, dtype=np.float32) + np.float32(0.5)) / np.float32(_FINER))[:, None]
    across_px = (np.arange(columns, dtype=np.float32) / np.float32(_FINER))[None, :]
    side_mm = np.float32(drawing.mm_per_px)
    figure = end_grain(look.material, across_px * side_mm, down_px * side_mm)
    figure = figure * plies(look.material, down_px * side_mm)
    colour = np.array([linear_light(tone) for tone in look.material.colour], dtype=np.float32)
    drawn = figure[:, :, None] * colour
    below_px = down_px - profile_px[None, :]
    if look.paint is not None:
        coat = (below_px < _COAT_PX) & (profile_px[None, :] > 0.5)
        drawn[coat] = [linear_light(tone) for tone in look.paint]
    drawn[below_px < 0] = 1.0
    if drawing.is_broken:
        drawn[down_px > drawing.high_px - _BREAK_PX * (0.55 + 0.45 * np.sin(across_px / _WAVE_PX))] = 1.0
    small = cv2.resize(drawn, (columns // _FINER, drawing.high_px), interpolation=cv2.INTER_AREA)
    return Image.fromarray(srgb_tones(np.asarray(small, dtype=np.float32)))
