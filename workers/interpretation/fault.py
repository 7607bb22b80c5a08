"""What is wrong with a line, before anybody knows which line it is."""

from __future__ import annotations

from workers.errors import UnreadableProgramError

LONGEST_QUOTE = 40


class Fault(Exception):  # noqa: N818 - not an error yet: it knows no line
    """A rule of RS-274 is broken; the interpreter adds the line and turns it into an error.

    Args:
        problem: What was found, a clause without a full stop.
        remedy: What to change in the program.
        in_arc: The end of an arc misses its circle; has a finding of its own.
    """

    def __init__(self, problem: str, remedy: str, *, in_arc: bool = False) -> None:
        super().__init__(problem)
        self.problem = problem
        self.remedy = remedy
        self.in_arc = in_arc


class ArcOutOfToleranceError(UnreadableProgramError):
    """The start and the end of an arc do not lie on one circle round its centre."""


def error_of(fault: Fault, name: str, line: int, text: str) -> UnreadableProgramError:
    """Return the fault as an error that names program, line and the text found there.

    Args:
        fault: What is wrong.
        name: The program's name.
        line: Line number, from 1.
        text: The line as it stands in the program; quoted short.
    """
    quote = text.strip()
    if len(quote) > LONGEST_QUOTE:
        quote = quote[: LONGEST_QUOTE - 3] + "..."
    kind = ArcOutOfToleranceError if fault.in_arc else UnreadableProgramError
    return kind(f'{name}, line {line}, "{quote}": {fault.problem}', remedy=fault.remedy)
