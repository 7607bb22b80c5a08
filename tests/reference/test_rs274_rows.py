"""Every row of the tables of rules for machine code has a test that says its id.

The rows restate NISTIR 6556 (G-01 to G-42) and common practice for dialect-neutral output (G-50 to G-64).
"""

import ast
import re
from functools import cache
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]
READER = [f"G-{number:02}" for number in range(1, 43)]
WRITER = [f"G-{number}" for number in range(50, 65)]
PLACES = ("reference", "workers/interpretation", "workers/dialects")


@cache
def ids() -> frozenset[str]:
    """The ids in names and docstrings of tests: ``G-07``, or ``g50`` in a name."""
    found: set[str] = set()
    for file in sorted(path for place in PLACES for path in (TESTS / place).glob("test_*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                found |= set(re.findall(r"\bG-\d\d\b", ast.get_docstring(node) or ""))
                found |= {f"G-{number}" for number in re.findall(r"_g(\d\d)(?=_|$)", node.name)}
    return frozenset(found)


@pytest.mark.parametrize("row", READER + WRITER)
def test_the_row_is_tested(row: str) -> None:
    """What a reader must obey is run through the reader, what a writer must keep through the writers."""
    assert row in ids()
