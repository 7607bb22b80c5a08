"""Lettering is read from as far as the sourced rules say."""

import pytest
from shapely.geometry import box

from tests.support.specimens import BASSWOOD, incise, region
from workers.resolvability.examine import examine
from workers.resolvability.legibility import (
    Legibility,
    least_cap_height_mm,
    legibility_of,
    notes_on_lettering,
)
from workers.values.design import Element

CUT = incise(60, 2.5)


def lettering(stroke_mm: float, height_mm: float = 30.0) -> tuple[Legibility, ...]:
    """Return what is said of one upright stroke set as lettering beside another that is art."""
    ink = region(box(0, 0, stroke_mm, height_mm), box(50, 0, 59, height_mm))
    sides = {"left_mm": -1.0, "bottom_mm": 0.0, "right_mm": 10.0, "top_mm": height_mm}
    letters = Element(kind="lettering", title="I", cap_height_mm=height_mm, **sides)
    art = Element(kind="art", title="art 1", left_mm=50, bottom_mm=0, right_mm=59, top_mm=height_mm)
    return legibility_of((letters, art), examine(ink, CUT, BASSWOOD))


def test_a_height_is_read_from_250_times_as_far_with_ease_from_167_times() -> None:
    """NUREG-0700 rev. 3, 11.4.1.5-1 (trade's facts L-21): distance x 0.004 at least, x 0.006 preferred."""
    (line,) = lettering(4.5)

    assert line.reads_to_m == pytest.approx(0.030 / 0.004)
    assert line.reads_with_ease_to_m == pytest.approx(0.030 / 0.006)
    assert least_cap_height_mm(7500) == pytest.approx(30)


def test_the_stroke_is_set_against_the_height() -> None:
    """A stroke of 4.5 mm is 15 % of 30 mm (trade's facts, end of part 4: 15 % of 25.4 mm is 3.81)."""
    (line,) = lettering(4.5)
    (inch,) = lettering(3.81, 25.4)

    assert [line.stroke_fraction, inch.stroke_fraction] == pytest.approx([0.15, 0.15], abs=1e-6)


@pytest.mark.parametrize(("stroke_mm", "remarked"), [(2.9, True), (3.1, False), (8.9, False), (9.2, True)])
def test_strokes_of_10_to_30_percent_are_not_remarked_on(stroke_mm: float, remarked: bool) -> None:
    """2010 ADA Standards 703.5.7 (trade's facts L-08): stroke thickness 10 to 30 % of the height."""
    notes = notes_on_lettering(lettering(stroke_mm), None)

    assert [note.code for note in notes] == ["lettering-strokes"] * remarked


@pytest.mark.parametrize(("distance_mm", "small"), [(7400, False), (7600, True)])
def test_lettering_too_small_for_the_distance_is_told_with_the_height_it_needs(
    distance_mm: float, small: bool
) -> None:
    """30 mm are read from 7.5 m at most."""
    notes = notes_on_lettering(lettering(4.5), distance_mm)

    assert [note.code for note in notes] == ["lettering-small"] * small
    assert not small or f"{0.006 * distance_mm:.0f} mm" in notes[0].remedy


def test_art_is_no_lettering() -> None:
    """Only what was set as text has a height to go by."""
    assert len(lettering(4.5)) == 1
