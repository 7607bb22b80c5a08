"""Comments that no controller trips over."""

from hypothesis import given, settings
from hypothesis import strategies as st

from workers.dialects.comments import plain, remark, remarks


def test_long_text_is_wrapped() -> None:
    """No line is longer than 70 characters with its parentheses."""
    found = list(remark("deep " * 40))

    assert len(found) > 2
    assert max(len(line) for line in found) <= 70


def test_an_operator_message_is_defused() -> None:
    """(MSG, ...) would be shown, and stops some machines; in any case and spacing (G-10)."""
    assert list(remark("MSG, stop")) == ["(- MSG, stop)"]
    assert list(remark("m S g,stop")) == ["(- m S g,stop)"]


def test_nothing_to_say_is_no_line() -> None:
    """An empty comment would be noise."""
    assert list(remarks(["", "  ", "()"])) == []


@settings(deadline=None, max_examples=200)
@given(st.text(max_size=300))
def test_any_text_becomes_harmless(text: str) -> None:
    """Printable ASCII without parentheses, semicolons, per cent signs or line ends."""
    assert not set(plain(text)) & set("();%\n\r\t")
    for line in remark(text):
        assert line.isascii()
        assert line.isprintable()
        assert line[0] == "("
        assert line.count("(") == line.count(")") == 1
