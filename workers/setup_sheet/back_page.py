"""The page about the back: the board turned over, its slots, what to do in turn and what to mind."""

from __future__ import annotations

from reportlab.lib.units import mm
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
    WOOD,
    heading,
    natural_mm,
    pairs,
    place,
    plain,
    style,
    ticks,
)
from workers.setup_sheet.paper import FOOT_MM, GAP_MM, MARGIN_MM
from workers.setup_sheet.picture import draw_picture
from workers.setup_sheet.sheet import SetupSheet
from workers.setup_sheet.slot_drawing import draw_across
from workers.values.hanger_shape import as_they_lie

_BANNER_MM, _DRAWING_MM, _HEADING_MM = 13.0, 96.0, 5.0
_LEFT_FRACTION = 0.60  # of the width, for the drawing and the steps
_DIMENSIONS_MM = 9.0  # of paper, for the two dimension lines
_PICTURE_MM = 52.0  # high at most
_LOWER = ("lower edge: stays below", "stays below")
_BETWEEN_MM = 5.0  # of the two columns
_AXIS_PT = 40.0  # an axis with its name
_ACROSS_MM = 26.0  # of the slot cut across


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
    _draw_steps(canvas, sheet, under_mm - GAP_MM, wide_mm)
    _draw_beside(canvas, sheet, top_mm, MARGIN_MM + wide_mm + _BETWEEN_MM, width_mm - wide_mm - _BETWEEN_MM)


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
    lower = next((said for said in _LOWER if canvas.stringWidth(said, BOLD, 8) < width), "")
    beside_axis = (width - canvas.stringWidth(lower, BOLD, 8)) / 2 > _AXIS_PT
    canvas.drawCentredString(width / 2, 4 if beside_axis else _AXIS_PT + 4, lower)
    for hanger in as_they_lie(design.hangers, design.board):
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


def _draw_steps(canvas: Canvas, sheet: SetupSheet, top_mm: float, width_mm: float) -> None:
    """Draw what to do in turn, and the deepest slot cut across under it."""
    heading(canvas, "In this order", MARGIN_MM, top_mm, width_mm)
    steps = [ticks(back_wording.steps(sheet), width_mm, 9.6)]
    room_mm = top_mm - FOOT_MM - _ACROSS_MM - 2 * _HEADING_MM - GAP_MM
    used_mm = min(natural_mm(steps, width_mm), room_mm)
    place(canvas, steps, MARGIN_MM, top_mm - _HEADING_MM, width_mm, room_mm)
    top_mm -= _HEADING_MM + used_mm + GAP_MM
    heading(canvas, "A slot cut across, face down", MARGIN_MM, top_mm, width_mm)
    deepest = max(sheet.design.hangers, key=lambda hanger: hanger.depth_mm)
    draw_across(canvas, sheet, deepest, MARGIN_MM, top_mm - _HEADING_MM - 1, width_mm, _ACROSS_MM)


def _draw_beside(canvas: Canvas, sheet: SetupSheet, top_mm: float, left_mm: float, width_mm: float) -> None:
    """Draw the picture of the finished back, the slots' figures under it, and what to mind."""
    if sheet.preview_back_png is not None:
        box_mm = (width_mm, _PICTURE_MM)
        top_mm -= draw_picture(canvas, sheet.preview_back_png, left_mm, top_mm, box_mm) + 2
    table = [pairs(back_wording.facts(sheet), 15, width_mm, 8.6)]
    lines = [
        Paragraph(
            f"<b>{plain(word.upper())}</b>&nbsp; {plain(said)}", style(9, CAUTION if number == 0 else INK)
        )
        for number, (word, said) in enumerate(back_wording.cautions())
    ]
    rest_mm = top_mm - FOOT_MM - _HEADING_MM - GAP_MM
    used_mm = min(natural_mm(table, width_mm), rest_mm - natural_mm(lines, width_mm))
    place(canvas, table, left_mm, top_mm, width_mm, used_mm)
    top_mm -= used_mm + GAP_MM
    heading(canvas, "What to mind", left_mm, top_mm, width_mm)
    place(canvas, lines, left_mm, top_mm - _HEADING_MM, width_mm, top_mm - _HEADING_MM - FOOT_MM)
