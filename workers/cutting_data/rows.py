"""Reads the tables of this folder: plain rows, before they become values."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from fractions import Fraction
from importlib.resources import files
from typing import Any

from workers.values.frames import MM_PER_INCH

Row = Mapping[str, Any]


def read_table(file: str) -> dict[str, Any]:
    """Return the contents of one TOML file of this package.

    Args:
        file: Its name, ``bits.toml``.
    """
    return tomllib.loads(files(__package__).joinpath(file).read_text(encoding="utf-8"))


def read_font(file: str) -> bytes:
    """Return a font file of this package, as it was shipped."""
    return files(__package__).joinpath("fonts", file).read_bytes()


def inches(text: str) -> float:
    """Return the millimetres of a fraction of an inch, exact before the one rounding to float.

    Args:
        text: Whole inches, a fraction, or both: ``"1/8"``, ``"2 1/2"``.

    >>> inches("1/8")
    3.175
    >>> inches("2 1/2")
    63.5
    """
    exact_mm_per_inch = Fraction(str(MM_PER_INCH))
    return float(sum(Fraction(part) for part in text.split()) * exact_mm_per_inch)


def length_mm(row: Row, name: str) -> float | None:
    """Return a length of a row in mm, given as ``NAME_mm`` or as ``NAME_in``; None if it has neither."""
    if f"{name}_mm" in row:
        return float(row[f"{name}_mm"])
    return inches(row[f"{name}_in"]) if f"{name}_in" in row else None


def needed_length_mm(row: Row, name: str) -> float:
    """Return a length of a row in mm.

    Raises:
        ValueError: The row does not have it.
    """
    found_mm = length_mm(row, name)
    if found_mm is None:
        raise ValueError(f"the row {row['name']} has no {name}")
    return found_mm
