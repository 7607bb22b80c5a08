"""Findings on a page in inches: every sentence of the service about lengths can be told in them.

Source: 1 in = 25.4 mm exactly.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import workers
from workers.setup_sheet.figures import Figures

ROOMS = (
    "verification",
    "toolpaths",
    "layout",
    "resolvability",
    "rectification",
    "intake",
    "tracing",
    "pipeline",
)
UNIT = re.compile(r"\bmm\b|\bmm[2\u00b2]")
NAMED = re.compile(r"\bin mm\b|\bof mm\b|\bto the mm\b|^mm$")  # the unit as such, no figure


def sentences(room: str) -> list[str]:
    """Every literal of a room's code that speaks of mm, docstrings apart, with 1 where a value goes in."""
    found: list[str] = []
    for file in sorted((Path(workers.__path__[0]) / room).rglob("*.py")):
        tree = ast.parse(file.read_text(encoding="utf-8"))
        within = {
            id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values
        }
        docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        for node in ast.walk(tree):
            if isinstance(node, ast.JoinedStr):
                parts = [part.value if isinstance(part, ast.Constant) else "1" for part in node.values]
                found.append("".join(map(str, parts)))
            elif isinstance(node, ast.Constant) and id(node) not in within | docs:
                found.append(str(node.value))
    return [text for text in found if UNIT.search(text)]


@pytest.mark.parametrize("room", ROOMS)
def test_every_sentence_can_be_told_in_inches(room: str) -> None:
    """Whatever figure stands before it, no mm is left: a new message that breaks the rule is found here."""
    told = {text: Figures(inches=True).retold(NAMED.sub("", text)) for text in sentences(room)}

    assert [text for text, retold in told.items() if UNIT.search(retold)] == []


@pytest.mark.parametrize(
    ("said", "retold"),
    [
        ("cut up to 0.254 mm too deep", "cut up to 0.0100 in too deep"),
        ("0.05 mm is allowed", "0.002 in is allowed"),
        ("a board of 400 x 180 mm", "a board of 15.75 x 7.09 in"),
        ("X goes from -2.540 to 900.000 mm", "X goes from -0.1000 to 35.4331 in"),
        ("near x 25.4, y 50.8 mm", "near x 1.000, y 2.000 in"),
        ("64.52 mm2 are beyond that", "0.1 in2 are beyond that"),
        ("2540 mm/min; feeds at most 3000 mm/min", "100.0 in/min; feeds at most 118.1 in/min"),
        ("drill-5mm drills 5.000 mm", "drill-5mm drills 0.1969 in"),
        ("01-incise.ngc, line 24: 3 mm deep", "01-incise.ngc, line 24: 0.12 in deep"),
        ("program 2 of 3, 99.9 % and 18000 rpm", "program 2 of 3, 99.9 % and 18000 rpm"),
    ],
)
def test_figures_are_told_in_inches_and_the_rest_stays(said: str, retold: str) -> None:
    """With a digit or two more than in mm; names, lines, shares and speeds are no lengths."""
    assert Figures(inches=True).retold(said) == retold
    assert Figures().retold(said) == said
