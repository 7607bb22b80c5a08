"""The programs in the order in which they run, and when to change the bit."""

from __future__ import annotations

from reportlab.lib.colors import white
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph, Table, TableStyle

from workers.setup_sheet.look import BOLD, INK, PANEL, QUIET, REGULAR, RULE, minutes, plain, style
from workers.setup_sheet.sheet import ProgramRow

MOST_ROWS = 7
_WIDTHS_MM = (6, 46, 56, 13, 21, 13, 13, 18)
_HEADS = ("", "program", "bit", "rpm", "feed", "plunge", "deepest", "time")
_UNITS = ("", "", "", "", "mm/min (in/min)", "mm/min", "mm", "")


def programs_table(programs: tuple[ProgramRow, ...]) -> Table:
    """Return the table of programs; beyond the seventh they are only counted."""
    name, figures = style(8, bold=True), style(7, QUIET)
    head = [
        Paragraph(f"{plain(text)}<br/>{unit}", style(6.5, QUIET))
        for text, unit in zip(_HEADS, _UNITS, strict=True)
    ]
    rows: list[list[object]] = [list(head)]
    for number, program in enumerate(programs[:MOST_ROWS], start=1):
        changed = number > 1 and program.bit != programs[number - 2].bit
        word = "change to " if changed else ""
        rows.append(
            [
                str(number),
                Paragraph(plain(program.file), name),
                [
                    Paragraph(f"{word}<b>{plain(program.bit)}</b>", style(8)),
                    Paragraph(plain(program.figures), figures),
                ],
                f"{program.spindle_rpm:.0f}",
                f"{program.feed_mm_per_min:.0f} ({program.feed_mm_per_min / 25.4:.0f})",
                f"{program.plunge_mm_per_min:.0f}",
                f"{program.deepest_mm:.2f}",
                minutes(program.seconds_s),
            ]
        )
    if len(programs) > MOST_ROWS:
        rows.append(["", Paragraph(f"and {len(programs) - MOST_ROWS} more: see proof.json", name), *[""] * 6])
    table = Table(rows, colWidths=[width * mm for width in _WIDTHS_MM])
    table.setStyle(
        TableStyle(
            [
                ("FONT", (0, 1), (-1, -1), REGULAR, 8),
                ("FONT", (0, 1), (0, -1), BOLD, 9),
                ("TEXTCOLOR", (0, 0), (-1, -1), INK),
                ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
                ("ROWBACKGROUNDS", (0, 1), (-1, -1), [white, PANEL]),
                ("LINEBELOW", (0, 0), (-1, -1), 0.4, RULE),
                ("TOPPADDING", (0, 0), (-1, -1), 1.6),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 2.2),
                ("LEFTPADDING", (0, 0), (-1, -1), 2.5),
                ("RIGHTPADDING", (0, 0), (-1, -1), 2.5),
            ]
        )
    )
    return table


def draw_programs(
    canvas: Canvas, programs: tuple[ProgramRow, ...], left_mm: float, top_mm: float, width_mm: float
) -> float:
    """Draw the table and return its height in mm."""
    table = programs_table(programs)
    _, height = table.wrapOn(canvas, width_mm * mm, 200 * mm)
    table.drawOn(canvas, left_mm * mm, top_mm * mm - height)
    return float(height / mm)
