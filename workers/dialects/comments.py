"""Remarks for the person at the machine, in a form that no controller trips over."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Iterator

_WIDEST_COUNT = 68  # characters between the parentheses; some controllers keep less than 80 a line
MESSAGE = "(MSG, "  # begins a line that the machine shows to its operator (NISTIR 6556, 3.3.4)
_MESSAGE = re.compile(
    r"m\s*s\s*g", re.IGNORECASE
)  # begins a message to the operator, which may stop a machine


def remark(text: str) -> Iterator[str]:
    """Yield comment lines that say the text: plain ASCII, no parentheses or semicolons inside.

    >>> list(remark("Flat 1/8 in (two flutes); 50 % overlap"))
    ['(Flat 1/8 in, two flutes, 50 pct overlap)']
    """
    for line in textwrap.wrap(plain(text), _WIDEST_COUNT):
        yield f"(- {line})" if _MESSAGE.match(line) else f"({line})"


def message(text: str) -> str:
    """Return the line that shows a short text to the operator.

    >>> message("Fit bit 2 (flat)")
    '(MSG, Fit bit 2, flat)'
    """
    return f"{MESSAGE}{plain(text)[: _WIDEST_COUNT - len(MESSAGE)]})"


def remarks(texts: Iterable[str]) -> Iterator[str]:
    """Yield the comment lines of several texts, each beginning a line."""
    for text in texts:
        yield from remark(text)


def plain(text: str) -> str:
    """Return text of which a controller can read every character and act on none.

    Parentheses would end a comment, a semicolon or per cent sign ends a line or a file on
    some controllers, and a message word or other letters are not printable everywhere.
    """
    text = text.replace(" (", ", ").replace("(", ", ").replace(")", "").replace(";", ",").replace("%", "pct")
    text = "".join(letter if " " <= letter <= "~" else "?" for letter in " ".join(text.split()))
    return text.strip(" ,")
