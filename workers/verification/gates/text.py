"""Program text that a reader of the standard takes and a small controller may not."""

from __future__ import annotations

from workers.values.finding import Finding, Severity
from workers.values.program import Program

LONGEST_LINE = 80  # the standard allows 256, small controllers' buffers are far shorter (memory)


def text_findings(program: Program) -> list[Finding]:
    """Return warnings for long lines and for characters outside ASCII, each with its first line."""
    lines = program.text.splitlines()
    long = [number for number, line in enumerate(lines, 1) if len(line) > LONGEST_LINE]
    foreign = [number for number, line in enumerate(lines, 1) if not line.isascii()]
    found = []
    if long:
        found.append(
            Finding(
                code="long-lines",
                severity=Severity.WARNING,
                message=f"{program.name}, line {long[0]}: more than {LONGEST_LINE} characters{_more(long)}",
                remedy="shorten its comments; a small controller may cut such a line off",
            )
        )
    if foreign:
        line = lines[foreign[0] - 1]
        place = next(column for column, character in enumerate(line, 1) if not character.isascii())
        found.append(
            Finding(
                code="characters-outside-ascii",
                severity=Severity.WARNING,
                message=(
                    f"{program.name}, line {foreign[0]}, column {place}: "
                    f"a character outside ASCII{_more(foreign)}"
                ),
                remedy="write comments in plain letters; a controller may stop at such a character",
            )
        )
    return found


def _more(lines: list[int]) -> str:
    return f", and {len(lines) - 1} more such lines" if len(lines) > 1 else ""
