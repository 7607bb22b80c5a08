"""Text of an order in characters that the sheet's face may lack.

Sources: the face's own table of characters as fontTools reads it; compatibility forms are Unicode's (UAX 15).
"""

import io

import pytest
from fontTools.ttLib import TTFont

from workers.cutting_data.tables import font_data
from workers.setup_sheet.look import plain, printable


@pytest.mark.parametrize(
    ("said", "printed"),
    [
        ("held by a vacuum bed", "held by a vacuum bed"),
        ("\u0164uh\u00fdk, \u0421\u043e\u043a\u043e\u043b, \u0393\u03bb\u03ac\u03c1\u03bf\u03c2", None),
        ("\uff22\uff25\uff32\uff34\uff28\u3000\uff17", "BERTH 7"),
        ("two\nlines\tand\u00a0a gap", "two lines and a gap"),
        ("soft\ufe0f joints", "soft joints"),
        ("\u6728\u672d", "[2 characters not in this face]"),
        ("a \u26f5 and a \u8239", "a [1 character not in this face] and a [1 character not in this face]"),
    ],
    ids=["plain", "other alphabets", "full width", "blanks", "silent", "none", "some"],
)
def test_text_is_printed_as_far_as_the_face_goes(said: str, printed: str | None) -> None:
    """Letters of the face stay; what is missing is told, never an empty box."""
    assert printable(said) == (said if printed is None else printed)


def test_whatever_is_printed_is_in_the_face() -> None:
    """All of the first two planes' letters, one by one, against the face's own table."""
    known = TTFont(io.BytesIO(font_data("source-sans-regular"))).getBestCmap().keys()
    bold = TTFont(io.BytesIO(font_data("source-sans-bold"))).getBestCmap().keys()

    printed = {ord(one) for code in range(32, 0x3400) for one in printable(chr(code))}

    assert printed <= known
    assert printed <= bold


def test_marks_of_the_page_are_text() -> None:
    """What looks like markup is printed as it stands."""
    assert plain("a < b & c") == "a &lt; b &amp; c"
