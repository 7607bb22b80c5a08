"""Lengths and angles on the wire: text with a unit, or a plain number.

The one place where a client's unit becomes millimetres: exact fractions times
exactly 25.4, then one rounding to float.

>>> from pydantic import TypeAdapter
>>> length = TypeAdapter(Length)
>>> length.validate_python("3/4 in")
19.05
>>> length.validate_python("1 1/2in")
38.1
>>> length.validate_python(2.5)
2.5
"""

import re
from fractions import Fraction
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, WithJsonSchema

_MM_PER_UNIT = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "inch": Fraction(254, 10),
    "inches": Fraction(254, 10),
    '"': Fraction(254, 10),
    "ft": Fraction(3048, 10),
}
_NUMBER = r"(?P<whole>[+-]?\d{1,9}(?:\.\d{1,9})?|[+-]?\.\d{1,9})"
_FRACTION = r"(?:(?P<plus>\d{1,9})\s+)?(?P<over>\d{1,9})\s*/\s*(?P<under>\d{1,9})"
_LENGTH = re.compile(rf'^\s*(?:{_FRACTION}|{_NUMBER})\s*(?P<unit>mm|cm|m|inches|inch|in|ft|")\s*$')
_ANGLE = re.compile(rf"^\s*{_NUMBER}\s*(?:deg|degrees?|°)\s*$")
_LONGEST_MM = 100_000.0


def length_in_mm(value: Any) -> float:
    """Return a length in mm.

    Args:
        value: A number of millimetres, or text such as ``"19 mm"``, ``"3/4 in"``, ``"0.1 in"``.

    Raises:
        ValueError: No number, no unit, or beyond 100 m.

    Source: 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
    """
    if isinstance(value, int | float) and not isinstance(value, bool):
        mm = float(value)
    elif isinstance(value, str) and (read := _LENGTH.match(value)):
        if read["whole"] is not None:
            amount = Fraction(read["whole"])
        elif int(read["under"]) == 0:
            raise ValueError(f"'{value}' divides by zero")
        else:
            amount = int(read["plus"] or 0) + Fraction(int(read["over"]), int(read["under"]))
        mm = float(amount * _MM_PER_UNIT[read["unit"]])
    else:
        raise ValueError(
            "a length is text with its unit, like '19 mm' or '3/4 in', or a number of millimetres"
        )
    if not -_LONGEST_MM <= mm <= _LONGEST_MM:
        raise ValueError("a length beyond 100 m")
    return mm


def angle_in_degrees(value: Any) -> float:
    """Return an angle in degrees from a number, or from text such as ``"90 deg"``.

    Raises:
        ValueError: Neither.
    """
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    if isinstance(value, str) and (read := _ANGLE.match(value)):
        return float(read["whole"])
    raise ValueError("an angle is text like '90 deg', or a number of degrees")


_LENGTH_SCHEMA = {
    "anyOf": [
        {"type": "number", "description": "millimetres"},
        {
            "type": "string",
            "description": "a number or fraction with its unit",
            "examples": ["19 mm", "3/4 in"],
        },
    ]
}
_ANGLE_SCHEMA = {
    "anyOf": [
        {"type": "number", "description": "degrees"},
        {"type": "string", "examples": ["90 deg"]},
    ]
}

AnyLength = Annotated[float, BeforeValidator(length_in_mm), WithJsonSchema(_LENGTH_SCHEMA)]
"""A length that may be negative (a place), mm."""

Length = Annotated[AnyLength, Field(ge=0)]
"""A length from 0 up, mm."""

PositiveLength = Annotated[AnyLength, Field(gt=0)]
"""A length above 0, mm."""

Angle = Annotated[
    float,
    BeforeValidator(angle_in_degrees),
    WithJsonSchema(_ANGLE_SCHEMA),
    Field(ge=-3600, le=3600),
]
"""An angle, degrees."""
