"""How the page looks: fonts, colours and styles of type."""

from __future__ import annotations

import io
import unicodedata
from functools import cache
from itertools import groupby
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import KeepInFrame, Paragraph, Table, TableStyle

from workers.cutting_data.tables import font_data

REGULAR, BOLD = "SheetRegular", "SheetBold"
INK: Color = HexColor("#1d2b36")
QUIET: Color = HexColor("#5f6f7a")
RULE: Color = HexColor("#c3ccd2")
PANEL: Color = HexColor("#f3f5f6")
WOOD: Color = HexColor("#f4e6c8")
STEEL: Color = HexColor("#dfe5e9")
GOOD: Color = HexColor("#2e7d4f")
BAD: Color = HexColor("#b3261e")
HIDDEN: Color = HexColor("#1f6fa8")  # of lines that lie behind
CAUTION: Color = HexColor("#9a5b00")
CAUTION_PANEL: Color = HexColor("#fff4dc")

_LEADING = 1.22  # of the type's size
_TICK_MM = 2.7


@cache
def use_fonts() -> None:
    """Make the two faces known to the PDF library; they are embedded as far as they are used."""
    for name, font in ((REGULAR, "source-sans-regular"), (BOLD, "source-sans-bold")):
        pdfmetrics.registerFont(TTFont(name, io.BytesIO(font_data(font))))
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=REGULAR, boldItalic=BOLD)


def style(
    size_pt: float, colour: Color = INK, *, bold: bool = False, indent_mm: float = 0.0
) -> ParagraphStyle:
    """Return a style of type; with an indent the first line hangs out of it."""
    return ParagraphStyle(
        "",
        fontName=BOLD if bold else REGULAR,
        fontSize=size_pt,
        leading=size_pt * _LEADING,
        textColor=colour,
        leftIndent=indent_mm * mm,
        firstLineIndent=-indent_mm * mm,
    )


def plain(text: str) -> str:
    """Return text that a paragraph prints as it stands, as far as the sheet's face can."""
    return escape(printable(text))


def printable(text: str) -> str:
    """Return text in characters that the sheet's face has; the page would show an empty box for another.

    One that it lacks is written by those that it is made of, full-width letters by plain ones;
    where it has none of these either, the text says how many characters are left out.

    >>> printable("Ťuhýk"), printable("boat 船 house"), printable("木札")
    ('Ťuhýk', 'boat [1 character not in this face] house', '[2 characters not in this face]')
    """
    use_fonts()
    known = pdfmetrics.getFont(REGULAR).face.charToGlyph
    pieces: list[str] = []
    for lacking, group in groupby(
        map(_simplest, text), lambda piece: any(ord(one) not in known for one in piece)
    ):
        run = list(group)
        count = f"{len(run)} character{'s' if len(run) > 1 else ''}"
        pieces.append(f"[{count} not in this face]" if lacking else "".join(run))
    return "".join(pieces)


def _simplest(character: str) -> str:
    """Return a character of the face, else what it is made of without its marks; nothing for a silent one."""
    if ord(character) in pdfmetrics.getFont(REGULAR).face.charToGlyph or character.isspace():
        return " " if character.isspace() else character
    made_of = unicodedata.normalize("NFKD", character)
    return "".join(one for one in made_of if unicodedata.category(one) not in ("Mn", "Cf", "Cc"))


def pairs(rows: list[tuple[str, str]], label_mm: float, width_mm: float, size_pt: float = 7.9) -> Table:
    """Return names and what is said of them, in two columns.

    Args:
        rows: Name and text.
        label_mm: Width of the column of names.
        width_mm: Of both columns.
        size_pt: Of the type.
    """
    cells = [
        [Paragraph(plain(name), style(size_pt, QUIET)), Paragraph(plain(said), style(size_pt))]
        for name, said in rows
    ]
    return _table(cells, [label_mm, width_mm - label_mm], [("LINEBELOW", (0, 0), (-1, -2), 0.3, RULE)])


def ticks(lines: list[str], width_mm: float, size_pt: float = 7.9) -> Table:
    """Return sentences, each with a box to tick."""
    box = [("BOX", (0, 0), (-1, -1), 0.7, INK)]
    cells = [
        [
            Table([[""]], [_TICK_MM * mm], [_TICK_MM * mm], style=TableStyle(box)),
            Paragraph(plain(line), style(size_pt)),
        ]
        for line in lines
    ]
    return _table(cells, [_TICK_MM + 2, width_mm - _TICK_MM - 2], [("TOPPADDING", (0, 0), (0, -1), 2.6)])


def _table(cells: list[list[Any]], widths_mm: list[float], extra: list[tuple[Any, ...]]) -> Table:
    pads = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 3),
        ("TOPPADDING", (0, 0), (-1, -1), 1.1),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1.9),
    ]
    return Table(cells, colWidths=[width * mm for width in widths_mm], style=TableStyle(pads + extra))


def place(
    canvas: Canvas, flowing: list[Any], left_mm: float, top_mm: float, width_mm: float, height_mm: float
) -> None:
    """Set paragraphs and tables into a box; type shrinks rather than run out of it.

    Args:
        canvas: The page.
        flowing: In order.
        left_mm: Of the box.
        top_mm: Of the box, from the page's lower edge.
        width_mm: Of the box.
        height_mm: Of the box.
    """
    frame = KeepInFrame(width_mm * mm, height_mm * mm, flowing, mode="shrink")
    _, used = frame.wrapOn(canvas, width_mm * mm, height_mm * mm)
    frame.drawOn(canvas, left_mm * mm, top_mm * mm - used)


def natural_mm(flowing: list[Any], width_mm: float) -> float:
    """Return the height that paragraphs and tables take at their own size of type."""
    return float(sum(part.wrap(width_mm * mm, 1e6)[1] for part in flowing) / mm)


def heading(canvas: Canvas, text: str, left_mm: float, top_mm: float, width_mm: float) -> None:
    """Print a section's name over a hair line."""
    canvas.setFillColor(QUIET)
    canvas.setFont(BOLD, 7.5)
    canvas.drawString(left_mm * mm, (top_mm - 2.6) * mm, text.upper())
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(0.6)
    canvas.line(left_mm * mm, (top_mm - 3.8) * mm, (left_mm + width_mm) * mm, (top_mm - 3.8) * mm)


def minutes(seconds_s: float) -> str:
    """Return a time as people at a machine say it.

    >>> minutes(42), minutes(754), minutes(7260)
    ('42 s', '12 min 34 s', '2 h 01 min')
    """
    whole = round(seconds_s)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60:02d} s"
    return f"{whole // 3600} h {whole % 3600 // 60:02d} min"
