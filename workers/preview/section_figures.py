"""Lines, figures and scale of a section, and where on the board it lies."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from workers.preview.captions import INK, PAPER, QUIET, caption_font, dimension
from workers.preview.part import whole_board
from workers.preview.section_place import SectionPlace
from workers.values.design import Board
from workers.values.frames import MM_PER_INCH

Floats = NDArray[np.float32]

_PLAN_PX, _PLAN_HIGH_PX = 300, 150
_BAR_PX, _ROUND_MM = 220, (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
_BOARD, _CARVED, _CUT_LINE = np.array([244, 230, 200]), np.array([120, 100, 75]), (200, 60, 50)
_CARVED_FROM_MM = 0.02
_BESIDE_PX, _WORDS_PX = 40, 330


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Drawing:
    """Where a section stands in its picture, and its scale."""

    left_px: int
    right_px: int
    face_px: int
    high_px: int
    is_broken: bool  # the board is thicker than what is shown of it
    mm_per_px: float
    profile_px: Floats  # depth at each column from left to right

    @property
    def middle_px(self) -> float:
        """The column of the carving's middle."""
        return (self.left_px + self.right_px) / 2


def draw_figures(draw: ImageDraw.ImageDraw, board: Board, place: SectionPlace, drawing: Drawing) -> None:
    """Draw the profile's line, and how deep, how wide and how thick."""
    face, under = drawing.face_px, drawing.face_px + drawing.high_px
    line = [
        (drawing.left_px + column, min(face + depth_px, under))
        for column, depth_px in enumerate(drawing.profile_px.tolist())
    ]
    draw.line(line, fill=INK, width=4, joint="curve")
    for x in (drawing.left_px, drawing.right_px):
        draw.line((x, face, x, under - (26 if drawing.is_broken else 0)), fill=QUIET, width=1)
    draw.text((drawing.right_px + 12, face), "face", fill=QUIET, font=caption_font(24), anchor="lm")
    if drawing.is_broken:
        words = f"broken off: the board is {in_both_units(board.thickness_mm)} thick"
        draw.text((drawing.left_px, under + 8), words, fill=QUIET, font=caption_font(24))
    else:
        draw.line((drawing.left_px, under, drawing.right_px, under), fill=INK, width=4)
        at = drawing.left_px - 30
        dimension(
            draw, (at, face), (at, under), f"{board.thickness_mm:g} mm", (at - 10, (face + under) / 2), "rm"
        )
    if place.depth_mm > 0:
        _draw_carving(draw, place, drawing)
    else:
        words_at = (drawing.middle_px, face / 2)
        draw.text(words_at, "nothing is carved", fill=INK, font=caption_font(30), anchor="mm")


def _draw_carving(draw: ImageDraw.ImageDraw, place: SectionPlace, drawing: Drawing) -> None:
    """Width over the groove; depth on that side of it where less is carved."""
    width_mm = place.end_mm - place.start_mm
    half, middle, face = width_mm / 2 / drawing.mm_per_px, drawing.middle_px, drawing.face_px
    level = face - 26
    words = f"{in_both_units(width_mm)} wide"
    dimension(draw, (middle - half, level), (middle + half, level), words, (middle, level - 14), "mb")
    for x in (middle - half, middle + half):
        draw.line((x, level - 12, x, face - 6), fill=QUIET, width=1)
    first, last = (round(middle + side * half - drawing.left_px) for side in (-1, 1))
    before = drawing.profile_px[max(0, first - _WORDS_PX) : max(1, first - _BESIDE_PX)]
    after = drawing.profile_px[last + _BESIDE_PX : last + _WORDS_PX]
    side = 1 if len(after) and float(after.mean()) <= float(before.mean()) else -1
    at, bottom = middle + side * (half + _BESIDE_PX), face + place.depth_mm / drawing.mm_per_px
    draw.line((middle, bottom, at + side * 12, bottom), fill=QUIET, width=1)
    words_at, anchor = (at + side * 16, (face + bottom) / 2), "lm" if side > 0 else "rm"
    dimension(draw, (at, face), (at, bottom), f"{in_both_units(place.depth_mm)} deep", words_at, anchor)


def draw_scale(draw: ImageDraw.ImageDraw, drawing: Drawing, top_px: float) -> None:
    """Draw a bar of a round length."""
    bar_mm = max((one for one in _ROUND_MM if one <= _BAR_PX * drawing.mm_per_px), default=_ROUND_MM[0])
    left, wide = drawing.left_px, bar_mm / drawing.mm_per_px
    for share, tone in ((0.0, INK), (0.5, PAPER)):
        box = (left + share * wide, top_px, left + (share + 0.5) * wide, top_px + 12)
        draw.rectangle(box, fill=tone, outline=INK)
    words_at = (left + wide + 14, top_px + 6)
    draw.text(words_at, in_both_units(bar_mm), fill=INK, font=caption_font(24), anchor="lm")


def draw_plan(
    picture: Image.Image, cells: Floats, board: Board, place: SectionPlace, drawing: Drawing
) -> None:
    """Draw the board small, with the line along which it is cut, into the lower right corner."""
    part = whole_board(board, _PLAN_PX)
    carved = (cells[::-1] > _CARVED_FROM_MM).astype(np.float32)
    share = np.asarray(cv2.resize(carved, (part.columns, part.rows), interpolation=cv2.INTER_AREA))
    plan = Image.fromarray((_BOARD + (_CARVED - _BOARD) * share[:, :, None]).astype(np.uint8))
    if plan.height > _PLAN_HIGH_PX:
        narrower = max(1, round(plan.width * _PLAN_HIGH_PX / plan.height))
        plan = plan.resize((narrower, _PLAN_HIGH_PX), Image.Resampling.BOX)
    left, top = drawing.right_px - plan.width, picture.height - plan.height - 20
    picture.paste(plan, (left, top))
    draw = ImageDraw.Draw(picture)
    draw.rectangle((left, top, left + plan.width, top + plan.height), outline=QUIET)
    scale, turn = plan.width / board.width_mm, math.radians(place.turn_deg)
    x, y = left + place.x_mm * scale, top + plan.height - place.y_mm * scale
    way_x, way_y = 16 * math.cos(turn), -16 * math.sin(turn)
    draw.line((x - way_x, y - way_y, x + way_x, y + way_y), fill=_CUT_LINE, width=4)
    draw.text((left - 14, top + plan.height / 2), "cut here", fill=QUIET, font=caption_font(24), anchor="rm")


def in_both_units(length_mm: float) -> str:
    """Return a length in mm and inches.

    >>> in_both_units(2.5)
    '2.5 mm (0.098 in)'
    """
    return f"{length_mm:.2f}".rstrip("0").rstrip(".") + f" mm ({length_mm / MM_PER_INCH:.3f} in)"
