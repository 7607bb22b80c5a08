"""Text stands where and as large as the order says."""

import pytest
import shapely

from tests.support.specimens import lettering
from workers.errors import ParameterOutOfRangeError, UnknownNameError
from workers.layout.lettering import set_text
from workers.values.placement import LetteringLine


def line(text: str, **changes: object) -> LetteringLine:
    """A line that begins at (100, 50) unless told otherwise."""
    return lettering(text, **{"x_mm": 100.0, "y_mm": 50.0} | changes)


def bounds(text: str, **changes: object) -> tuple[float, ...]:
    """The box of a line's ink."""
    return set_text(line(text, **changes), "/inputs/lettering/0").bounds


@pytest.mark.parametrize(
    "font", ["source-serif-bold", "cinzel-bold", "josefin-sans-semibold", "zilla-slab-bold"]
)
def test_capitals_are_as_tall_as_asked(font: str) -> None:
    """A flat capital stands from the baseline to the cap height."""
    _, bottom, _, top = bounds("H", font=font)
    assert (bottom, top) == pytest.approx((50.0, 70.0), abs=1e-6)


@pytest.mark.parametrize(("align", "part"), [("left", 0.0), ("centre", 0.5), ("right", 1.0)])
def test_ink_is_aligned_to_the_anchor(align: str, part: float) -> None:
    """Left edge, middle or right edge of each line's ink is at x."""
    for text in ("QUAY", "slip"):
        left, _, right, _ = bounds(text, align=align)
        assert left + part * (right - left) == pytest.approx(100.0, abs=1e-6)


def test_lines_run_down_by_the_line_spacing() -> None:
    """The second baseline is line_spacing cap heights below the first."""
    _, bottom, _, top = bounds("H\nH", line_spacing_fraction=1.5)
    assert (bottom, top) == pytest.approx((50.0 - 1.5 * 20.0, 70.0), abs=1e-6)


def test_each_line_is_aligned_by_itself() -> None:
    """A short line under a long one is centred too."""
    area = set_text(line("HHHH\nH", align="centre"), "")
    lower = area.intersection(shapely.box(0, 0, 300, 49))
    left, _, right, _ = lower.bounds
    assert (left + right) / 2 == pytest.approx(100.0, abs=1e-6)


def test_letter_spacing_stands_between_letters_only() -> None:
    """Four letters have three gaps."""
    plain, spaced = (bounds("HHHH", letter_spacing_mm=gap) for gap in (0.0, 2.0))
    assert spaced[2] - plain[2] == pytest.approx(3 * 2.0, abs=1e-6)
    assert spaced[0] == pytest.approx(plain[0], abs=1e-6)


def test_a_turn_is_anticlockwise_about_the_anchor() -> None:
    """A quarter turn sends a line that ran right upwards, and its height to the left."""
    left, bottom, right, top = bounds("HIH", turn_deg=90)
    flat = bounds("HIH")
    assert (bottom, top) == pytest.approx((50.0, 50.0 + flat[2] - flat[0]), abs=1e-6)
    assert (left, right) == pytest.approx((80.0, 100.0), abs=1e-6)


def test_missing_characters_are_refused_by_name() -> None:
    """All of them are listed, none is dropped or drawn as a box."""
    with pytest.raises(ParameterOutOfRangeError) as caught:
        set_text(line("TERN \u98de\u2603"), "/inputs/lettering/2")
    assert caught.value.field == "/inputs/lettering/2/text"
    assert "'\u98de' (CJK UNIFIED IDEOGRAPH-98DE, U+98DE)" in caught.value.message
    assert "SNOWMAN, U+2603" in caught.value.message


def test_control_characters_are_refused() -> None:
    """A tab has no width anybody agreed on."""
    with pytest.raises(ParameterOutOfRangeError, match=r"U\+0009"):
        set_text(line("A\tB"), "/inputs/lettering/0")


def test_a_text_of_spaces_is_refused() -> None:
    """There would be nothing to carve."""
    with pytest.raises(ParameterOutOfRangeError, match="nothing to carve"):
        set_text(line("  \n "), "/inputs/lettering/0")


def test_an_unknown_font_is_refused_with_its_field() -> None:
    """The pointer leads to the font's name."""
    with pytest.raises(UnknownNameError) as caught:
        set_text(line("A", font="source-serif-bald"), "/inputs/lettering/0")
    assert caught.value.field == "/inputs/lettering/0/font"


def test_accents_are_placed() -> None:
    """A letter and its combining mark give the same ink as the one character for both."""
    composed, decomposed = (set_text(line(text), "") for text in ("\u00c9", "E\u0301"))
    assert composed.symmetric_difference(decomposed).area < 1e-6


def test_counters_stay_open() -> None:
    """B keeps its two holes."""
    polygons = set_text(line("B"), "").geoms
    assert [len(polygon.interiors) for polygon in polygons] == [2]
