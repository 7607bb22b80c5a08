"""The board from the side: where Z is zero, how deep the grooves go, and how far into the bed."""

from __future__ import annotations

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from workers.setup_sheet.look import BAD, BOLD, INK, QUIET, REGULAR, RULE, WOOD
from workers.setup_sheet.sheet import SetupSheet

_BED_FRACTION = 0.35  # of the board's thickness, drawn as spoilboard
_LEFT_PT, _RIGHT_PT = 62.0, 96.0  # room for words beside the board


def draw_section(
    canvas: Canvas, sheet: SetupSheet, left_mm: float, bottom_mm: float, width_mm: float, height_mm: float
) -> None:
    """Draw board and spoilboard cut through, heights to scale, the lowest and the carving depth marked.

    Args:
        canvas: The page.
        sheet: Thickness and the depths of the programs.
        left_mm: Of the box on the page.
        bottom_mm: Of the box on the page.
        width_mm: Of the box.
        height_mm: Of the box.
    """
    thickness_mm = sheet.design.board.thickness_mm
    depths_mm = [program.deepest_mm for program in sheet.programs if not program.from_behind]
    deepest_mm = max(depths_mm, default=0.0)
    carved_mm = max((depth_mm for depth_mm in depths_mm if depth_mm < thickness_mm), default=0.0)
    bed_mm = max(_BED_FRACTION * thickness_mm, 1.5 * (deepest_mm - thickness_mm))
    scale = (height_mm - 4) * mm / (thickness_mm + bed_mm)
    face = (bottom_mm + height_mm - 2) * mm
    left, right = left_mm * mm + _LEFT_PT, (left_mm + width_mm) * mm - _RIGHT_PT
    under = face - thickness_mm * scale
    canvas.setLineWidth(0.6)
    canvas.setStrokeColor(INK)
    canvas.setFillColor(RULE)
    canvas.rect(left, under - bed_mm * scale, right - left, bed_mm * scale, fill=1)
    canvas.setFillColor(WOOD)
    canvas.rect(left, under, right - left, thickness_mm * scale, fill=1)
    if carved_mm > 0:
        _notch(canvas, left + 0.35 * (right - left), face, carved_mm * scale)
    if deepest_mm > thickness_mm:
        canvas.setFillColorRGB(1, 1, 1)
        canvas.rect(left + 0.8 * (right - left), face - deepest_mm * scale, 5, deepest_mm * scale, fill=1)
    _words(canvas, sheet, (left, right), (face, under), carved_mm, deepest_mm)


def _notch(canvas: Canvas, middle: float, face: float, deep: float) -> None:
    notch = canvas.beginPath()
    notch.moveTo(middle - deep, face)
    notch.lineTo(middle, face - deep)
    notch.lineTo(middle + deep, face)
    canvas.setFillColorRGB(1, 1, 1)
    canvas.drawPath(notch, fill=1, stroke=1)


def _words(
    canvas: Canvas,
    sheet: SetupSheet,
    sides: tuple[float, float],
    heights: tuple[float, float],
    carved_mm: float,
    deepest_mm: float,
) -> None:
    """Zero to the left of the face; depths to the right."""
    (left, right), (face, under) = sides, heights
    length = sheet.figures.length
    canvas.setStrokeColor(BAD)
    canvas.setFillColor(BAD)
    canvas.setLineWidth(1.0)
    canvas.line(left - 22, face, left + 8, face)
    canvas.setFont(BOLD, 9)
    canvas.drawRightString(left - 24, face - 3, "Z 0")
    canvas.setFont(REGULAR, 6.5)
    canvas.drawRightString(left - 3, face - 10, "the board's face")
    canvas.setFillColor(INK)
    canvas.setFont(BOLD, 7.5)
    canvas.drawString(right + 4, face - 6, f"carved {length(round(carved_mm, 2))} deep")
    canvas.drawString(right + 4, face - 16, f"lowest Z -{length(round(deepest_mm, 2))}")
    canvas.setFillColor(QUIET)
    canvas.setFont(REGULAR, 6.5)
    canvas.drawRightString(left - 3, under - 6, "spoilboard")
