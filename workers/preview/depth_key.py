"""Depth in colours for people, with the scale beneath: which tone is how deep."""

from __future__ import annotations

import io

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from workers.preview.captions import INK, PAPER, caption_font
from workers.preview.part import whole_board
from workers.preview.window import THROUGH_SLACK_MM, board_window, outside_mm, without_cutout
from workers.values.design import Board
from workers.values.frames import MM_PER_INCH
from workers.values.height_field import HeightField

Floats = NDArray[np.float32]

_LONG_SIDE_PX, _MARGIN_PX = 1500, 40
_KEY_PX, _BAR_PX, _TEXT_PX = 120, 26, 24
_STEPS_WANTED = 5  # of the scale
_ROUND_STEPS_MM = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
_THROUGH = (200, 60, 50)
# Pale to dark at even steps of lightness, so that a print in grey reads the same way.
_RAMP = np.array(
    [[246, 240, 226], [214, 208, 178], [150, 181, 152], [84, 142, 140], [42, 95, 122], [24, 45, 82]],
    dtype=np.float32,
)


def draw_depth_key(field: HeightField, board: Board) -> bytes:
    """Return a PNG of the board coloured by depth, cuts right through in red, over a scale in mm and inches.

    Args:
        field: What the programs leave, mm.
        board: The finished board; beyond its edge the paper shows.
    """
    part = whole_board(board, _LONG_SIDE_PX)
    rows, columns = part.rows, part.columns
    cells = without_cutout(board_window(field, board), board, field.cell_mm)[::-1]
    sampled = cv2.resize(np.ascontiguousarray(cells), (columns, rows), interpolation=cv2.INTER_NEAREST)
    depth_mm = np.asarray(sampled, dtype=np.float32)
    through = depth_mm >= board.thickness_mm - THROUGH_SLACK_MM
    deepest_mm = float(depth_mm[~through].max(initial=0.0))
    colours = _coloured(depth_mm, max(deepest_mm, 1e-6))
    colours[through] = _THROUGH
    colours[outside_mm(board, *part.centres()) > 0] = PAPER
    picture = Image.new("RGB", (max(columns, 700) + 2 * _MARGIN_PX, rows + 2 * _MARGIN_PX + _KEY_PX), PAPER)
    picture.paste(Image.fromarray(colours), (_MARGIN_PX, _MARGIN_PX))
    _draw_key(picture, rows + 2 * _MARGIN_PX, deepest_mm, bool(through.any()))
    written = io.BytesIO()
    per_inch = MM_PER_INCH / part.mm_per_px
    picture.save(written, "PNG", dpi=(per_inch, per_inch))
    return written.getvalue()


def _coloured(depth_mm: Floats, deepest_mm: float) -> NDArray[np.uint8]:
    """Depths as colours of the ramp, the deepest at its dark end."""
    share = np.linspace(0, 255, len(_RAMP))
    table = np.stack([np.interp(np.arange(256), share, _RAMP[:, part]) for part in range(3)], axis=1)
    level = np.clip(np.rint(depth_mm * np.float32(255 / deepest_mm)), 0, 255).astype(np.uint8)
    coloured: NDArray[np.uint8] = np.rint(table).astype(np.uint8)[level]
    return coloured


def scale_steps_mm(deepest_mm: float) -> list[float]:
    """Return the depths that the scale names: round ones, and the deepest.

    >>> scale_steps_mm(2.5)
    [0.0, 0.5, 1.0, 1.5, 2.0, 2.5]
    """
    wanted_mm = deepest_mm / _STEPS_WANTED
    step_mm = next((step for step in _ROUND_STEPS_MM if step >= wanted_mm * (1 - 1e-6)), _ROUND_STEPS_MM[-1])
    count = int(deepest_mm / step_mm + 1e-6)
    steps_mm = [round(step_mm * number, 3) for number in range(count + 1)]
    if deepest_mm - steps_mm[-1] > step_mm / 2:
        steps_mm.append(round(deepest_mm, 2))
    return steps_mm


def _draw_key(picture: Image.Image, top_px: int, deepest_mm: float, has_holes: bool) -> None:
    """The ramp as a bar, its depths beneath in both units; the colour of what is cut through beside it."""
    draw = ImageDraw.Draw(picture)
    font = caption_font(_TEXT_PX)
    right_px = picture.width - _MARGIN_PX - (200 if has_holes else 60)
    wide_px = right_px - _MARGIN_PX
    if deepest_mm > 0:
        across_mm = np.linspace(0, deepest_mm, wide_px, dtype=np.float32)[None, :]
        bar = np.repeat(_coloured(across_mm, deepest_mm), _BAR_PX, axis=0)
        picture.paste(Image.fromarray(bar), (_MARGIN_PX, top_px))
        draw.rectangle((_MARGIN_PX, top_px, right_px, top_px + _BAR_PX), outline=INK)
        for depth_mm in scale_steps_mm(deepest_mm):
            x_px = _MARGIN_PX + depth_mm / deepest_mm * wide_px
            draw.line((x_px, top_px + _BAR_PX, x_px, top_px + _BAR_PX + 8), fill=INK, width=2)
            for line, words in enumerate((f"{depth_mm:g} mm", f"{depth_mm / MM_PER_INCH:.3f} in")):
                place = (x_px, top_px + _BAR_PX + 10 + line * (_TEXT_PX + 2))
                draw.text(place, words, fill=INK, font=font, anchor="lt" if not depth_mm else "mt")
    if has_holes:
        left_px = right_px + 50
        draw.rectangle((left_px, top_px, left_px + _BAR_PX, top_px + _BAR_PX), fill=_THROUGH, outline=INK)
        draw.text((left_px + _BAR_PX + 8, top_px + _BAR_PX / 2), "through", fill=INK, font=font, anchor="lm")
