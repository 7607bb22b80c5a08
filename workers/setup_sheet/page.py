"""The page beside the machine: one sheet of A4, the same bytes for the same sign."""

from __future__ import annotations

import io

from PIL import Image
from reportlab import rl_config
from reportlab.lib.colors import Color, white
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph

from workers.setup_sheet import wording
from workers.setup_sheet.board_drawing import draw_board
from workers.setup_sheet.look import (
    BAD,
    BOLD,
    CAUTION,
    CAUTION_PANEL,
    GOOD,
    INK,
    QUIET,
    REGULAR,
    RULE,
    heading,
    pairs,
    place,
    plain,
    style,
    ticks,
    use_fonts,
)
from workers.setup_sheet.programs_table import MOST_ROWS, draw_programs
from workers.setup_sheet.sheet import ProgramRow, SetupSheet
from workers.values.finding import Severity

__all__ = ["ProgramRow", "SetupSheet", "draw_setup_sheet"]

_LEFT_MM, _WIDTH_MM = 12.0, 186.0
_TOP_MM = 285.0
_HEADER_MM = 17.0
_DRAWING_MM = 108.0  # width of the board's box
_PREVIEW_MM, _PREVIEW_PX = 38.0, 800  # 300 dots to the inch of paper are enough
_FACTS_MM = 50.0  # of height that the list of facts needs beside the drawing
_SAFETY_MM = 36.0
_GAP_MM = 4.0
_FOOT_MM = 10.0
_COLOURS = {Severity.ERROR: BAD, Severity.WARNING: CAUTION, Severity.NOTE: QUIET}

rl_config.useA85 = 0  # pictures as bytes: as text they are a quarter larger and take half the page's time


def draw_setup_sheet(sheet: SetupSheet) -> bytes:
    """Return the set-up sheet of a sign as PDF, one page of A4.

    Args:
        sheet: All that is printed; a proof that failed is said in red across the top.
    """
    use_fonts()
    written = io.BytesIO()
    canvas = Canvas(written, pagesize=A4, invariant=True)
    canvas.setTitle(f"Set-up sheet: {sheet.title}")
    canvas.setAuthor("Triglyph")
    canvas.setSubject("Router programs, set-up and checks for one sign")
    top_mm = _draw_header(canvas, sheet, _TOP_MM) - _GAP_MM
    top_mm = _draw_set_up(canvas, sheet, top_mm) - _GAP_MM
    heading(canvas, "Programs, in this order", _LEFT_MM, top_mm, _WIDTH_MM)
    top_mm -= 4.5
    top_mm -= draw_programs(canvas, sheet.programs, _LEFT_MM, top_mm, _WIDTH_MM) + _GAP_MM
    _draw_columns(canvas, sheet, top_mm, _FOOT_MM + _SAFETY_MM + _GAP_MM)
    _draw_safety(canvas, sheet, _FOOT_MM + _SAFETY_MM)
    _draw_foot(canvas, sheet)
    canvas.showPage()
    canvas.save()
    return written.getvalue()


def _draw_header(canvas: Canvas, sheet: SetupSheet, top_mm: float) -> float:
    bottom_mm = top_mm - _HEADER_MM
    canvas.setFillColor(INK)
    canvas.rect(_LEFT_MM * mm, bottom_mm * mm, _WIDTH_MM * mm, _HEADER_MM * mm, fill=1, stroke=0)
    label = Paragraph("SET-UP SHEET", style(7.5, Color(1, 1, 1, 0.75), bold=True))
    title = Paragraph(plain(sheet.title), style(17, white, bold=True))
    place(canvas, [label, title], _LEFT_MM + 5, top_mm - 2.2, _WIDTH_MM - 66, _HEADER_MM - 3)
    passed = sheet.proof.passed
    canvas.setFillColor(GOOD if passed else BAD)
    canvas.roundRect(
        (_LEFT_MM + _WIDTH_MM - 57) * mm, (bottom_mm + 3) * mm, 53 * mm, 11 * mm, 2 * mm, fill=1, stroke=0
    )
    canvas.setFillColor(white)
    middle = (_LEFT_MM + _WIDTH_MM - 30.5) * mm
    canvas.setFont(BOLD, 12)
    canvas.drawCentredString(middle, (bottom_mm + 8.6) * mm, "PROVEN" if passed else "DO NOT RUN")
    canvas.setFont(REGULAR, 7)
    said = "programs read back and cut in simulation" if passed else "the proof failed: see the findings"
    canvas.drawCentredString(middle, (bottom_mm + 4.9) * mm, said)
    return bottom_mm


def _draw_set_up(canvas: Canvas, sheet: SetupSheet, top_mm: float) -> float:
    width_mm, height_mm = _DRAWING_MM, _drawing_height_mm(len(sheet.programs))
    bottom_mm = top_mm - height_mm
    heading(canvas, "Set-up, seen from above", _LEFT_MM, top_mm, width_mm)
    draw_board(
        canvas, sheet.design, sheet.cutout, sheet.keep_outs, _LEFT_MM, bottom_mm, width_mm, height_mm - 9
    )
    left_mm, right_mm = _LEFT_MM + width_mm + 5, _LEFT_MM + _WIDTH_MM
    under_mm = top_mm
    preview_mm = min(_PREVIEW_MM, height_mm - _FACTS_MM)
    if sheet.preview_png is not None and preview_mm > 0:
        box_mm = (right_mm - left_mm, preview_mm)
        under_mm -= _draw_preview(canvas, sheet.preview_png, left_mm, top_mm, box_mm) + 2
    width_mm = right_mm - left_mm
    place(
        canvas, [pairs(wording.facts(sheet), 17, width_mm)], left_mm, under_mm, width_mm, under_mm - bottom_mm
    )
    return bottom_mm


def _drawing_height_mm(programs_count: int) -> float:
    """A long table of programs takes its room from the drawing, not from the checks."""
    more = min(programs_count, MOST_ROWS + 1) - 4
    return max(58.0, 92.0 - 9.0 * max(0, more))


def _draw_preview(
    canvas: Canvas, png: bytes, left_mm: float, top_mm: float, box_mm: tuple[float, float]
) -> float:
    """Draw the picture as large as the box allows and return how much height it took."""
    with Image.open(io.BytesIO(png)) as opened:
        opened.thumbnail((_PREVIEW_PX, _PREVIEW_PX), Image.Resampling.BOX)
        picture = ImageReader(opened.convert("RGB"))
    across, down = picture.getSize()
    width_mm, most_mm = box_mm
    height_mm = min(width_mm * down / across, most_mm)
    wide_mm = height_mm * across / down
    start_mm = left_mm + (width_mm - wide_mm) / 2
    canvas.drawImage(picture, start_mm * mm, (top_mm - height_mm) * mm, wide_mm * mm, height_mm * mm)
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(0.5)
    canvas.rect(start_mm * mm, (top_mm - height_mm) * mm, wide_mm * mm, height_mm * mm)
    return float(height_mm)


def _draw_columns(canvas: Canvas, sheet: SetupSheet, top_mm: float, bottom_mm: float) -> None:
    """Checks, findings and proof side by side."""
    widths_mm = (72.0, 60.0, _WIDTH_MM - 72 - 60 - 8)
    lefts_mm = (_LEFT_MM, _LEFT_MM + 76, _LEFT_MM + 140)
    names = ("Before the spindle starts", "Found on the way", "Proof")
    height_mm = top_mm - bottom_mm - 5
    for name, left_mm, width_mm in zip(names, lefts_mm, widths_mm, strict=True):
        heading(canvas, name, left_mm, top_mm, width_mm)
    boxes = ticks(wording.checks(sheet), widths_mm[0])
    place(canvas, [boxes], lefts_mm[0], top_mm - 5, widths_mm[0], height_mm)
    found = [
        Paragraph(f"<b>{severity.value}</b>&nbsp; {plain(line)}", style(7.8, _COLOURS[severity], indent_mm=3))
        for severity, line in wording.finding_lines(sheet)
    ]
    place(canvas, found, lefts_mm[1], top_mm - 5, widths_mm[1], height_mm)
    figures = pairs(wording.proof_rows(sheet), 17, widths_mm[2])
    place(canvas, [figures], lefts_mm[2], top_mm - 5, widths_mm[2], height_mm)


def _draw_safety(canvas: Canvas, sheet: SetupSheet, top_mm: float) -> None:
    canvas.setFillColor(CAUTION_PANEL)
    canvas.setStrokeColor(CAUTION)
    canvas.setLineWidth(0.8)
    canvas.roundRect(
        _LEFT_MM * mm, (top_mm - _SAFETY_MM) * mm, _WIDTH_MM * mm, _SAFETY_MM * mm, 2 * mm, fill=1, stroke=1
    )
    lines = [Paragraph(f"Safety: {plain(sheet.material.title)}", style(9, CAUTION, bold=True))]
    lines += [
        Paragraph(f"-&nbsp; {plain(line)}", style(7.4, indent_mm=2.5)) for line in wording.safety_lines(sheet)
    ]
    lines.append(Paragraph(wording.DISCLAIMER, style(7.4, bold=True)))
    place(canvas, lines, _LEFT_MM + 4, top_mm - 2, _WIDTH_MM - 8, _SAFETY_MM - 4)


def _draw_foot(canvas: Canvas, sheet: SetupSheet) -> None:
    canvas.setFillColor(QUIET)
    canvas.setFont(REGULAR, 6.5)
    digests = "   ".join(f"{record.name[:2]} {record.sha256[:12]}" for record in sheet.proof.programs[:8])
    canvas.drawString(_LEFT_MM * mm, 6 * mm, f"programs by SHA-256:  {digests}" if digests else "")
    canvas.drawRightString(
        (_LEFT_MM + _WIDTH_MM) * mm, 6 * mm, f"order {sheet.order_digest[:16]}" if sheet.order_digest else ""
    )
