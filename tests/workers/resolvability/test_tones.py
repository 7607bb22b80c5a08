"""Will each tone show at its depth, and what a repair makes of tones. Figures by hand for a 90 degree bit."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from tests.support.specimens import BASSWOOD, design, disc, incise, region
from workers.resolvability.tones import notes_on_tones, tones_after
from workers.values.cuts import InciseCut
from workers.values.finding import Finding
from workers.values.tiers import tiers_of

CUT = replace(incise(90, 2.0), paler_limits_mm=(1.0,))  # a step shows from a stroke of 2 x 1.3 mm on


def notes(pale: BaseGeometry, dark: BaseGeometry, cut: InciseCut = CUT) -> tuple[Finding, ...]:
    """What is to be said of two tones in basswood."""
    sign = replace(design(region(pale)), darker=(region(dark),))
    return notes_on_tones(tiers_of(sign, cut), BASSWOOD)


def test_tones_with_room_are_passed_over() -> None:
    """A dark half, a dark disc in a ring, a dark stroke wide enough: nothing to be said."""
    assert notes(box(10, 10, 60, 40), box(35, 10, 60, 40)) == ()
    assert notes(disc(60, 40, 20), disc(60, 40, 10)) == ()
    assert notes(box(10, 10, 60, 40), box(15, 20, 55, 22.7)) == ()


def test_a_dark_part_too_narrow_to_go_deeper_is_told() -> None:
    """2.5 mm are 1.25 mm deep at most, a quarter of a mm below the floor around: that does not show."""
    (note,) = notes(box(10, 10, 60, 40), box(15, 20, 55, 22.5).union(disc(35, 32, 4)))

    assert note.code == "tone-does-not-show"
    assert "1 of 2 parts of tone 2" in note.message
    assert "2.60 mm" in note.message
    assert note.at_mm == pytest.approx((35, 21.25), abs=0.1)


def test_a_thin_dark_stroke_on_bare_wood_is_no_fault() -> None:
    """It is as deep as it is wide, whatever the paler tone is cut to."""
    assert (
        notes(box(10, 10, 60, 40).union(box(10, 60, 60, 61)), box(35, 10, 60, 40).union(box(10, 60, 60, 61)))
        == ()
    )


def test_a_paler_tone_that_is_a_hair_beside_the_darker_is_told() -> None:
    """A rim of 0.4 mm looks like a worn edge."""
    (note,) = notes(box(10, 10, 60, 40), box(10.4, 10.4, 59.6, 39.6))

    assert note.code == "tone-does-not-show"
    assert "tone 1 is nowhere 0.5 mm wide" in note.message


@pytest.mark.parametrize(("paler_mm", "told"), [(0.2, True), (0.3, False), (1.7, False), (1.8, True)])
def test_a_step_too_low_to_show_is_told(paler_mm: float, told: bool) -> None:
    """In basswood 0.3 mm show, from the face to the first floor and from floor to floor."""
    found = notes(disc(60, 40, 20), disc(60, 40, 12), replace(CUT, paler_limits_mm=(paler_mm,)))

    assert ["tones-too-shallow"] * told == [note.code for note in found]


def test_one_tone_has_no_steps() -> None:
    """Nothing to be said."""
    assert notes_on_tones(tiers_of(design(region(disc(60, 40, 20))), incise()), BASSWOOD) == ()


def test_a_stroke_that_grew_has_grown_in_its_own_tone() -> None:
    """A bar, its right half dark, made 0.4 mm wider all round: the dark half has the new outline too."""
    sign = replace(design(region(box(20, 20, 60, 21))), darker=(region(box(40, 20, 60, 21)),))
    grown = region(box(19.8, 19.8, 60.2, 21.2))

    (dark,) = tones_after(sign, grown)

    bare = grown.polygons.difference(dark.polygons)
    assert dark.polygons.difference(grown.polygons).area < 1e-6
    assert dark.polygons.area == pytest.approx(20.2 * 1.4, abs=0.3 * 1.4)
    assert bare.bounds == pytest.approx((19.8, 19.8, 40, 21.2), abs=0.3)


def test_ink_taken_away_is_taken_from_every_tone() -> None:
    """A wall cut wider through both tones."""
    sign = replace(design(region(box(20, 20, 60, 40))), darker=(region(box(40, 20, 60, 40)),))
    split = region(box(20, 20, 60, 29), box(20, 31, 60, 40))

    (dark,) = tones_after(sign, split)

    assert dark.polygons.area == pytest.approx(20 * 18, rel=1e-3)


def test_ink_of_one_tone_has_none_after_a_repair_either() -> None:
    """Nothing to carry over."""
    assert tones_after(design(region(box(20, 20, 60, 21))), region(box(20, 20, 60, 22))) == ()
