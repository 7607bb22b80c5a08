"""Text of an SVG set in the fonts at hand, as outlines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

import uharfbuzz as hb

from workers.cutting_data.shaping import SetGlyph, open_font, shape
from workers.cutting_data.tables import font_data
from workers.intake.svg_fonts import find_font
from workers.intake.svg_lengths import length_px
from workers.intake.svg_path_data import PathBuilder
from workers.intake.svg_path_painting import paint_path
from workers.intake.svg_place import Place
from workers.intake.svg_source import CHARACTERS
from workers.intake.svg_style import Style
from workers.intake.svg_text_layout import Letter, Run, letters_of, runs_of

if TYPE_CHECKING:
    from workers.intake.svg_walk import Walk

ANCHORS = {"start": 0.0, "middle": 0.5, "end": 1.0}
_PLAIN = {  # what is not applied, and the values at which that makes no difference
    "font-style": ("normal",),
    "writing-mode": ("horizontal-tb", "lr-tb", "lr"),
    "dominant-baseline": ("auto", "alphabetic"),
    "baseline-shift": ("baseline", "0"),
    "text-decoration": ("none",),
}


@dataclass(frozen=True, slots=True)
class Shaped:
    """A run with its glyphs, and how far the line goes on, user units."""

    run: Run
    font: hb.Font
    glyphs: list[SetGlyph]
    advance: float
    unit: float  # user units of one font unit


def draw_text(walk: Walk, element: Element, place: Place) -> None:
    """Paint a text element.

    Args:
        walk: The walk that comes to it.
        element: The element.
        place: Its place.

    Source: SVG 2, chapter 11; CSS Text 3.
    """
    letters = letters_of(walk, element, place)
    walk.source.spend(CHARACTERS, len(letters))
    for chunk in _chunks(letters):
        shaped = [found for run in runs_of(chunk) if (found := shaped_run(walk, run)) is not None]
        if shaped:
            _draw_chunk(walk, shaped)


def _chunks(letters: Sequence[Letter]) -> list[list[Letter]]:
    """Part letters where one has a place of its own: what is aligned by itself."""
    chunks: list[list[Letter]] = []
    for letter in letters:
        if not chunks or letter.x is not None or letter.y is not None:
            chunks.append([])
        chunks[-1].append(letter)
    x = y = 0.0
    for chunk in chunks:
        x, y = chunk[0].x if chunk[0].x is not None else x, chunk[0].y if chunk[0].y is not None else y
        chunk[0] = replace(chunk[0], x=x, y=y)
    return chunks


def shaped_run(walk: Walk, run: Run) -> Shaped | None:
    """Return a run's glyphs in the font that it asks for; None and a note if that is not at hand."""
    style = run.place.style
    found = find_font(style["font-family"], style["font-weight"])
    if found is None:
        x, y, _ = run.place.matrix @ (run.x or 0.0, run.y or 0.0, 1.0)
        walk.notes.add_at("svg-text-left-out", f"font {style['font-family'][:40]}", len(run.text), x, y)
        return None
    if found.instead_of:
        walk.notes.add("svg-font-replaced", f"{found.title} instead of {found.instead_of[:40]}")
    for name, plain in _PLAIN.items():
        if style[name] not in plain:
            walk.notes.add("svg-text-simplified", f"{name} {style[name][:20]}")
    font = open_font(font_data(found.name))
    size = float(style["font-size"])
    unit = size / font.face.upem
    spacing = _spacing(style, "letter-spacing")
    if unit <= 0:
        return None
    glyphs, advance = shape(font, run.text, spacing / unit)
    missing = sorted({letter for letter in run.text if font.get_nominal_glyph(ord(letter)) is None})
    if missing and any(entry.glyph == 0 for entry in glyphs):
        walk.notes.add("svg-text-left-out", f"{''.join(missing)[:20]} is not in {found.title}")
        glyphs = [entry for entry in glyphs if entry.glyph != 0]
    advance_px = advance * unit + spacing + _spacing(style, "word-spacing") * run.text.count(" ")
    return Shaped(run, font, glyphs, advance_px, unit)


def _spacing(style: Style, name: str) -> float:
    size = float(style["font-size"])
    return length_px(style[name], size, 0.0, em=size)


def _draw_chunk(walk: Walk, shaped: list[Shaped]) -> None:
    """Paint runs one after the other, the whole of them at its start, middle or end."""
    first = shaped[0].run
    length = sum(each.advance + each.run.dx for each in shaped)
    x = (first.x or 0.0) - ANCHORS.get(first.place.style["text-anchor"], 0.0) * length
    y = first.y or 0.0
    for each in shaped:
        x, y = x + each.run.dx, y + each.run.dy
        path = PathBuilder()
        for entry in each.glyphs:
            pen = GlyphPen(path, x + entry.x * each.unit, y - entry.y * each.unit, each.unit)
            each.font.draw_glyph_with_pen(entry.glyph, pen)
        paint_path(walk, path.finished(), each.run.place)
        x += each.advance


class GlyphPen:
    """Draws a glyph's outline, its y up, into a path with y down."""

    def __init__(self, path: PathBuilder, x: float, y: float, unit: float) -> None:
        self._path, self._x, self._y, self._unit = path, x, y, unit

    def moveTo(self, point: tuple[float, float]) -> None:  # noqa: N802 - the pen protocol's name
        self._path.move(self._at(point))

    def lineTo(self, point: tuple[float, float]) -> None:  # noqa: N802
        self._path.line(self._at(point))

    def qCurveTo(self, control: tuple[float, float], end: tuple[float, float]) -> None:  # noqa: N802
        self._path.quadratic(self._at(control), self._at(end))

    def curveTo(self, *points: tuple[float, float]) -> None:  # noqa: N802
        first, second, end = (self._at(point) for point in points)
        self._path.cubic(first, second, end)

    def closePath(self) -> None:  # noqa: N802
        self._path.close()

    def _at(self, point: tuple[float, float]) -> tuple[float, float]:
        return self._x + point[0] * self._unit, self._y - point[1] * self._unit
