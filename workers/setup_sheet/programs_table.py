"""The programs in the order in which they run, with the bit that each one needs."""

from __future__ import annotations

from typing import Any

from reportlab.lib.colors import white
from reportlab.lib.units import mm
from reportlab.platypus import Paragraph, Table, TableStyle

from workers.setup_sheet import wording
from workers.setup_sheet.bit_drawing import BitDrawing
from workers.setup_sheet.held_drawing import HeldDrawing
from workers.setup_sheet.look import BAD, PANEL, QUIET, RULE, minutes, plain, style
from workers.setup_sheet.sheet import ProgramRow, SetupSheet

_MOST_FULL_ROWS = 5  # with more, reasons are left out and type is smaller
_FIXED_MM = (9.0, 25.0, 20.0, 23.0, 17.0, 22.0)  # number, drawing, speed, feed, depth, time
_HELD_MM = 8.0  # of the drawing, for the bit in its collet
_BIT_HIGH_MM, _BIT_HIGH_DENSE_MM = 11.0, 6.5
_DIGEST_LENGTH = 16
_RED = BAD.hexval().replace("0x", "#")


def programs_table(sheet: SetupSheet, width_mm: float) -> Table:
    """Return the table of programs, figures large; of many they are smaller, without reasons.

    Args:
        sheet: The programs in order, and what their speeds are reasoned by.
        width_mm: Of the table.
    """
    dense = len(sheet.programs) > _MOST_FULL_ROWS
    unit = sheet.figures.unit
    heads = (
        "",
        "full size; held",
        "bit, and its program",
        "set rpm",
        f"feed, plunge {unit}/min",
        f"deepest {unit}",
        "time",
    )
    rows: list[list[Any]] = [[Paragraph(head, style(7, QUIET)) for head in heads]]
    before = ""
    for number, program in enumerate(sheet.programs, start=1):
        rows.append(_row(sheet, program, number, before, dense))
        before = program.cutter.name
    number_mm, bit_mm, *figures_mm = _FIXED_MM
    widths_mm = [number_mm, bit_mm, width_mm - sum(_FIXED_MM), *figures_mm]
    return Table(rows, colWidths=[one_mm * mm for one_mm in widths_mm], style=_LOOK, repeatRows=1)


def _row(sheet: SetupSheet, program: ProgramRow, number: int, before: str, dense: bool) -> list[Any]:
    figures, cutter = sheet.figures, program.cutter
    large, middle, small = (11, 9.5, 7) if dense else (16, 12, 7.2)
    word = f'<font color="{_RED}">change to</font> ' if before not in ("", cutter.name) else ""
    face = f'<font color="{_RED}"><b>face down</b></font> &nbsp;' if program.from_behind else ""
    text = [
        Paragraph(f"{word}{plain(cutter.name)}", style(middle, bold=True)),
        Paragraph(
            f"<b>{plain(wording.file_of(program))}</b> &nbsp;{face}{program.sha256[:_DIGEST_LENGTH]}",
            style(small + 0.6),
        ),
    ]
    if not dense:
        text.append(Paragraph(plain(wording.reason(sheet, program)), style(small, QUIET)))
    high_mm = _BIT_HIGH_DENSE_MM if dense else _BIT_HIGH_MM
    return [
        Paragraph(str(number), style(large, bold=True)),
        Table(
            [
                [
                    BitDrawing(cutter, program.deepest_mm, _FIXED_MM[1] - _HELD_MM - 3, high_mm),
                    HeldDrawing(
                        cutter, sheet.machine, _HELD_MM, high_mm, figures.number(cutter.stick_out_mm, 1)
                    ),
                ]
            ],
            style=_BARE,
        ),
        text,
        Paragraph(f"{program.spindle_rpm:.0f}", style(large, bold=True)),
        [
            Paragraph(figures.feed(program.feed_mm_per_min), style(middle, bold=True)),
            Paragraph(f"plunge {figures.feed(program.plunge_mm_per_min)}", style(small + 0.6)),
        ],
        Paragraph(figures.number(program.deepest_mm, 2), style(middle, bold=True)),
        Paragraph(minutes(program.seconds_s), style(middle - 2, bold=True)),
    ]


_BARE = TableStyle(
    [(pad, (0, 0), (-1, -1), 0) for pad in ("LEFTPADDING", "RIGHTPADDING", "TOPPADDING", "BOTTOMPADDING")]
)
_LOOK = TableStyle(
    [
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("ROWBACKGROUNDS", (0, 1), (-1, -1), [white, PANEL]),
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, RULE),
        ("TOPPADDING", (0, 0), (-1, -1), 1.4),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2.4),
        ("LEFTPADDING", (0, 0), (-1, -1), 2.5),
        ("RIGHTPADDING", (0, 0), (-1, -1), 2.0),
    ]
)
