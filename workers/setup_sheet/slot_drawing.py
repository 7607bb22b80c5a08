"""A slot of the back cut across, to scale: the lip that carries the sign, the head's way, the wood before."""

from __future__ import annotations

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from workers.setup_sheet.look import BAD, BOLD, INK, QUIET, REGULAR, WOOD
from workers.setup_sheet.sheet import SetupSheet
from workers.values.design import Hanger
from workers.values.hanger_shape import lip_mm

_HEADS_WIDE = 3.0  # of board shown, in heads
_LEFT_PT, _RIGHT_PT = 40.0, 118.0  # room for words beside the board


def draw_across(
    canvas: Canvas,
    sheet: SetupSheet,
    hanger: Hanger,
    left_mm: float,
    top_mm: float,
    width_mm: float,
    height_mm: float,
) -> None:
    """Draw the board face down, cut across a slot, with its heights.

    Args:
        canvas: The page.
        sheet: Its board, and the unit of figures.
        hanger: The slot.
        left_mm: Of the box on the page.
        top_mm: Of the box, from the page's lower edge.
        width_mm: Of the box.
        height_mm: Of the box.
    """
    thick_mm, cutter = sheet.design.board.thickness_mm, hanger.cutter
    wide_mm = _HEADS_WIDE * cutter.diameter_mm
    scale = min((height_mm - 2) * mm / thick_mm, (width_mm * mm - _LEFT_PT - _RIGHT_PT) / wide_mm)
    canvas.saveState()
    canvas.translate(left_mm * mm + _LEFT_PT + wide_mm * scale / 2, top_mm * mm - thick_mm * scale)
    half, high = wide_mm * scale / 2, thick_mm * scale
    canvas.setFillColor(WOOD)
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(0.7)
    canvas.rect(-half, 0, 2 * half, high, fill=1)
    neck, head = cutter.neck_mm / 2 * scale, cutter.diameter_mm / 2 * scale
    lip, bottom = high - lip_mm(hanger) * scale, high - hanger.depth_mm * scale
    hollow = canvas.beginPath()
    hollow.moveTo(-neck, high)
    for x, y in (
        (-neck, lip),
        (-head, lip),
        (-head, bottom),
        (head, bottom),
        (head, lip),
        (neck, lip),
        (neck, high),
    ):
        hollow.lineTo(x, y)
    canvas.setFillColorRGB(1, 1, 1)
    canvas.drawPath(hollow, fill=1, stroke=1)
    canvas.setFillColor(BAD)
    canvas.setFont(BOLD, 9)
    canvas.drawRightString(-half - 4, high - 3, "Z 0")
    canvas.setFillColor(QUIET)
    canvas.setFont(REGULAR, 7)
    canvas.drawRightString(-half - 4, high - 11, "the back")
    canvas.drawRightString(-half - 4, 1, "the face")
    fine, unit = sheet.figures.number, sheet.figures.unit
    canvas.setFillColor(INK)
    canvas.setStrokeColor(QUIET)
    canvas.setLineWidth(0.4)
    left_over_mm = thick_mm - hanger.depth_mm
    for low, top, words in (
        (lip, high, f"lip {fine(lip_mm(hanger), 2)} {unit}"),
        (bottom, lip, f"head {fine(cutter.head_mm, 2)} {unit}"),
        (0.0, bottom, f"{fine(left_over_mm, 2)} {unit} to the face, carving apart"),
    ):
        canvas.line(half + 3, low, half + 9, low)
        canvas.line(half + 3, top, half + 9, top)
        canvas.line(half + 6, low, half + 6, top)
        canvas.setFont(BOLD, 7.5)
        canvas.drawString(half + 12, (low + top) / 2 - 2.5, words)
    canvas.restoreState()
