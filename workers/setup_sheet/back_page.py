"""The page about the back: the board turned over, its slots, what to do in turn and what to mind."""

from __future__ import annotations

import io

from PIL import Image
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph

from workers.setup_sheet import back_wording
from workers.setup_sheet.blank import blank_of
from workers.setup_sheet.board_drawing import draw_blank, draw_dimensions, draw_slot, draw_zero
from workers.setup_sheet.header import draw_slim_header
from workers.setup_sheet.look import (
    BAD,
    BOLD,
    CAUTION,
    INK,
    QUIET,
    RULE,
    WOOD,
    heading,
    pairs,
    place,
    plain,
    style,
    ticks,
)
from workers.setup_sheet.paper import FOOT_MM, GAP_MM, MARGIN_MM
from workers.setup_sheet.sheet import SetupSheet

_BANNER_MM, _DRAWING_MM, _HEADING_MM = 13.0, 96.0, 5.0
_LEFT_FRACTION = 0.60  # of the width, for the drawing and the steps
_DIMENSIONS_MM = 9.0  # of paper, for the two dimension lines
_PICTURE_MM, _PICTURE_PX = 52.0, 800


def draw_back_page(canvas: Canvas, sheet: SetupSheet, top_mm: float, width_mm: float) -> None:
    """Draw the page.

    Args:
        canvas: The page.
        sheet: The sign; it has hangers.
        top_mm: Of what is printed, from the page's lower edge.
        width_mm: Of what is printed.
    """
    top_mm = draw_slim_header(canvas, sheet, top_mm, width_mm) - GAP_MM
    _draw_banner(canvas, top_mm, width_mm)
    top_mm -= _BANNER_MM + GAP_MM
    wide_mm = _LEFT_FRACTION * width_mm
    heading(canvas, "The board face down, seen from above", MARGIN_MM, top_mm, wide_mm)
    under_mm = top_mm - _DRAWING_MM
    _draw_lying(canvas, sheet, under_mm, wide_mm, _DRAWING_MM - _HEADING_MM - 1)
    _draw_figures(canvas, sheet, top_mm, width_mm - wide_mm - 5, MARGIN_MM + wide_mm + 5)
    _draw_words(canvas, sheet, under_mm - GAP_MM, width_mm)


def _draw_banner(canvas: Canvas, top_mm: float, width_mm: float) -> None:
    canvas.setFillColor(BAD)
    canvas.rect(MARGIN_MM * mm, (top_mm - _BANNER_MM) * mm, width_mm * mm, _BANNER_MM * mm, fill=1, stroke=0)
    canvas.setFillColorRGB(1, 1, 1)
    canvas.setFont(BOLD, 17)
    canvas.drawString((MARGIN_MM + 4) * mm, (top_mm - 6.4) * mm, "THE BACK, CUT FIRST: FACE DOWN")
    canvas.setFont(BOLD, 9)
    said = "turned over sideways, like a page; lift the bit only at the entries"
    canvas.drawString((MARGIN_MM + 4) * mm, (top_mm - 10.8) * mm, said)


def _draw_lying(
    canvas: Canvas, sheet: SetupSheet, bottom_mm: float, width_mm: float, height_mm: float
) -> None:
    """Draw the back in its blank, its slots with their places, as large as the box allows."""
    design = sheet.design
    blank = blank_of(design, sheet.cutout)
    room_mm = (width_mm - _DIMENSIONS_MM, height_mm - _DIMENSIONS_MM)
    scale = mm * min(room_mm[0] / blank.width_mm, room_mm[1] / blank.height_mm)
    beside, above = room_mm[0] * mm - blank.width_mm * scale, room_mm[1] * mm - blank.height_mm * scale
    canvas.saveState()
    canvas.translate(
        (MARGIN_MM + _DIMENSIONS_MM) * mm + beside / 2 + blank.margin_mm * scale,
        (bottom_mm + _DIMENSIONS_MM) * mm + above / 2 + blank.margin_mm * scale,
    )
    draw_blank(canvas, design, blank, sheet.cutout, scale)
    canvas.setStrokeColor(INK)
    canvas.setFillColor(WOOD)
    canvas.setLineWidth(0.8)
    width, height = design.board.width_mm * scale, design.board.height_mm * scale
    canvas.roundRect(0, 0, width, height, design.board.corner_radius_mm * scale, fill=1)
    canvas.setFillColor(QUIET)
    canvas.setFont(BOLD, 8)
    canvas.drawCentredString(width / 2, height - 10, "top edge of the sign")
    canvas.drawCentredString(width / 2, 4, "lower edge: stays below")
    for hanger in back_wording.lying(sheet):
        draw_slot(canvas, hanger, scale, hidden=False)
        _draw_place(canvas, sheet, hanger.x_mm, hanger.y_mm, hanger.cutter.diameter_mm / 2, scale)
    draw_dimensions(canvas, sheet, blank, scale)
    draw_zero(canvas)
    canvas.restoreState()


def _draw_place(
    canvas: Canvas, sheet: SetupSheet, x_mm: float, y_mm: float, radius_mm: float, scale: float
) -> None:
    """Draw the entry's middle, and its X and Y below it."""
    x, y, radius = x_mm * scale, y_mm * scale, radius_mm * scale
    canvas.setStrokeColor(BAD)
    canvas.setLineWidth(0.5)
    reach = max(radius, 3) + 2
    canvas.line(x - reach, y, x + reach, y)
    canvas.line(x, y - reach, x, y + reach)
    canvas.setFillColor(BAD)
    canvas.setFont(BOLD, 8)
    number = sheet.figures.number
    canvas.drawCentredString(x, y - reach - 8, f"X {number(round(x_mm, 3))}")
    canvas.drawCentredString(x, y - reach - 17, f"Y {number(round(y_mm, 3))}")


def _draw_figures(canvas: Canvas, sheet: SetupSheet, top_mm: float, width_mm: float, left_mm: float) -> None:
    """Draw the picture of the finished back, and the slots' figures under it."""
    under_mm = top_mm
    if sheet.preview_back_png is not None:
        with Image.open(io.BytesIO(sheet.preview_back_png)) as opened:
            opened.thumbnail((_PICTURE_PX, _PICTURE_PX), Image.Resampling.BOX)
            picture = ImageReader(opened.convert("RGB"))
        across, down = picture.getSize()
        high_mm = min(width_mm * down / across, _PICTURE_MM)
        wide_mm = high_mm * across / down
        box = (left_mm * mm, (top_mm - high_mm) * mm, wide_mm * mm, high_mm * mm)
        canvas.drawImage(picture, *box)
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(0.5)
        canvas.rect(*box)
        under_mm -= high_mm + 2
    table = pairs(back_wording.facts(sheet), 15, width_mm, 8.6)
    place(canvas, [table], left_mm, under_mm, width_mm, under_mm - top_mm + _DRAWING_MM)


def _draw_words(canvas: Canvas, sheet: SetupSheet, top_mm: float, width_mm: float) -> None:
    """Draw what to do in turn, and beside it what to mind."""
    wide_mm = _LEFT_FRACTION * width_mm
    high_mm = top_mm - FOOT_MM - _HEADING_MM
    heading(canvas, "In this order", MARGIN_MM, top_mm, wide_mm)
    steps = [ticks(back_wording.steps(sheet), wide_mm, 9.6)]
    place(canvas, steps, MARGIN_MM, top_mm - _HEADING_MM, wide_mm, high_mm)
    left_mm, rest_mm = MARGIN_MM + wide_mm + 5, width_mm - wide_mm - 5
    heading(canvas, "What to mind", left_mm, top_mm, rest_mm)
    lines = [
        Paragraph(
            f"<b>{plain(word.upper())}</b>&nbsp; {plain(said)}", style(9, CAUTION if number == 0 else INK)
        )
        for number, (word, said) in enumerate(back_wording.cautions())
    ]
    place(canvas, lines, left_mm, top_mm - _HEADING_MM, rest_mm, high_mm)
