"""What is wrong with a line, before anybody knows which line it is."""

from __future__ import annotations

from workers.errors import UnreadableProgramError

LONGEST_QUOTE = 40


class Fault(Exception):  # noqa: N818 - not an error yet: it knows no line
    """A rule of RS-274 is broken; the interpreter adds the line and turns it into an error.

    Args:
        problem: What was found, a clause without a full stop.
        remedy: What to change in the program.
        word: The word at fault as ``Block.places`` calls it: ``"x"``, ``"g20"``, ``"m3"``.
        at: Where in the closed-up line it stands, when no word was read there.
        in_arc: The end of an arc misses its circle; has a finding of its own.
    """

    def __init__(
        self, problem: str, remedy: str, *, word: str = "", at: int | None = None, in_arc: bool = False
    ) -> None:
        super().__init__(problem)
        self.problem = problem
        self.remedy = remedy
        self.word = word
        self.at = at
        self.in_arc = in_arc


class ArcOutOfToleranceError(UnreadableProgramError):
    """The start and the end of an arc do not lie on one circle round its centre."""


def error_of(fault: Fault, name: str, line: int, text: str) -> UnreadableProgramError:
    """Return the fault as an error that names program, line, column and the text found there.

    Args:
        fault: What is wrong, and where in the closed-up line.
        name: The program's name.
        line: Line number, from 1.
        text: The line as it stands in the program; quoted short.
    """
    quote = text.strip()
    if len(quote) > LONGEST_QUOTE:
        quote = quote[: LONGEST_QUOTE - 3] + "..."
    kind = ArcOutOfToleranceError if fault.in_arc else UnreadableProgramError
    column = column_of(text, fault.at or 0)
    return kind(f'{name}, line {line}, column {column}, "{quote}": {fault.problem}', remedy=fault.remedy)


def column_of(text: str, at: int) -> int:
    """Return the column, from 1, of a character of the closed-up line.

    White space outside of comments does not count there, and a comment counts as one character.

    >>> column_of(" g0 (to the start) x1", 3)
    20
    """
    in_comment = False
    for column, character in enumerate(text, 1):
        if in_comment:
            in_comment = character != ")"
        elif character not in " \t":
            if at == 0:
                return column
            at -= 1
            in_comment = character == "("
    return len(text) or 1
