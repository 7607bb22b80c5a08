"""The page beside the machine: one sheet of paper, the same bytes for the same sign."""

from __future__ import annotations

import io
from dataclasses import dataclass

from PIL import Image
from reportlab import rl_config
from reportlab.lib.colors import Color, white
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph

from workers.setup_sheet import wording
from workers.setup_sheet.board_drawing import draw_board
from workers.setup_sheet.job_code import draw_code, short_code
from workers.setup_sheet.look import (
    BAD,
    BOLD,
    CAUTION,
    CAUTION_PANEL,
    GOOD,
    INK,
    PANEL,
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
from workers.setup_sheet.programs_table import programs_table
from workers.setup_sheet.section_drawing import draw_section
from workers.setup_sheet.sheet import ProgramRow, SetupSheet
from workers.values.finding import Severity

__all__ = ["ProgramRow", "SetupSheet", "draw_setup_sheet"]

_MARGIN_MM, _FOOT_MM, _GAP_MM = 12.0, 9.0, 3.0
_HEADER_MM, _HEADLINES_MM, _CODE_MM = 19.0, 15.0, 19.0
_DRAWING_FRACTION = 0.59  # of the width, for the board's box
_DRAWING_MM = (46.0, 84.0)  # least and most height of that box
_SECTION_MM = 14.0
_UPRIGHT_FRACTION = 0.40  # of the box's width, that an upright board takes
_COLUMNS_MM, _SAFETY_MM = 47.0, 37.0
_PREVIEW_FRACTION, _PREVIEW_PX = 0.40, 800  # of the box's height; 300 dots to the inch are enough
_HEADLINE_PARTS = (0.23, 0.19, 0.35, 0.23)  # of the width
_COLUMN_PARTS = (0.47, 0.32, 0.21)
_COLOURS = {Severity.ERROR: BAD, Severity.WARNING: CAUTION, Severity.NOTE: QUIET}

rl_config.useA85 = 0  # pictures as bytes: as text they are a quarter larger and take half the page's time


@dataclass(frozen=True, slots=True)
class _Paper:
    """A sheet and the strip of it that is printed."""

    width_mm: float
    height_mm: float

    @property
    def printed_mm(self) -> float:
        return self.width_mm - 2 * _MARGIN_MM


_PAPERS = {"a4": _Paper(210.0, 297.0), "letter": _Paper(215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1 size A


def draw_setup_sheet(sheet: SetupSheet) -> bytes:
    """Return the set-up sheet of a sign as PDF, one page of A4 or Letter.

    From the top: what is read from a metre away; the drawings; the programs with their bits; what to
    check, what was found and what was measured; cautions. The drawings take what height is left.

    Args:
        sheet: All that is printed; a proof that failed is said in red across the top.
    """
    use_fonts()
    paper = _PAPERS[sheet.paper]
    width_mm = paper.printed_mm
    written = io.BytesIO()
    canvas = Canvas(written, pagesize=(paper.width_mm * mm, paper.height_mm * mm), invariant=True)
    canvas.setTitle(f"Set-up sheet: {sheet.title}")
    canvas.setAuthor("Triglyph")
    canvas.setSubject("Router programs, set-up and checks for one sign")
    table = programs_table(sheet, width_mm)
    table_mm = table.wrap(width_mm * mm, paper.height_mm * mm)[1] / mm

    top_mm = _draw_header(canvas, sheet, paper.height_mm - _MARGIN_MM, width_mm)
    top_mm = _draw_headlines(canvas, sheet, top_mm, width_mm) - _GAP_MM
    below_mm = _FOOT_MM + _SAFETY_MM + _COLUMNS_MM + table_mm + 4.5 + 3 * _GAP_MM
    height_mm = min(max(top_mm - below_mm, _DRAWING_MM[0]), _DRAWING_MM[1])
    top_mm = _draw_set_up(canvas, sheet, top_mm, width_mm, height_mm) - _GAP_MM
    heading(canvas, "Programs, in this order", _MARGIN_MM, top_mm, width_mm)
    top_mm -= 4.5 + table_mm
    table.drawOn(canvas, _MARGIN_MM * mm, top_mm * mm)
    _draw_columns(canvas, sheet, top_mm - _GAP_MM, _FOOT_MM + _SAFETY_MM + _GAP_MM, width_mm)
    _draw_safety(canvas, sheet, _FOOT_MM + _SAFETY_MM, width_mm)
    _draw_foot(canvas, sheet, width_mm)
    canvas.showPage()
    canvas.save()
    return written.getvalue()


def _draw_header(canvas: Canvas, sheet: SetupSheet, top_mm: float, width_mm: float) -> float:
    bottom_mm = top_mm - _HEADER_MM
    passed = sheet.proof.passed
    canvas.setFillColor(INK if passed else BAD)
    canvas.rect(_MARGIN_MM * mm, bottom_mm * mm, width_mm * mm, _HEADER_MM * mm, fill=1, stroke=0)
    right_mm = _MARGIN_MM + width_mm
    if sheet.order_digest:
        right_mm -= _CODE_MM
        draw_code(canvas, sheet.order_digest, right_mm, bottom_mm, _CODE_MM)
    label = Paragraph("SET-UP SHEET", style(7.5, Color(1, 1, 1, 0.75), bold=True))
    title = Paragraph(plain(sheet.title), style(19, white, bold=True))
    place(canvas, [label, title], _MARGIN_MM + 4, top_mm - 2, right_mm - _MARGIN_MM - 58, _HEADER_MM - 3)
    canvas.setFillColor(GOOD if passed else white)
    canvas.roundRect((right_mm - 52) * mm, (bottom_mm + 3) * mm, 49 * mm, 13 * mm, 2 * mm, fill=1, stroke=0)
    canvas.setFillColor(white if passed else BAD)
    middle = (right_mm - 27.5) * mm
    canvas.setFont(BOLD, 17)
    canvas.drawCentredString(middle, (bottom_mm + 8.8) * mm, "PROVEN" if passed else "DO NOT RUN")
    canvas.setFont(REGULAR, 7)
    said = "programs read back and cut in simulation" if passed else "the proof failed: see the findings"
    canvas.drawCentredString(middle, (bottom_mm + 5) * mm, said)
    return bottom_mm


def _draw_headlines(canvas: Canvas, sheet: SetupSheet, top_mm: float, width_mm: float) -> float:
    """Board, thickness, zero and time in type that is read from a metre away."""
    bottom_mm, left_mm = top_mm - _HEADLINES_MM, _MARGIN_MM
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


def _draw_set_up(
    canvas: Canvas, sheet: SetupSheet, top_mm: float, width_mm: float, height_mm: float
) -> float:
    bottom_mm = top_mm - height_mm
    drawn_mm = _DRAWING_FRACTION * width_mm
    heading(canvas, "Set-up, seen from above and from the side", _MARGIN_MM, top_mm, drawn_mm)
    if sheet.design.board.height_mm > sheet.design.board.width_mm:  # an upright board has room beside it
        beside_mm, over_mm = _UPRIGHT_FRACTION * drawn_mm, bottom_mm
    else:
        beside_mm, over_mm = 0.0, bottom_mm + _SECTION_MM + 1
    across_mm = beside_mm or drawn_mm
    draw_board(canvas, sheet, _MARGIN_MM, over_mm, across_mm, top_mm - over_mm - 5)
    draw_section(canvas, sheet, _MARGIN_MM + beside_mm, bottom_mm, drawn_mm - beside_mm, _SECTION_MM)
    left_mm, right_mm, under_mm = _MARGIN_MM + drawn_mm + 5, _MARGIN_MM + width_mm, top_mm
    if sheet.preview_png is not None:
        box_mm = (right_mm - left_mm, _PREVIEW_FRACTION * height_mm)
        under_mm -= _draw_preview(canvas, sheet.preview_png, left_mm, top_mm, box_mm) + 2
    width_mm = right_mm - left_mm
    place(
        canvas, [pairs(wording.facts(sheet), 15, width_mm)], left_mm, under_mm, width_mm, under_mm - bottom_mm
    )
    return bottom_mm


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


def _draw_columns(
    canvas: Canvas, sheet: SetupSheet, top_mm: float, bottom_mm: float, width_mm: float
) -> None:
    """Checks, findings and proof side by side."""
    found = [
        Paragraph(f"<b>{severity.value}</b>&nbsp; {plain(line)}", style(8, _COLOURS[severity], indent_mm=3))
        for severity, line in wording.finding_lines(sheet)
    ]
    left_mm = _MARGIN_MM
    for name, part in zip(
        ("Before the spindle starts", "Found on the way", "Proof"), _COLUMN_PARTS, strict=True
    ):
        wide_mm = part * width_mm - (4 if name != "Proof" else 0)
        heading(canvas, name, left_mm, top_mm, wide_mm)
        flowing = {"Found on the way": found, "Proof": [pairs(wording.proof_rows(sheet), 14, wide_mm)]}.get(
            name, [ticks(wording.checks(sheet), wide_mm, 8.8)]
        )
        place(canvas, flowing, left_mm, top_mm - 5, wide_mm, top_mm - bottom_mm - 5)
        left_mm += part * width_mm


def _draw_safety(canvas: Canvas, sheet: SetupSheet, top_mm: float, width_mm: float) -> None:
    """Cautions in two columns, each after a word that is found at a glance."""
    canvas.setFillColor(CAUTION_PANEL)
    canvas.setStrokeColor(CAUTION)
    canvas.setLineWidth(0.8)
    canvas.roundRect(
        _MARGIN_MM * mm, (top_mm - _SAFETY_MM) * mm, width_mm * mm, _SAFETY_MM * mm, 2 * mm, fill=1, stroke=1
    )
    lines = [
        Paragraph(f"<b>{plain(word.upper())}</b>&nbsp; {plain(line)}", style(7.6, indent_mm=2.5))
        for word, line in wording.safety_lines(sheet)
    ]
    half, column_mm = -(-len(lines) // 2), width_mm / 2 - 5
    for side, part in enumerate((lines[:half], lines[half:])):
        left_mm = _MARGIN_MM + 3 + side * (column_mm + 4)
        place(canvas, part, left_mm, top_mm - 1.5, column_mm, _SAFETY_MM - 10.5)
    disclaimer = [Paragraph(wording.DISCLAIMER, style(8.4, CAUTION, bold=True))]
    place(canvas, disclaimer, _MARGIN_MM + 3, top_mm - _SAFETY_MM + 8.5, width_mm - 6, 8)


def _draw_foot(canvas: Canvas, sheet: SetupSheet, width_mm: float) -> None:
    canvas.setFillColor(QUIET)
    canvas.setFont(REGULAR, 7)
    digests = "beside each program: the beginning of its file's SHA-256, in full in MANIFEST"
    canvas.drawString(_MARGIN_MM * mm, 5 * mm, digests)
    if sheet.order_digest:
        canvas.setFillColor(INK)
        canvas.setFont(BOLD, 9)
        job = f"job {short_code(sheet.order_digest)}"
        canvas.drawRightString((_MARGIN_MM + width_mm) * mm, 5 * mm, job)
