"""Tables read out of a Markdown file, so that published figures need not be typed again."""

from __future__ import annotations

import re
from pathlib import Path


def tables(path: Path) -> list[list[dict[str, str]]]:
    """Return every table as rows of cells by their column's heading."""
    found: list[list[dict[str, str]]] = []
    headings: list[str] = []
    for line in path.read_text(encoding="utf-8").splitlines():
        if not line.startswith("|"):
            headings = []
        elif not headings:
            headings = _cells(line)
            found.append([])
        elif not re.fullmatch(r"[|\s:-]+", line):
            found[-1].append(dict(zip(headings, _cells(line), strict=True)))
    return found


def table_with(path: Path, *headings: str) -> list[dict[str, str]]:
    """Return the first table that has all these columns.

    Raises:
        LookupError: None has.
    """
    for rows in tables(path):
        if rows and set(headings) <= set(rows[0]):
            return rows
    raise LookupError(f"{path.name} has no table with the columns {headings}")


def _cells(line: str) -> list[str]:
    return [cell.strip() for cell in line.strip().strip("|").split("|")]
