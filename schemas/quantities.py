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
from abc import ABC, abstractmethod
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any, ClassVar

from pydantic_core import CoreSchema, core_schema

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
        raise ValueError("a length beyond 100 m: give a shorter one")
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


@dataclass(frozen=True, slots=True)
class _Quantity(ABC):
    """Marks a number as a quantity: how its text is read, and between which bounds it lies."""

    ge: float | None = None  # at least
    gt: float | None = None  # more than
    le: float | None = None  # at most
    lt: float | None = None  # less than

    unit: ClassVar[str]
    text: ClassVar[dict[str, Any]]  # JSON Schema of what may be written in its place

    @staticmethod
    @abstractmethod
    def read(value: Any) -> float:
        """Return the number that was meant."""

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> CoreSchema:
        number = core_schema.float_schema(ge=self.ge, gt=self.gt, le=self.le, lt=self.lt, allow_inf_nan=False)
        return core_schema.no_info_before_validator_function(self.read, number)

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        bounds = {
            "minimum": self.ge,
            "exclusiveMinimum": self.gt,
            "maximum": self.le,
            "exclusiveMaximum": self.lt,
        }
        told = {keyword: bound for keyword, bound in bounds.items() if bound is not None}
        return {
            "anyOf": [{"type": "number", "description": self.unit, **told}, {"type": "string", **self.text}]
        }


class Millimetres(_Quantity):
    """Marks a length; its bounds are in mm.

    >>> from pydantic import TypeAdapter
    >>> TypeAdapter(Annotated[float, Millimetres(le=25)]).json_schema()["anyOf"][0]
    {'description': 'millimetres', 'maximum': 25, 'type': 'number'}
    """

    unit = "millimetres"
    text: ClassVar = {
        "description": "a number or fraction with its unit: mm, cm, m, in or ft",
        "examples": ["19 mm", "3/4 in"],
    }

    @staticmethod
    def read(value: Any) -> float:
        """Return the length in mm."""
        return length_in_mm(value)


class Degrees(_Quantity):
    """Marks an angle; its bounds are in degrees."""

    unit = "degrees"
    text: ClassVar = {"description": "a number with its unit, deg", "examples": ["90 deg"]}

    @staticmethod
    def read(value: Any) -> float:
        """Return the angle in degrees."""
        return angle_in_degrees(value)


AnyLength = Annotated[float, Millimetres()]
"""A length that may be negative (a place), mm."""

Length = Annotated[float, Millimetres(ge=0)]
"""A length from 0 up, mm."""

PositiveLength = Annotated[float, Millimetres(gt=0)]
"""A length above 0, mm."""

Angle = Annotated[float, Degrees(ge=-3600, le=3600)]
"""An angle, degrees."""
