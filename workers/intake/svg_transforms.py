"""Transforms of SVG: from its user units towards the page."""

from __future__ import annotations

import math
import re

import numpy as np
from numpy.typing import NDArray

from workers.intake.svg_lengths import LARGEST_NUMBER, length_px

Matrix = NDArray[np.float64]  # (3, 3), columns of points on its right

_ARGUMENT = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)([a-zA-Z%]*)")
_FUNCTION = re.compile(r"\s*,?\s*([a-zA-Z]+)\s*\(([^()]*)\)\s*")
_PER_DEGREE = {"": 1.0, "deg": 1.0, "grad": 0.9, "rad": 180 / math.pi, "turn": 360.0}
_ANGLE = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(deg|grad|rad|turn|)\s*")


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
        step = _function(found[1], _arguments(found[1], found[2]))
        if step is None:
            return None
        matrix = matrix @ step
        if np.abs(matrix).max() > LARGEST_NUMBER**2:
            return None
        at = found.end()
    return matrix


def _arguments(name: str, text: str) -> list[float]:
    """Return the numbers of a function: degrees, user units or plain; none if a unit does not fit."""
    values = []
    for index, (number, unit) in enumerate(_ARGUMENT.findall(text)):
        if unit and index == 0 and (name == "rotate" or name.startswith("skew")):
            value = angle_deg(number + unit)
        elif unit and name in ("translate", "translateX", "translateY"):
            value = length_px(number + unit, math.nan, math.nan)
        else:
            value = None if unit else float(number)
        if value is None or not math.isfinite(value):
            return []
        values.append(min(max(value, -LARGEST_NUMBER), LARGEST_NUMBER))
    return values


def _function(name: str, values: list[float]) -> Matrix | None:
    """Return the matrix of one transform function, or None if its numbers do not fit."""
    match name, values:
        case "matrix", [a, b, c, d, e, f]:
            return np.array([[a, c, e], [b, d, f], [0.0, 0.0, 1.0]])
        case (("translate" | "translateX" | "translateY"), [shift]):
            return moved(0.0, shift) if name == "translateY" else moved(shift, 0.0)
        case "translate", [x, y]:
            return moved(x, y)
        case (("rotate" | "skewX" | "skewY"), [angle]):
            return turned(angle) if name == "rotate" else _skewed(angle, name == "skewX")
        case "rotate", [angle, x, y]:
            return moved(x, y) @ turned(angle) @ moved(-x, -y)
    return _scaling(name, values)


def _scaling(name: str, values: list[float]) -> Matrix | None:
    match name, values:
        case "scale", [both]:
            return scaled(both, both)
        case "scale", [x, y]:
            return scaled(x, y)
        case "scaleX", [x]:
            return scaled(x, 1.0)
        case "scaleY", [y]:
            return scaled(1.0, y)
    return None


def _skewed(angle: float, is_across: bool) -> Matrix:
    matrix = np.eye(3)
    matrix[(0, 1) if is_across else (1, 0)] = math.tan(math.radians(angle))
    return matrix


def angle_deg(text: str) -> float | None:
    """Return an angle in degrees, or None if the text is none."""
    found = _ANGLE.fullmatch(text)
    return float(found[1]) * _PER_DEGREE[found[2]] if found else None


def turned(angle_deg: float) -> Matrix:
    """Return the matrix of a turn, from x towards y."""
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])
