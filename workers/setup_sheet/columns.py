"""The lower part of the page: checks, findings and proof side by side, cautions under them."""

from __future__ import annotations

from typing import Any

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph

from workers.setup_sheet import wording
from workers.setup_sheet.look import (
    BAD,
    CAUTION,
    CAUTION_PANEL,
    QUIET,
    heading,
    natural_mm,
    pairs,
    place,
    plain,
    style,
    ticks,
)
from workers.setup_sheet.paper import MARGIN_MM
from workers.setup_sheet.sheet import SetupSheet
from workers.values.finding import Severity

SAFETY_MM = 37.0
_HEADING_MM = 5.0
_NAMES = ("Before the spindle starts", "Found on the way", "Proof")
PARTS, PARTS_OVERLEAF = (0.45, 0.33, 0.22), (0.34, 0.46, 0.20)  # of the width
_COLOURS = {Severity.ERROR: BAD, Severity.WARNING: CAUTION, Severity.NOTE: QUIET}
Column = tuple[float, list[Any]]  # width in mm with the gap after it, and what is in it
_BETWEEN_MM = 4.0


def columns_of(
    sheet: SetupSheet, width_mm: float, most_findings: int, parts: tuple[float, ...] = PARTS
) -> list[Column]:
    """Return the three columns with what stands in them.

    Args:
        sheet: All that is printed.
        width_mm: Of all three.
        most_findings: How many are told; the others are counted.
        parts: Of the width, that each column takes.
    """
    found = [
        Paragraph(f"<b>{severity.value}</b>&nbsp; {plain(line)}", style(8, _COLOURS[severity], indent_mm=3))
        for severity, line in wording.finding_lines(sheet, most_findings)
    ]
    checks_mm, found_mm, proof_mm = (part * width_mm for part in parts)
    return [
        (checks_mm, [ticks(wording.checks(sheet), checks_mm - _BETWEEN_MM, 8.8)]),
        (found_mm, found),
        (proof_mm, [pairs(wording.proof_rows(sheet), 14, proof_mm - _BETWEEN_MM)]),
    ]


def columns_mm(columns: list[Column]) -> float:
    """Return the height that the columns take at their own size of type."""
    return _HEADING_MM + max(natural_mm(flowing, wide_mm - _BETWEEN_MM) for wide_mm, flowing in columns)


def draw_columns(canvas: Canvas, columns: list[Column], top_mm: float, bottom_mm: float) -> None:
    """Draw the columns side by side between two heights."""
    left_mm = MARGIN_MM
    for name, (wide_mm, flowing) in zip(_NAMES, columns, strict=True):
        inner_mm = wide_mm - _BETWEEN_MM
        heading(canvas, name, left_mm, top_mm, inner_mm)
        place(canvas, flowing, left_mm, top_mm - _HEADING_MM, inner_mm, top_mm - bottom_mm - _HEADING_MM)
        left_mm += wide_mm


def draw_safety(canvas: Canvas, sheet: SetupSheet, top_mm: float, width_mm: float) -> None:
    """Draw cautions in two columns, each after a word that is found at a glance."""
    canvas.setFillColor(CAUTION_PANEL)
    canvas.setStrokeColor(CAUTION)
    canvas.setLineWidth(0.8)
    canvas.roundRect(
        MARGIN_MM * mm, (top_mm - SAFETY_MM) * mm, width_mm * mm, SAFETY_MM * mm, 2 * mm, fill=1, stroke=1
    )
    lines = [
        Paragraph(f"<b>{plain(word.upper())}</b>&nbsp; {plain(line)}", style(7.6, indent_mm=2.5))
        for word, line in wording.safety_lines(sheet)
    ]
    half, column_mm = -(-len(lines) // 2), width_mm / 2 - 5
    for side, part in enumerate((lines[:half], lines[half:])):
        left_mm = MARGIN_MM + 3 + side * (column_mm + 4)
        place(canvas, part, left_mm, top_mm - 1.5, column_mm, SAFETY_MM - 10.5)
    disclaimer = [Paragraph(wording.DISCLAIMER, style(8.4, CAUTION, bold=True))]
    place(canvas, disclaimer, MARGIN_MM + 3, top_mm - SAFETY_MM + 8.5, width_mm - 6, 8)
