"""A bit as a JSON object: its kind, and its dimensions by their own names."""

from __future__ import annotations

import math
from dataclasses import fields
from typing import Any

from workers.values.cutter import BallNose, Cutter, Drill, EndMill, KeyholeCutter, VeeCutter

_KINDS: dict[str, type[Cutter]] = {
    "vee": VeeCutter,
    "flat": EndMill,
    "ball": BallNose,
    "drill": Drill,
    "keyhole": KeyholeCutter,
}


def cutter_record(cutter: Cutter) -> dict[str, Any]:
    """Return a bit's kind and fields."""
    kind = next(name for name, cutter_type in _KINDS.items() if isinstance(cutter, cutter_type))
    return {"kind": kind} | {entry.name: getattr(cutter, entry.name) for entry in fields(cutter)}


def cutter_of(record: dict[str, Any]) -> Cutter:
    """Return the bit of a record.

    Raises:
        ValueError: A dimension is missing, negative or no number.
        KeyError: No such kind, or a field is missing.
    """
    cutter_type = _KINDS[record["kind"]]
    values: dict[str, Any] = {"name": short_text(record["name"])}
    for entry in fields(cutter_type):
        if entry.name == "flutes_count":
            values[entry.name] = int(positive(record[entry.name]))
        elif entry.name != "name":
            values[entry.name] = positive(record[entry.name], zero=entry.name == "tip_mm")
    return cutter_type(**values)


def positive(value: Any, zero: bool = False) -> float:
    """Return a number of a file that must be above zero, or at least zero.

    Raises:
        ValueError: It is no such number.
    """
    number = float(value)
    if not math.isfinite(number) or number < 0 or (number == 0 and not zero):
        raise ValueError(f"{value} where a positive number belongs")
    return number


def short_text(value: Any) -> str:
    """Return a name in a file.

    Raises:
        ValueError: It is no text, or a long one.
    """
    if not isinstance(value, str) or len(value) > 100:
        raise ValueError("a name that is none")
    return value
