"""Text shaped in a font: which glyphs, and where each stands on the line.

Kerning, ligatures, combining marks and the order of a script are HarfBuzz's.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import uharfbuzz as hb


@dataclass(frozen=True, slots=True)
class SetGlyph:
    """A glyph and where its origin stands on the line, in font units."""

    glyph: int
    x: float
    y: float


@lru_cache(maxsize=16)
def open_font(data: bytes) -> hb.Font:
    """Return a font file, TrueType or OpenType, ready for shaping, at one unit per font unit."""
    return hb.Font(hb.Face(data))


def shape(font: hb.Font, text: str, spacing: float) -> tuple[list[SetGlyph], float]:
    """Return the glyphs of a text on one line, and how far the line goes on.

    Spaced letters are never joined into ligatures, as CSS Text asks of letter-spacing.

    Args:
        font: The font.
        text: One line.
        spacing: Added between letters, font units; none after the last.
    """
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    buffer.language = "en"  # the guess takes the machine's own, and the bytes would depend on it
    joined = spacing == 0
    hb.shape(font, buffer, {"kern": True, "liga": joined, "clig": joined})
    glyphs: list[SetGlyph] = []
    pen, cluster = 0.0, None
    for mark, position in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        if cluster is not None and mark.cluster != cluster:
            pen += spacing
        cluster = mark.cluster
        glyphs.append(SetGlyph(mark.codepoint, pen + position.x_offset, position.y_offset))
        pen += position.x_advance
    return glyphs, pen
