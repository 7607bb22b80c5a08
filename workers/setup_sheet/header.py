"""The top of the page: what sign, whether it is proven, and what is read from a metre away."""

from __future__ import annotations

from reportlab.lib.colors import Color, white
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph

from workers.setup_sheet import wording
from workers.setup_sheet.job_code import draw_code
from workers.setup_sheet.look import BAD, BOLD, GOOD, INK, PANEL, QUIET, REGULAR, place, plain, style
from workers.setup_sheet.paper import MARGIN_MM
from workers.setup_sheet.sheet import SetupSheet

_HEADER_MM, _SLIM_MM, _HEADLINES_MM, _CODE_MM = 19.0, 11.0, 15.0, 19.0
_HEADLINE_PARTS = (0.23, 0.19, 0.35, 0.23)  # of the width
_VERDICT_MM = 49.0


def draw_header(canvas: Canvas, sheet: SetupSheet, top_mm: float, width_mm: float) -> float:
    """Draw the sign's name, the proof's verdict and the code; return where they end."""
    bottom_mm = top_mm - _HEADER_MM
    passed = sheet.proof.passed
    canvas.setFillColor(INK if passed else BAD)
    canvas.rect(MARGIN_MM * mm, bottom_mm * mm, width_mm * mm, _HEADER_MM * mm, fill=1, stroke=0)
    right_mm = MARGIN_MM + width_mm
    if sheet.order_digest:
        right_mm -= _CODE_MM
        draw_code(canvas, sheet.order_digest, right_mm, bottom_mm, _CODE_MM)
    label = Paragraph("SET-UP SHEET", style(7.5, Color(1, 1, 1, 0.75), bold=True))
    title = Paragraph(plain(sheet.title), style(19, white, bold=True))
    place(canvas, [label, title], MARGIN_MM + 4, top_mm - 2, right_mm - MARGIN_MM - 58, _HEADER_MM - 3)
    canvas.setFillColor(GOOD if passed else white)
    left_mm = right_mm - _VERDICT_MM - 3
    canvas.roundRect(left_mm * mm, (bottom_mm + 3) * mm, _VERDICT_MM * mm, 13 * mm, 2 * mm, fill=1, stroke=0)
    canvas.setFillColor(white if passed else BAD)
    middle = (left_mm + _VERDICT_MM / 2) * mm
    canvas.setFont(BOLD, 17)
    canvas.drawCentredString(middle, (bottom_mm + 8.8) * mm, _verdict(sheet))
    canvas.setFont(REGULAR, 7)
    said = "programs read back and cut in simulation" if passed else "the proof failed: see the findings"
    canvas.drawCentredString(middle, (bottom_mm + 5) * mm, said)
    return bottom_mm


def draw_slim_header(canvas: Canvas, sheet: SetupSheet, top_mm: float, width_mm: float) -> float:
    """Draw the name and the verdict over a following page; return where they end."""
    bottom_mm = top_mm - _SLIM_MM
    canvas.setFillColor(INK if sheet.proof.passed else BAD)
    canvas.rect(MARGIN_MM * mm, bottom_mm * mm, width_mm * mm, _SLIM_MM * mm, fill=1, stroke=0)
    title = Paragraph(plain(sheet.title), style(12, white, bold=True))
    place(canvas, [title], MARGIN_MM + 4, top_mm - 2.6, width_mm - 52, _SLIM_MM - 4)
    canvas.setFillColor(white)
    canvas.setFont(BOLD, 12)
    canvas.drawRightString((MARGIN_MM + width_mm - 4) * mm, (bottom_mm + 4) * mm, _verdict(sheet))
    return bottom_mm


def _verdict(sheet: SetupSheet) -> str:
    return "PROVEN" if sheet.proof.passed else "DO NOT RUN"


def draw_headlines(canvas: Canvas, sheet: SetupSheet, top_mm: float, width_mm: float) -> float:
    """Draw board, thickness, zero and time in type that is read from a metre away; return where they end."""
    bottom_mm, left_mm = top_mm - _HEADLINES_MM, MARGIN_MM
    canvas.setFillColor(PANEL)
    canvas.rect(left_mm * mm, bottom_mm * mm, width_mm * mm, _HEADLINES_MM * mm, fill=1, stroke=0)
    for (name, figure, said), part in zip(wording.headlines(sheet), _HEADLINE_PARTS, strict=True):
        lines = [
            Paragraph(name.upper(), style(6.5, QUIET, bold=True)),
            Paragraph(plain(figure), style(15, bold=True)),
            Paragraph(plain(said), style(7.2)),
        ]
        place(canvas, lines, left_mm + 2, top_mm - 0.8, part * width_mm - 3, _HEADLINES_MM - 1.2)
        left_mm += part * width_mm
    return bottom_mm
