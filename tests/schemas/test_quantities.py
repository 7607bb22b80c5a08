"""Lengths and angles at the edge. Reference: 1 in = 25.4 mm exactly (yard and pound agreement, 1959)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.quantities import angle_in_degrees, length_in_mm


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("19 mm", 19.0),
        ("1.9cm", 19.0),
        ("3/4 in", 19.05),
        ("1 1/2 in", 38.1),
        ('0.125"', 3.175),
        (".5 in", 12.7),
        ("1 ft", 304.8),
        ("-2 mm", -2.0),
        (7, 7.0),
    ],
)
def test_lengths_are_converted_once_and_exactly(text: object, mm: float) -> None:
    """Fractions are exact until the one rounding to float."""
    assert length_in_mm(text) == mm


@pytest.mark.parametrize(
    "text",
    ["", "19", "mm", "1e3 mm", "3/0 in", "nan mm", "1 2 in", "5 px", None, True, [1], "9" * 40 + " mm"],
)
def test_what_is_no_length_is_refused(text: object) -> None:
    """A bare number in text has no unit; guesses are not made."""
    with pytest.raises(ValueError, match=r"length|zero|100 m"):
        length_in_mm(text)


@given(st.integers(0, 3900), st.integers(1, 64))
def test_fractions_of_an_inch_agree_with_their_value(over: int, under: int) -> None:
    """n/d inches are 25.4 n/d mm to the last bit of one rounding."""
    assert length_in_mm(f"{over}/{under} in") == pytest.approx(25.4 * over / under, rel=1e-15)


def test_angles_in_words_and_numbers() -> None:
    """Degrees either way."""
    assert angle_in_degrees("90 deg") == angle_in_degrees(90) == 90.0
    with pytest.raises(ValueError, match="angle"):
        angle_in_degrees("90")
