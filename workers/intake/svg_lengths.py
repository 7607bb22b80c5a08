"""Lengths of SVG, in its user units, which are pixels of CSS."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from workers.values.frames import MM_PER_INCH

LARGEST_NUMBER = 1e7  # user units; a drawing has no use for more, and arithmetic suffers
PX_PER_INCH = 96.0  # CSS: a pixel is 1/96 of an inch, whatever the screen
EM_PX = 16.0  # of a font of the usual size
EX_PER_EM = 0.5  # where the height of an x is not looked up: CSS Values 3, 5.1.1
MM_PER_PX = MM_PER_INCH / PX_PER_INCH
PX_PER_UNIT = {
    "": 1.0,
    "px": 1.0,
    "in": PX_PER_INCH,
    "cm": PX_PER_INCH / 2.54,
    "mm": PX_PER_INCH / 25.4,
    "q": PX_PER_INCH / 101.6,
    "pt": PX_PER_INCH / 72,
    "pc": PX_PER_INCH / 6,
}
_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_LENGTH = re.compile(rf"\s*({_NUMBER})\s*([a-zA-Z]*|%)\s*")


@dataclass(frozen=True, slots=True)
class Viewport:
    """What relative lengths refer to: a rectangle and the size of the font, user units."""

    width: float
    height: float
    em: float = EM_PX

    def across(self, text: str | None, default: float = 0.0) -> float:
        """Return a length whose percentage is of the width."""
        return length_px(text, self.width, default, self.em)

    def down(self, text: str | None, default: float = 0.0) -> float:
        """Return a length whose percentage is of the height."""
        return length_px(text, self.height, default, self.em)

    def along(self, text: str | None, default: float = 0.0) -> float:
        """Return a length that is neither across nor down: its percentage is of the diagonal over root 2."""
        return length_px(text, math.hypot(self.width, self.height) / math.sqrt(2), default, self.em)


def length_px(text: str | None, whole: float, default: float = 0.0, em: float = EM_PX) -> float:
    """Return a length in user units (CSS px).

    Args:
        text: The attribute: a number, perhaps with a unit or a percent sign.
        whole: What 100 % is.
        default: Taken if there is no attribute, or none that is a length.
        em: Size of the font.
    """
    found = _LENGTH.fullmatch(text) if text else None
    if not found:
        return default
    value, unit = _bounded(found[1]), found[2].lower()
    if unit == "%":
        return value / 100 * whole
    if unit in ("em", "ex"):
        return value * em * (EX_PER_EM if unit == "ex" else 1.0)
    return value * PX_PER_UNIT[unit] if unit in PX_PER_UNIT else default


def is_length(text: str) -> bool:
    """Return whether a text is a length that can be told."""
    unit = unit_of(text)
    return unit is not None and (unit in PX_PER_UNIT or unit in ("%", "em", "ex"))


def unit_of(text: str | None) -> str | None:
    """Return the unit of a length in small letters, "" for none, None if it is no length."""
    found = _LENGTH.fullmatch(text) if text else None
    return found[2].lower() if found else None


def numbers(text: str) -> list[float]:
    """Return all numbers in a text."""
    return [_bounded(found) for found in re.findall(_NUMBER, text)]


def _bounded(numeral: str) -> float:
    """Return a number, kept within what a drawing can have use for."""
    return min(max(float(numeral), -LARGEST_NUMBER), LARGEST_NUMBER)


def view_box(text: str | None) -> tuple[float, float, float, float] | None:
    """Return left, top, width and height of a view box, or None if there is none to use."""
    values = numbers(text) if text else []
    if len(values) != 4 or values[2] <= 0 or values[3] <= 0:
        return None
    return values[0], values[1], values[2], values[3]
