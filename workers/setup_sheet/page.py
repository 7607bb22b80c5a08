"""The page beside the machine: one sheet of paper if all fits on it, the same bytes for the same sign."""

from __future__ import annotations

import io
from dataclasses import dataclass

from reportlab import rl_config
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Table

from workers.setup_sheet import wording
from workers.setup_sheet.back_page import draw_back_page
from workers.setup_sheet.board_drawing import draw_board
from workers.setup_sheet.columns import (
    PARTS_OVERLEAF,
    SAFETY_MM,
    columns_mm,
    columns_of,
    draw_columns,
    draw_safety,
)
from workers.setup_sheet.header import draw_header, draw_headlines, draw_slim_header
from workers.setup_sheet.job_code import short_code
from workers.setup_sheet.look import BOLD, INK, QUIET, REGULAR, heading, pairs, place, use_fonts
from workers.setup_sheet.paper import FOOT_MM, GAP_MM, MARGIN_MM, PAPERS, Paper
from workers.setup_sheet.picture import draw_picture
from workers.setup_sheet.programs_table import programs_table
from workers.setup_sheet.section_drawing import draw_section
from workers.setup_sheet.sheet import ProgramRow, SetupSheet

__all__ = ["ProgramRow", "SetupSheet", "draw_setup_sheet"]

_DRAWING_FRACTION = 0.59  # of the width, for the board's box
_DRAWING_MM = (46.0, 84.0)  # least and most height of that box
_SECTION_MM = 14.0
_UPRIGHT_FRACTION = 0.40  # of the box's width, that an upright board takes
_COLUMNS_MM, _HEADING_MM = 47.0, 4.5
_SMALLEST = 0.85  # to which type of the columns may shrink before a second page is taken
_FINDINGS, _FINDINGS_OVERLEAF = 6, 16
_PREVIEW_FRACTION = 0.40  # of the box's height

rl_config.useA85 = 0  # pictures as bytes: as text they are a quarter larger and take half the page's time


@dataclass(frozen=True, slots=True, eq=False)
class _Pages:
    """The pages as they are drawn: what goes on each, and how many there will be."""

    canvas: Canvas
    sheet: SetupSheet
    paper: Paper

    @property
    def width_mm(self) -> float:
        return self.paper.printed_mm

    @property
    def top_mm(self) -> float:
        return self.paper.height_mm - MARGIN_MM


def draw_setup_sheet(sheet: SetupSheet) -> bytes:
    """Return the set-up sheet of a sign as PDF, one page of A4 or Letter if that holds it.

    From the top: what is read from a metre away; the drawings; the programs with their bits; what to
    check, what was found and what was measured; cautions. The drawings take what height is left. Where
    programs or findings are too many, checks, findings, proof and cautions go overleaf. A sign with slots in
    its back has a last page about them.

    Args:
        sheet: All that is printed; a proof that failed is said in red across the top.
    """
    use_fonts()
    paper = PAPERS[sheet.paper]
    written = io.BytesIO()
    canvas = Canvas(written, pagesize=(paper.width_mm * mm, paper.height_mm * mm), invariant=True)
    canvas.setTitle(f"Set-up sheet: {sheet.title}")
    canvas.setAuthor("Triglyph")
    canvas.setSubject("Router programs, set-up and checks for one sign")
    pages = _Pages(canvas, sheet, paper)
    _draw(pages)
    canvas.showPage()
    if sheet.design.hangers:
        draw_back_page(canvas, sheet, pages.top_mm, pages.width_mm)
        _draw_foot(pages, "the back, cut first: the last page")
        canvas.showPage()
    canvas.save()
    return written.getvalue()


def _draw(pages: _Pages) -> None:
    canvas, sheet, width_mm = pages.canvas, pages.sheet, pages.width_mm
    top_mm = draw_header(canvas, sheet, pages.top_mm, width_mm)
    top_mm = draw_headlines(canvas, sheet, top_mm, width_mm) - GAP_MM
    table = programs_table(sheet, width_mm)
    columns = columns_of(sheet, width_mm, _FINDINGS)
    lower_mm = max(_COLUMNS_MM, _SMALLEST * columns_mm(columns))
    below_mm = FOOT_MM + SAFETY_MM + lower_mm + _height_mm(table, width_mm) + _HEADING_MM + 3 * GAP_MM
    if top_mm - below_mm < _DRAWING_MM[0]:
        _draw_overleaf(pages, top_mm, table)
        return
    height_mm = min(top_mm - below_mm, _DRAWING_MM[1])
    top_mm = _draw_set_up(canvas, sheet, top_mm, width_mm, height_mm) - GAP_MM
    top_mm = _draw_table(canvas, table, top_mm, width_mm)
    draw_columns(canvas, columns, top_mm - GAP_MM, FOOT_MM + SAFETY_MM + GAP_MM)
    draw_safety(canvas, sheet, FOOT_MM + SAFETY_MM, width_mm)
    _draw_foot(pages, "")


def _draw_overleaf(pages: _Pages, top_mm: float, table: Table) -> None:
    """Drawings and programs first, on as many pages as they need; the rest on the last."""
    canvas, sheet, width_mm = pages.canvas, pages.sheet, pages.width_mm
    columns = columns_of(sheet, width_mm, _FINDINGS_OVERLEAF, PARTS_OVERLEAF)
    last_mm = FOOT_MM + SAFETY_MM + max(_COLUMNS_MM, _SMALLEST * columns_mm(columns)) + 2 * GAP_MM
    top_mm = _draw_set_up(canvas, sheet, top_mm, width_mm, _DRAWING_MM[1]) - GAP_MM
    number, rest = 1, _draw_rows(canvas, table, top_mm, width_mm)
    while True:
        _draw_foot(pages, f"page {number}, goes on overleaf")
        canvas.showPage()
        number += 1
        top_mm = draw_slim_header(canvas, sheet, pages.top_mm, width_mm) - GAP_MM
        if rest is None or top_mm - _height_mm(rest, width_mm) - _HEADING_MM > last_mm:
            break
        rest = _draw_rows(canvas, rest, top_mm, width_mm)
    if rest is not None:
        top_mm = _draw_table(canvas, rest, top_mm, width_mm) - GAP_MM
    draw_columns(canvas, columns, top_mm, FOOT_MM + SAFETY_MM + GAP_MM)
    draw_safety(canvas, sheet, FOOT_MM + SAFETY_MM, width_mm)
    _draw_foot(pages, f"page {number}, the last")


def _height_mm(table: Table, width_mm: float) -> float:
    return float(table.wrap(width_mm * mm, 1e6)[1] / mm)


def _draw_table(canvas: Canvas, table: Table, top_mm: float, width_mm: float) -> float:
    """Draw programs under their heading and return where they end."""
    heading(canvas, "Programs, in this order", MARGIN_MM, top_mm, width_mm)
    bottom_mm = top_mm - _HEADING_MM - _height_mm(table, width_mm)
    table.drawOn(canvas, MARGIN_MM * mm, bottom_mm * mm)
    return bottom_mm


def _draw_rows(canvas: Canvas, table: Table, top_mm: float, width_mm: float) -> Table | None:
    """Draw as many programs as the page holds and return those that are left."""
    room_mm = top_mm - _HEADING_MM - FOOT_MM
    parts = table.splitOn(canvas, width_mm * mm, room_mm * mm)
    if not parts:
        return table
    _draw_table(canvas, parts[0], top_mm, width_mm)
    return parts[1] if len(parts) > 1 else None


def _draw_foot(pages: _Pages, said: str) -> None:
    canvas, sheet = pages.canvas, pages.sheet
    canvas.setFillColor(QUIET)
    canvas.setFont(REGULAR, 7)
    digests = "beside each program: the beginning of its file's SHA-256, in full in MANIFEST"
    canvas.drawString(MARGIN_MM * mm, 5 * mm, f"{said}; {digests}" if said else digests)
    if sheet.order_digest:
        canvas.setFillColor(INK)
        canvas.setFont(BOLD, 9)
        job = f"job {short_code(sheet.order_digest)}"
        canvas.drawRightString((MARGIN_MM + pages.width_mm) * mm, 5 * mm, job)


def _draw_set_up(
    canvas: Canvas, sheet: SetupSheet, top_mm: float, width_mm: float, height_mm: float
) -> float:
    bottom_mm = top_mm - height_mm
    drawn_mm = _DRAWING_FRACTION * width_mm
    heading(canvas, "Set-up, seen from above and from the side", MARGIN_MM, top_mm, drawn_mm)
    if sheet.design.board.height_mm > sheet.design.board.width_mm:  # an upright board has room beside it
        beside_mm, over_mm = _UPRIGHT_FRACTION * drawn_mm, bottom_mm
    else:
        beside_mm, over_mm = 0.0, bottom_mm + _SECTION_MM + 1
    across_mm = beside_mm or drawn_mm
    draw_board(canvas, sheet, MARGIN_MM, over_mm, across_mm, top_mm - over_mm - 5)
    draw_section(canvas, sheet, MARGIN_MM + beside_mm, bottom_mm, drawn_mm - beside_mm, _SECTION_MM)
    left_mm, right_mm, under_mm = MARGIN_MM + drawn_mm + 5, MARGIN_MM + width_mm, top_mm
    if sheet.preview_png is not None:
        box_mm = (right_mm - left_mm, _PREVIEW_FRACTION * height_mm)
        under_mm -= draw_picture(canvas, sheet.preview_png, left_mm, top_mm, box_mm) + 2
    width_mm = right_mm - left_mm
    place(
        canvas, [pairs(wording.facts(sheet), 15, width_mm)], left_mm, under_mm, width_mm, under_mm - bottom_mm
    )
    return bottom_mm
