"""Text set in a font, as an inked area.

Shaping (kerning, ligatures, combining marks, order of script) is HarfBuzz's;
the size is that of the capitals as they stand on the board, not of the em.
"""

from __future__ import annotations

import unicodedata

import uharfbuzz as hb
from shapely.geometry import MultiPolygon

from workers.cutting_data.shaping import SetGlyph, open_font, shape
from workers.cutting_data.tables import font_data
from workers.errors import ParameterOutOfRangeError
from workers.layout.areas import joined, moved, turned
from workers.layout.glyph_outlines import glyph_area
from workers.values.placement import LetteringLine

TOLERANCE_MM = 0.005  # chord to curve: a quarter of what tracing promises, so lettering adds nothing
_LARGEST_CAP_HEIGHT_UNITS = 0.7  # of the em, for a font that has neither an H nor says its cap height


def set_text(line: LetteringLine, field: str) -> MultiPolygon:
    """Return the inked area of a text where it stands on the board.

    Lines are aligned by their ink: at ``left`` the ink starts at x, at ``right``
    it ends there, at ``centre`` its middle is there. Baselines run downwards.

    Args:
        line: The text and its measures, mm.
        field: JSON pointer of the lettering, for errors.

    Raises:
        ParameterOutOfRangeError: A character the font does not have, or nothing to see.
        UnknownNameError: No such font.
    """
    font = open_font(font_data(line.font, f"{field}/font"))
    mm_per_unit = line.cap_height_mm / cap_height_units(font)
    rows: list[MultiPolygon] = []
    for number, text in enumerate(line.text.replace("\r\n", "\n").split("\n")):
        _refuse_missing(font, text, line.font, f"{field}/text")
        glyphs, _ = shape(font, text, line.letter_spacing_mm / mm_per_unit)
        area = _area(font, glyphs, mm_per_unit)
        if not area.is_empty:
            down_mm = number * line.line_spacing_fraction * line.cap_height_mm
            rows.append(moved(area, _start_mm(area, line.align), -down_mm))
    if not rows:
        raise ParameterOutOfRangeError(
            "the text has nothing to carve, only spaces",
            field=f"{field}/text",
            remedy="Give at least one letter, or leave this lettering out.",
        )
    return _placed(joined(rows), line)


def cap_height_units(font: hb.Font) -> float:
    """Return how high the font's capitals stand above the baseline, in its units.

    Measured on its H; by its own word where it has none (OpenType OS/2, sCapHeight).
    """
    glyph = font.get_nominal_glyph(ord("H"))
    extents = font.get_glyph_extents(glyph) if glyph else None
    if extents is not None and extents.y_bearing > 0:
        return float(extents.y_bearing)
    said = font.get_metric_position(hb.OTMetricsTag.CAP_HEIGHT)
    return float(said) if said else _LARGEST_CAP_HEIGHT_UNITS * font.face.upem


def _refuse_missing(font: hb.Font, text: str, name: str, field: str) -> None:
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    hb.shape(font, buffer)
    missing = {text[mark.cluster] for mark in buffer.glyph_infos if mark.codepoint == 0}
    missing |= {character for character in text if unicodedata.category(character) == "Cc"}
    if missing:
        listed = ", ".join(_described(character) for character in sorted(missing))
        raise ParameterOutOfRangeError(
            f"the font {name} has no {listed}",
            field=field,
            remedy="Write it with other characters, or choose a font that has these.",
        )


def _described(character: str) -> str:
    code = f"U+{ord(character):04X}"
    said = unicodedata.name(character, "a control character")
    return f"'{character}' ({said}, {code})" if character.isprintable() else f"{said} ({code})"


def _area(font: hb.Font, glyphs: list[SetGlyph], mm_per_unit: float) -> MultiPolygon:
    drawn: dict[int, MultiPolygon] = {}
    placed: list[MultiPolygon] = []
    for entry in glyphs:
        if entry.glyph not in drawn:
            drawn[entry.glyph] = glyph_area(font, entry.glyph, mm_per_unit, TOLERANCE_MM)
        placed.append(moved(drawn[entry.glyph], entry.x * mm_per_unit, entry.y * mm_per_unit))
    return joined(placed)


def _start_mm(area: MultiPolygon, align: str) -> float:
    left, _, right, _ = area.bounds
    return {"left": -left, "centre": -(left + right) / 2, "right": -right}[align]


def _placed(area: MultiPolygon, line: LetteringLine) -> MultiPolygon:
    """Turn about the anchor, then carry the anchor to its place on the board."""
    return moved(turned(area, line.turn_deg), line.x_mm, line.y_mm)
