"""Words and figures on pictures."""

from __future__ import annotations

import io
from functools import cache

from PIL import ImageDraw, ImageFont

from workers.cutting_data.tables import font_data

INK, QUIET, PAPER = (35, 40, 45), (110, 118, 124), (255, 255, 255)

_HALO_PX = 3  # of paper round words, so that they are read on dark wood

Place = tuple[float, float]


@cache
def caption_font(size_px: int, name: str = "source-sans-regular") -> ImageFont.FreeTypeFont:
    """Return the sheet's own face at a size; simple shaping, the same on every machine."""
    return ImageFont.truetype(io.BytesIO(font_data(name)), size_px, layout_engine=ImageFont.Layout.BASIC)


def dimension(
    draw: ImageDraw.ImageDraw, start: Place, end: Place, words: str, words_at: Place, anchor: str
) -> None:
    """Draw a dimension line with two heads, level or upright, and its words beside it.

    Args:
        draw: The picture.
        start: One end.
        end: The other.
        words: The length.
        words_at: Where the words stand.
        anchor: Which point of the words stands there.
    """
    draw.line((*start, *end), fill=INK, width=2)
    upright = start[0] == end[0]
    for (x, y), way in ((start, 1), (end, -1)):
        for side in (-5, 5):
            tip = (x + side, y + way * 12) if upright else (x + way * 12, y + side)
            draw.line((x, y, *tip), fill=INK, width=2)
    face = caption_font(26, "source-sans-bold")
    draw.text(words_at, words, fill=INK, font=face, anchor=anchor, stroke_width=_HALO_PX, stroke_fill=PAPER)
