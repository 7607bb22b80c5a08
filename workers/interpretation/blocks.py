"""One line of RS-274 taken apart into words: the word-address grammar.

Source: NISTIR 6556, sections 3.3 to 3.3.5 and appendix E, restated.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field

from workers.interpretation.expressions import LARGEST_PARAMETER, ValueReader
from workers.interpretation.fault import Fault

LONGEST_LINE = 256
MOST_M_WORDS = 4
LETTERS = frozenset("abcdfghijklmpqrstxyz")
AXES = "xyz"
_NEVER_NEGATIVE = frozenset("dfhlpqst")
_WHOLE = frozenset("dhlt")
_LINE_NUMBER = re.compile(r"n([0-9]{1,5})(?![0-9.])")
_MESSAGE = re.compile(r"\s*m\s*s\s*g\s*,(.*)", re.IGNORECASE | re.DOTALL)
_WHITE = str.maketrans("", "", " \t")  # no other character may be passed over in silence
_COMMENT = "("  # stands for a whole comment once a line is closed up


@dataclass(slots=True)
class Block:
    """The words of one line: G codes times ten, M codes, at most one of every other letter."""

    g_codes: list[int] = field(default_factory=list)
    m_codes: list[int] = field(default_factory=list)
    words: dict[str, float] = field(default_factory=dict)
    settings: dict[int, float] = field(default_factory=dict)
    places: dict[str, int] = field(default_factory=dict)  # "x", "g20" or "m3" -> place in the closed-up line
    message: str = ""  # to the operator

    @property
    def has_axes(self) -> bool:
        """Say whether X, Y or Z is given."""
        return any(axis in self.words for axis in AXES)


def read_block(text: str, parameters: dict[int, float], remark: Callable[[str], None]) -> Block:
    """Return the words of a line; parameter settings are collected, not yet in force.

    Args:
        text: One line without its end and without the slash of block delete.
        parameters: Values of the parameters before this line.
        remark: Told what a careful reader notices.

    Raises:
        Fault: The line is not RS-274.

    >>> read_block("n10 g0x +0. 12 34y 7 (to the start)", {}, print).words
    {'x': 0.1234, 'y': 7.0}
    """
    if len(text) > LONGEST_LINE:
        raise Fault(f"{len(text)} characters on one line", f"keep lines under {LONGEST_LINE} characters")
    closed_up, message = _close_up(text)
    reader = ValueReader(closed_up, parameters, remark)
    block = Block(message=message)
    numbered = _LINE_NUMBER.match(reader.text)
    if numbered:
        reader.at = numbered.end()
    while reader.at < len(reader.text):
        at = reader.at
        try:
            _read_item(reader, block)
        except Fault as fault:
            fault.at = at
            raise
    return block


def _close_up(text: str) -> tuple[str, str]:
    """Return the line in lower case without white space, each comment as one mark; and its message."""
    if "(" not in text and ")" not in text:
        return text.translate(_WHITE).lower(), ""
    kept = ""
    comment = ""
    rest = text
    while rest:
        outside, opened, rest = rest.partition("(")
        kept += outside.translate(_WHITE).lower()
        if ")" in outside:
            raise Fault(
                "a comment that was never opened", "put comments in one pair of ( )", at=kept.index(")")
            )
        if opened:
            comment, closed, rest = rest.partition(")")
            if not closed:
                raise Fault(
                    "a comment that does not end on its line", "close the comment with )", at=len(kept)
                )
            if "(" in comment:
                raise Fault("a comment inside a comment", "put comments in one pair of ( )", at=len(kept))
            kept += _COMMENT
    message = _MESSAGE.fullmatch(comment)  # of several comments only the last speaks
    return kept, message[1].strip() if message else ""


def _read_item(reader: ValueReader, block: Block) -> None:
    letter = reader.text[reader.at]
    reader.at += 1
    if letter == _COMMENT:
        return
    if letter == "#":
        _read_setting(reader, block)
    elif letter == "g":
        _read_g(reader, block)
    elif letter == "m":
        _read_m(reader, block)
    elif letter in LETTERS:
        _read_word(letter, reader, block)
    else:
        raise Fault(_misplaced(letter), _remedy_of(letter))


def _read_setting(reader: ValueReader, block: Block) -> None:
    index = reader.integer("a parameter's number")
    if not 1 <= index <= LARGEST_PARAMETER:
        raise Fault(f"there is no parameter #{index}", f"use #1 to #{LARGEST_PARAMETER}")
    if reader.text[reader.at : reader.at + 1] != "=":
        raise Fault(f"parameter #{index} without '='", "write #number=value")
    reader.at += 1
    block.settings[index] = reader.value()


def _read_g(reader: ValueReader, block: Block) -> None:
    start = reader.at - 1
    value = reader.value()
    code = round(value * 10)
    if abs(value * 10 - code) > 0.001 or not 0 <= code < 1000:
        raise Fault(f"there is no G{value:g}", "use a G code of RS-274")
    block.places[f"g{code}"] = start
    block.g_codes.append(code)


def _read_m(reader: ValueReader, block: Block) -> None:
    start = reader.at - 1
    code = reader.integer("an M code")
    if not 0 <= code < 100:
        raise Fault(f"there is no M{code}", "use an M code of RS-274")
    block.places[f"m{code}"] = start
    block.m_codes.append(code)
    if len(block.m_codes) > MOST_M_WORDS:
        raise Fault("more than four M codes", "spread the M codes over several lines")


def _read_word(letter: str, reader: ValueReader, block: Block) -> None:
    start = reader.at - 1
    if letter in block.words:
        raise Fault(f"{letter.upper()} stands twice", f"keep one {letter.upper()} a line")
    whole = letter in _WHOLE
    value = float(reader.integer(f"the value of {letter.upper()}")) if whole else reader.value()
    if value < 0 and letter in _NEVER_NEGATIVE:
        raise Fault(f"{letter.upper()} is negative", f"write {letter.upper()} as zero or more")
    block.places[letter] = start
    block.words[letter] = value


def _misplaced(letter: str) -> str:
    if letter == "n":
        return "a line number that is not at the start, or not a whole number of at most five digits"
    return _MISPLACED.get(letter, f"'{letter}' has no meaning here")


def _remedy_of(letter: str) -> str:
    return _REMEDIES.get(letter, "take it out; the words of RS-274 are a letter and a number each")


_MISPLACED = {
    "/": "a slash that is not at the start",
    ";": "a comment after a semicolon",
    "o": "a program number or a subprogram (O)",
    "e": "'e': an exponent, or an axis that is none of X, Y and Z,",
    "u": "an axis beside X, Y and Z (U)",
    "v": "an axis beside X, Y and Z (V)",
    "w": "an axis beside X, Y and Z (W)",
    "\u00ef": "a byte-order mark, which is no letter of RS-274",
}
_REMEDIES = {
    "n": "number lines N0 to N99999, first on the line",
    "/": "put the slash of block delete first on the line",
    ";": "put comments in ( )",
    "%": "let % stand alone on the first and the last line",
    "o": "take out program numbers, and write the motions of subprograms themselves",
    "e": "write numbers in full, and the program for three axes",
    "u": "write the program for three axes",
    "v": "write the program for three axes",
    "w": "write the program for three axes",
    "\u00ef": "save the program as plain text",
}
