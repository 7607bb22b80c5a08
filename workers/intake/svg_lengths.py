"""Lengths, view boxes and transforms of SVG: from its user units to millimetres."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.values.frames import MM_PER_INCH

Matrix = NDArray[np.float64]  # (3, 3), columns of points on its right

LARGEST_NUMBER = 1e7  # user units; a drawing has no use for more, and arithmetic suffers
PX_PER_INCH = 96.0  # CSS: a pixel is 1/96 of an inch, whatever the screen
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
    "em": 16.0,  # of a font of the usual size; text itself is not read
    "ex": 8.0,
}
_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_LENGTH = re.compile(rf"\s*({_NUMBER})\s*([a-zA-Z]*|%)\s*")
_FUNCTION = re.compile(r"\s*,?\s*([a-zA-Z]+)\s*\(([^()]*)\)\s*")


@dataclass(frozen=True, slots=True)
class Viewport:
    """The rectangle that percentages refer to, in user units."""

    width: float
    height: float

    @property
    def diagonal(self) -> float:
        """What a percentage refers to that is neither across nor down."""
        return math.hypot(self.width, self.height) / math.sqrt(2)


def length_px(text: str | None, whole: float, default: float = 0.0) -> float:
    """Return a length in user units (CSS px).

    Args:
        text: The attribute: a number, perhaps with a unit or a percent sign.
        whole: What 100 % is.
        default: Taken if there is no attribute, or none that is a length.
    """
    found = _LENGTH.fullmatch(text) if text else None
    if not found:
        return default
    value, unit = _bounded(found[1]), found[2].lower()
    if unit == "%":
        return value / 100 * whole
    return value * PX_PER_UNIT[unit] if unit in PX_PER_UNIT else default


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


def box_to_viewport(
    box: tuple[float, float, float, float], width: float, height: float, keep_aspect: str | None
) -> Matrix:
    """Return the matrix that puts a view box into a viewport at the origin.

    Args:
        box: Left, top, width and height of the view box.
        width: Width of the viewport.
        height: Its height.
        keep_aspect: The attribute preserveAspectRatio; its default is xMidYMid meet.

    Source: SVG 2, 8.2 (trade.md X-03).
    """
    left, top, box_width, box_height = box
    words = (keep_aspect or "").replace("defer", "").split() or ["xMidYMid"]
    sx, sy = width / box_width, height / box_height
    if words[0] != "none":
        sx = sy = max(sx, sy) if "slice" in words[1:] else min(sx, sy)
    share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    across, down = share.get(words[0][1:4], 0.5), share.get(words[0][5:8], 0.5)
    return moved(
        across * (width - sx * box_width) - sx * left, down * (height - sy * box_height) - sy * top
    ) @ scaled(sx, sy)


def moved(x: float, y: float) -> Matrix:
    """Return the matrix of a shift."""
    return np.array([[1.0, 0.0, x], [0.0, 1.0, y], [0.0, 0.0, 1.0]])


def scaled(x: float, y: float) -> Matrix:
    """Return the matrix of a change of scale."""
    return np.array([[x, 0.0, 0.0], [0.0, y, 0.0], [0.0, 0.0, 1.0]])


def read_transform(text: str) -> Matrix | None:
    """Return the matrix of a transform attribute, or None if it is not one.

    Functions apply from right to left; the same functions with units, as CSS writes them, are taken too.

    Source: SVG 2, 8.5; CSS Transforms 1, 8.
    """
    matrix = np.eye(3)
    at = 0
    while at < len(text.rstrip()):
        found = _FUNCTION.match(text, at)
        if not found:
            return None
        step = _function(found[1], numbers(found[2]))
        if step is None:
            return None
        matrix = matrix @ step
        if np.abs(matrix).max() > LARGEST_NUMBER**2:
            return None
        at = found.end()
    return matrix


def _function(name: str, values: list[float]) -> Matrix | None:
    """Return the matrix of one transform function, or None if its numbers do not fit."""
    match name, values:
        case "matrix", [a, b, c, d, e, f]:
            return np.array([[a, c, e], [b, d, f], [0.0, 0.0, 1.0]])
        case "translate", [x]:
            return moved(x, 0.0)
        case "translate", [x, y]:
            return moved(x, y)
        case "scale", [x]:
            return scaled(x, x)
        case "scale", [x, y]:
            return scaled(x, y)
        case "rotate", [angle]:
            return _turned(angle)
        case "rotate", [angle, x, y]:
            return moved(x, y) @ _turned(angle) @ moved(-x, -y)
        case "skewX", [angle]:
            return np.array([[1.0, math.tan(math.radians(angle)), 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
        case "skewY", [angle]:
            return np.array([[1.0, 0.0, 0.0], [math.tan(math.radians(angle)), 1.0, 0.0], [0.0, 0.0, 1.0]])
    return None


def _turned(angle_deg: float) -> Matrix:
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])
