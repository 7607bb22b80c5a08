"""found.png: the photo with what was found in it, and beside it the drawing squared up.

For people who want to see at a glance whether the sheet was found and the drawing read: the sheet's
edge with its corners numbered, what was in the way, and the ink with the same numbers.
"""

from __future__ import annotations

import functools
import io
import textwrap

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from workers.cutting_data.tables import font_data
from workers.rectification.found_marks import (
    COVERED,
    EDGE,
    FOLD,
    GLARE,
    SHADE,
    Colour,
    Marks,
    draw_marks,
    marks,
    swatch,
)
from workers.rectification.rectify import Rectified
from workers.values.finding import Finding, Severity
from workers.values.image import ColourImage

WIDTH_PX = 1200
_MARGIN_PX, _GAP_PX = 28, 24
_PANEL_PX = ((WIDTH_PX - 2 * _MARGIN_PX - _GAP_PX) // 2, 760)  # at most: across, down
_HEAD_PX, _LEGEND_PX, _LINE_PX = 62, 92, 27
_DISC_PX = 14
_MOST_WARNINGS = 3
_LINE_LETTERS = 132
_TAKE_AGAIN = (
    *("side-outside", "paper-fills-the-picture", "blurred", "crumpled", "glare", "glare-or-shade-left"),
    *("grainy", "too-dark", "over-exposed", "ink-at-the-rim", "coarse-photo"),
)  # findings for which another photo helps most, the weightiest first
_PAPER: Colour = (252, 251, 247)
_RULE: Colour = (206, 205, 200)
_TEXT: Colour = (45, 48, 52)
_FAINT: Colour = (110, 113, 116)

_TWO_TONES = np.clip((np.arange(256) - 95.5) * 4, 0, 255).astype(np.uint8)  # of coverage, but for its edges

Panel = NDArray[np.uint8]


def draw_found(photo: ColourImage, done: Rectified) -> bytes:
    """Return the picture as a PNG, 1200 pixels across.

    Args:
        photo: The photo that was chosen.
        done: What was read from it.
    """
    rows, columns = photo.pixels.shape[:2]
    found = marks(done.sheet, done.faults, (columns, rows), done.box_px, done.creases, done.pale)
    seen, scale = _fitted(photo.pixels)
    draw_marks(seen, found, scale, done.sheet is not None or done.box_px is not None)
    ink, _ = _fitted(np.repeat(_shades(done)[:, :, None], 3, axis=2))
    lines = _advice(done.findings)
    height_px = max(seen.shape[0], ink.shape[0])
    page = np.full(
        (_HEAD_PX + height_px + _LEGEND_PX + _LINE_PX * len(lines) + 14, WIDTH_PX, 3), _PAPER, np.uint8
    )
    right = _MARGIN_PX + _PANEL_PX[0] + _GAP_PX
    places = [(_MARGIN_PX + (_PANEL_PX[0] - seen.shape[1]) // 2, _HEAD_PX),
              (right + (_PANEL_PX[0] - ink.shape[1]) // 2, _HEAD_PX)]  # fmt: skip
    for panel, (left, top) in zip((seen, ink), places, strict=True):
        page[top : top + panel.shape[0], left : left + panel.shape[1]] = panel
    foot = _HEAD_PX + height_px + 22
    entries = _legend(found)
    _swatches(page, foot, entries)
    drawn = Image.fromarray(page)
    draw = ImageDraw.Draw(drawn)
    _titles(draw, done, right)
    _frame(draw, places[1], ink)
    _numbers(draw, found.corners * scale, places[0], seen)
    _numbers(draw, _corners_of(ink), places[1], ink)
    _words(draw, foot, entries, lines)
    draw.text(
        (_MARGIN_PX, foot + 46), verdict(done.findings), fill=_TEXT, font=_font(22, bold=True), anchor="lm"
    )
    return _png(drawn)


def _fitted(pixels: Panel) -> tuple[Panel, float]:
    """Return a copy of a picture made to fit its half of the page, and its scale."""
    rows, columns = pixels.shape[:2]
    scale = min(_PANEL_PX[0] / columns, _PANEL_PX[1] / rows)
    size = (max(1, round(columns * scale)), max(1, round(rows * scale)))
    how = cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR
    return np.array(cv2.resize(pixels, size, interpolation=how), np.uint8), scale


def _shades(done: Rectified) -> Panel:
    """Return what is ink and what is not: one tone black, of several tones the darker the deeper."""
    tiers = (done.coverage, *done.tiers)
    return np.asarray(sum(_TWO_TONES[tier.pixels] // len(tiers) for tier in tiers), np.uint8)


def _legend(found: Marks) -> list[tuple[Colour, int, str]]:
    """Return colour, slant of the hatching and words of what is marked."""
    entries: list[tuple[Colour, int, str]] = [(EDGE, 0, "edge of the drawing's sheet")]
    if found.covered:
        entries.append((COVERED, 0, "edge covered or not seen"))
    if found.glare:
        entries.append((GLARE, -1, "glare: ink may be missing"))
    if found.shade:
        entries.append((SHADE, 1, "shade, evened out"))
    if found.folds:
        entries.append((FOLD, 0, "fold, taken out"))
    if found.doubtful:
        entries.append((FOLD, 0, "ring: pencil or ink?"))
    return entries


def _weightiest(findings: tuple[Finding, ...]) -> list[Finding]:
    """Return the warnings, those first that another photo would be best for; of equals, as they come."""
    warnings = [finding for finding in findings if finding.severity is not Severity.NOTE]
    return sorted(
        warnings, key=lambda f: _TAKE_AGAIN.index(f.code) if f.code in _TAKE_AGAIN else len(_TAKE_AGAIN)
    )


def verdict(findings: tuple[Finding, ...]) -> str:
    """Return in a few words what somebody at a screen is to do.

    Args:
        findings: Of intake.
    """
    warnings = _weightiest(findings)
    if not warnings:
        return "Good: go on if the drawing on the right is yours."
    if warnings[0].code in _TAKE_AGAIN:
        return "Better take the photo again."
    return "Look at the drawing on the right, and go on if it is whole."


def _advice(findings: tuple[Finding, ...]) -> list[tuple[str, bool]]:
    """Return lines of text, and whether each is a remedy: the weightiest few warnings."""
    lines = []
    for finding in _weightiest(findings)[:_MOST_WARNINGS]:
        said = f"{finding.message[:1].upper()}{finding.message[1:]}."
        lines += [(line, False) for line in textwrap.wrap(said, _LINE_LETTERS)]
        lines += [(line, True) for line in textwrap.wrap(f"What helps: {finding.remedy}.", _LINE_LETTERS)]
    return lines


def _swatches(page: Panel, top: int, entries: list[tuple[Colour, int, str]]) -> None:
    left = _MARGIN_PX
    for colour, slant, words in entries:
        swatch(page, left, top, colour, slant)
        left += _entry_px(words)


def _entry_px(words: str) -> int:
    return 34 + 10 + round(_font(18).getlength(words)) + 34


def _titles(draw: ImageDraw.ImageDraw, done: Rectified, right: int) -> None:
    rows, columns = done.coverage.pixels.shape
    scale = done.coverage.mm_per_px
    size = f"{columns * scale:.0f} x {rows * scale:.0f} mm"
    what = (
        "the sheet as it was found"
        if done.sheet is not None
        else "all of it was read"
        if done.box_px is None
        else "no sheet was looked for: the drawing's own box"
    )
    draw.text((_MARGIN_PX, 18), f"Photo {done.chosen + 1}", fill=_TEXT, font=_font(24, bold=True))
    draw.text((_MARGIN_PX + 96, 22), what, fill=_FAINT, font=_font(19))
    draw.text((right, 18), "The drawing", fill=_TEXT, font=_font(24, bold=True))
    draw.text((right + 140, 22), f"squared up, {size}", fill=_FAINT, font=_font(19))


def _frame(draw: ImageDraw.ImageDraw, place: tuple[int, int], ink: Panel) -> None:
    left, top = place
    draw.rectangle((left - 1, top - 1, left + ink.shape[1], top + ink.shape[0]), outline=_RULE)


def _corners_of(panel: Panel) -> NDArray[np.float64]:
    rows, columns = panel.shape[:2]
    return np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)], np.float64)


def _numbers(
    draw: ImageDraw.ImageDraw, corners: NDArray[np.float64], place: tuple[int, int], panel: Panel
) -> None:
    """Write 1 to 4 in discs on the corners, kept within the panel."""
    most = np.array([panel.shape[1], panel.shape[0]]) - _DISC_PX
    for number, corner in enumerate(corners, 1):
        x, y = np.clip(corner, _DISC_PX, most) + np.array(place)
        box = (x - _DISC_PX, y - _DISC_PX, x + _DISC_PX, y + _DISC_PX)
        draw.ellipse(box, fill=EDGE, outline=(255, 255, 255), width=2)
        draw.text((x, y), str(number), fill=(255, 255, 255), font=_font(19, bold=True), anchor="mm")


def _words(
    draw: ImageDraw.ImageDraw, top: int, entries: list[tuple[Colour, int, str]], lines: list[tuple[str, bool]]
) -> None:
    left = _MARGIN_PX
    for _, _, words in entries:
        draw.text((left + 44, top + 8), words, fill=_TEXT, font=_font(18), anchor="lm")
        left += _entry_px(words)
    for number, (line, is_remedy) in enumerate(lines):
        place = (_MARGIN_PX, top + 70 + _LINE_PX * number)
        draw.text(place, line, fill=_FAINT if is_remedy else _TEXT, font=_font(19))


@functools.cache
def _font(size_px: int, bold: bool = False) -> ImageFont.FreeTypeFont:
    name = "source-sans-bold" if bold else "source-sans-regular"
    return ImageFont.truetype(io.BytesIO(font_data(name)), size_px)


def _png(picture: Image.Image) -> bytes:
    written = io.BytesIO()
    picture.save(written, "PNG", compress_level=6)
    return written.getvalue()
