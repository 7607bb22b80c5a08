"""Lettering against fontTools, another reader of the same OpenType files.

Areas by Green's theorem on the curves themselves (AreaPen), extents from BoundsPen, advances from hmtx,
kerning and ligatures as GPOS and GSUB hold them: OpenType specification 1.9.
"""

import io

import pytest
import shapely
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from tests.support.specimens import lettering
from workers.cutting_data.tables import FONTS, font_data
from workers.layout.lettering import set_text

CAP_MM = 25.0


def ink(text: str, font: str, spacing_mm: float = 0.0) -> shapely.MultiPolygon:
    """A line set by the product, its left end at the origin."""
    return set_text(lettering(text, font=font, cap_height_mm=CAP_MM, letter_spacing_mm=spacing_mm), "")


def opened(font: str) -> TTFont:
    """A font, opened by the reference library."""
    return TTFont(io.BytesIO(font_data(font)))


def extents(font: TTFont, character: str) -> tuple[float, float, float, float]:
    """The box of a character in font units, by the reference library."""
    pen = BoundsPen(font.getGlyphSet())
    font.getGlyphSet()[font.getBestCmap()[ord(character)]].draw(pen)
    left, bottom, right, top = pen.bounds
    return left, bottom, right, top


@pytest.mark.parametrize("font", FONTS)
@pytest.mark.parametrize("character", ["H", "S", "Q", "8", "&"])
def test_ink_area_is_that_of_the_curves(font: str, character: str) -> None:
    """Chords within 5 um of the curves change an area by less than 5 um times the outline's length.

    Where a glyph's contours overlap, AreaPen counts the overlap twice: such glyphs may only be smaller.
    """
    file = opened(font)
    pen = AreaPen(file.getGlyphSet())
    file.getGlyphSet()[file.getBestCmap()[ord(character)]].draw(pen)
    mm_per_unit = CAP_MM / extents(file, "H")[3]
    exact_mm2 = abs(pen.value) * mm_per_unit**2
    area = ink(character, font)
    assert area.area <= exact_mm2 + 0.005 * area.length
    if font not in ("cinzel-bold", "josefin-sans-semibold"):  # drawn with overlaps
        assert area.area >= exact_mm2 - 0.005 * area.length


@pytest.mark.parametrize("font", FONTS)
def test_extents_are_those_of_the_curves(font: str) -> None:
    """A round letter's overshoot below the baseline and above the cap height is kept."""
    file = opened(font)
    mm_per_unit = CAP_MM / extents(file, "H")[3]
    left, bottom, right, top = (side * mm_per_unit for side in extents(file, "O"))
    found = ink("O", font).bounds
    assert found == pytest.approx((0.0, bottom, right - left, top), abs=0.006)


def test_kerning_draws_pairs_together() -> None:
    """AVATAR is narrower than its advances and side bearings alone would set it."""
    file = opened("source-serif-bold")
    mm_per_unit = CAP_MM / extents(file, "H")[3]
    advances = sum(file["hmtx"][file.getBestCmap()[ord(letter)]][0] for letter in "AVATAR")
    last_advance, _ = file["hmtx"][file.getBestCmap()[ord("R")]]
    unkerned_mm = (advances - extents(file, "A")[0] - (last_advance - extents(file, "R")[2])) * mm_per_unit
    left, _, right, _ = ink("AVATAR", "source-serif-bold").bounds
    assert right - left < unkerned_mm - 0.05 * CAP_MM


def test_unkerned_letters_stand_by_their_advances() -> None:
    """HIHI has no kerning: its ink is exactly advances less the outer side bearings."""
    file = opened("source-sans-bold")
    mm_per_unit = CAP_MM / extents(file, "H")[3]
    widths = [file["hmtx"][file.getBestCmap()[ord(letter)]][0] for letter in "HIHI"]
    ink_units = sum(widths) - extents(file, "H")[0] - (widths[-1] - extents(file, "I")[2])
    left, _, right, _ = ink("HIHI", "source-sans-bold").bounds
    assert right - left == pytest.approx(ink_units * mm_per_unit, abs=1e-6)


def test_ligatures_join_letters_unless_spaced() -> None:
    """Zilla Slab's fi is one narrower glyph; letter spacing keeps f and i apart (CSS Text 3, 8.2)."""
    file = opened("zilla-slab-bold")
    assert any(
        lookup.LookupType == 4 or getattr(lookup.SubTable[0], "ExtensionLookupType", 0) == 4
        for lookup in file["GSUB"].table.LookupList.Lookup
    )
    joined = ink("fi", "zilla-slab-bold")
    apart = ink("fi", "zilla-slab-bold", spacing_mm=1.0)
    assert len(apart.geoms) == 3  # f, i and the i's dot
    assert len(joined.geoms) < 3 or joined.bounds[2] + 1.0 < apart.bounds[2] - 0.1
