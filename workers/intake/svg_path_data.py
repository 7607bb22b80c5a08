"""Path data of SVG read into cubic pieces.

The grammar is that of SVG 2, chapter 9: numbers need no separator where they
cannot run on, arc flags are single characters, further pairs after a move are
lines, and a fault ends the path at its last good segment.
"""

from __future__ import annotations

import math
import re
from array import array
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from workers.intake.svg_lengths import LARGEST_NUMBER

ARGUMENTS = {  # n: a number, f: a flag
    "m": "nn",
    "z": "",
    "l": "nn",
    "h": "n",
    "v": "n",
    "c": "nnnnnn",
    "s": "nnnn",
    "q": "nnnn",
    "t": "nn",
    "a": "nnnffnn",
}

MOST_PIECES = 1_000_000  # of a file; 64 MB of numbers

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_FLAG = re.compile(r"[01]")
_SEPARATOR = re.compile(r"[ \t\r\n\f]*,?[ \t\r\n\f]*")
_COMMAND = re.compile(r"[ \t\r\n\f]*([MmZzLlHhVvCcSsQqTtAa])")

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Subpath:
    """Cubic pieces (n, 4, 2) from a move to the next; closed if the data say so."""

    pieces: NDArray[np.float64]
    is_closed: bool
    inner_ends: frozenset[int] = frozenset()  # pieces that end within an arc, where the path has no vertex


@dataclass(slots=True)
class PathBuilder:
    """Collects segments as cubic pieces, subpath after subpath."""

    subpaths: list[Subpath] = field(default_factory=list)
    at: Point = (0.0, 0.0)
    start: Point = (0.0, 0.0)
    piece_count: int = 0
    _inner_ends: list[int] = field(default_factory=list)
    _numbers: array[float] = field(
        default_factory=lambda: array("d")
    )  # of the subpath at hand, eight a piece

    def move(self, to: Point) -> None:
        """Begin a subpath."""
        self._finish(is_closed=False)
        self.at = self.start = to

    def line(self, to: Point) -> None:
        """Go straight on."""
        (ax, ay), (bx, by) = self.at, to
        first = (ax + (bx - ax) / 3, ay + (by - ay) / 3)
        second = (ax + (bx - ax) * 2 / 3, ay + (by - ay) * 2 / 3)
        self.cubic(first, second, to)

    def cubic(self, first: Point, second: Point, to: Point) -> None:
        """Go on by a cubic Bezier curve."""
        self._numbers.extend((*self.at, *first, *second, *to))
        self.piece_count += 1
        self.at = to

    def quadratic(self, control: Point, to: Point) -> None:
        """Go on by a quadratic Bezier curve, which is a cubic as well."""
        (ax, ay), (qx, qy), (bx, by) = self.at, control, to
        first = (ax + 2 / 3 * (qx - ax), ay + 2 / 3 * (qy - ay))
        second = (bx + 2 / 3 * (qx - bx), by + 2 / 3 * (qy - by))
        self.cubic(first, second, to)

    def arc(self, rx: float, ry: float, turn_deg: float, is_large: bool, is_sweep: bool, to: Point) -> None:
        """Go on by an elliptical arc."""
        pieces = arc_pieces(self.at, rx, ry, turn_deg, is_large, is_sweep, to)
        first = len(self._numbers) // 8
        self._inner_ends.extend(range(first, first + len(pieces) - 1))
        for piece in pieces:
            self.cubic(*piece)

    def close(self) -> None:
        """Go back to where the subpath began; what follows begins there too."""
        if self.at != self.start:
            self.line(self.start)
        self._finish(is_closed=True)

    def finished(self) -> list[Subpath]:
        """Return all subpaths."""
        self._finish(is_closed=False)
        return self.subpaths

    def _finish(self, is_closed: bool) -> None:
        if not self._numbers and is_closed:
            self._numbers.extend(self.start * 4)
        if self._numbers:
            pieces = np.array(self._numbers, np.float64).reshape(-1, 4, 2)
            self.subpaths.append(Subpath(pieces, is_closed, frozenset(self._inner_ends)))
            self._numbers = array("d")
            self._inner_ends = []
        self.at = self.start


def read_path_data(text: str) -> tuple[list[Subpath], str | None]:
    """Return the subpaths of path data, and what is wrong with the data, if anything.

    Args:
        text: The ``d`` attribute.

    Source: SVG 2, 9.3 and 9.5.4 (a fault: render up to the last good segment).
    """
    pen = _Pen(PathBuilder())
    at = 0
    fault = None
    end = len(text.rstrip())
    while fault is None and at < end and pen.path.piece_count <= MOST_PIECES:
        found = _COMMAND.match(text, at)
        if not found or (at == 0 and found[1] not in "Mm"):
            fault = f"no command where one belongs, at character {at + 1}"
            break
        at = found.end()
        at, fault = _read_command(text, at, found[1], pen)
    return pen.path.finished(), fault


def _read_command(text: str, at: int, letter: str, pen: _Pen) -> tuple[int, str | None]:
    """Read one command with all its repetitions; return where it ends, and what is wrong."""
    kinds = ARGUMENTS[letter.lower()]
    if not kinds:
        pen.path.close()
        pen.last = ""
        return at, None
    count = 0
    while pen.path.piece_count <= MOST_PIECES:
        values, end = _arguments(text, at, kinds)
        if not values:
            return at, f"{letter} lacks numbers, at character {at + 1}" if count == 0 else None
        if len(values) < len(kinds):
            return end, f"{letter} ends within its numbers, at character {end + 1}"
        if max(map(abs, values)) > LARGEST_NUMBER:
            return end, f"a number beyond {LARGEST_NUMBER:.0f}, at character {at + 1}"
        pen.draw(letter, values)
        letter = {"M": "L", "m": "l"}.get(letter, letter)
        count += 1
        at = end
    return at, f"more than {MOST_PIECES} segments"


def _arguments(text: str, at: int, kinds: str) -> tuple[list[float], int]:
    """Return the numbers and flags that follow, as many as there are, and where they end."""
    values: list[float] = []
    end = at
    for kind in kinds:
        separator = _SEPARATOR.match(text, end)
        start = separator.end() if separator else end
        found = (_FLAG if kind == "f" else _NUMBER).match(text, start)
        if not found:
            break
        values.append(float(found[0]))
        end = found.end()
    return values, end


@dataclass(slots=True)
class _Pen:
    """Draws commands; remembers what smooth curves reflect."""

    path: PathBuilder
    last: str = ""  # the kind of curve drawn last: c, q or none
    control: Point = (0.0, 0.0)

    def draw(self, letter: str, values: list[float]) -> None:
        """Draw one command with its numbers."""
        kind = letter.lower()
        ox, oy = self.path.at if letter.islower() else (0.0, 0.0)
        if kind == "h":
            self.path.line((ox + values[0], self.path.at[1]))
        elif kind == "v":
            self.path.line((self.path.at[0], oy + values[0]))
        elif kind == "a":
            rx, ry, turn_deg, is_large, is_sweep, x, y = values
            self.path.arc(rx, ry, turn_deg, is_large != 0, is_sweep != 0, (ox + x, oy + y))
        else:
            points = [(ox + x, oy + y) for x, y in zip(values[::2], values[1::2], strict=True)]
            self._draw_points(kind, points)
        if kind not in "csqt":
            self.last = ""

    def _draw_points(self, kind: str, points: list[Point]) -> None:
        if kind == "m":
            self.path.move(points[0])
        elif kind == "l":
            self.path.line(points[0])
        elif kind in "cs":
            first = points[0] if kind == "c" else self._reflected("c")
            self.path.cubic(first, points[-2], points[-1])
            self.last, self.control = "c", points[-2]
        else:
            control = points[0] if kind == "q" else self._reflected("q")
            self.path.quadratic(control, points[-1])
            self.last, self.control = "q", control

    def _reflected(self, kind: str) -> Point:
        """Return the last control point mirrored in the current point, if a curve of the kind came last."""
        (x, y), (cx, cy) = self.path.at, self.control
        return (2 * x - cx, 2 * y - cy) if self.last == kind else (x, y)


def arc_pieces(
    start: Point, rx: float, ry: float, turn_deg: float, is_large: bool, is_sweep: bool, end: Point
) -> list[tuple[Point, Point, Point]]:
    """Return an elliptical arc as cubic pieces, each its two inner control points and its end.

    A piece spans at most 45 degrees, so it leaves the ellipse by less than 5e-6 of its radius.

    Args:
        start: Where the arc starts.
        rx: Radius along the ellipse's own first axis; enlarged if the ends lie too far apart.
        ry: Radius along the second.
        turn_deg: Turn of that first axis against x.
        is_large: Take the arc of more than 180 degrees.
        is_sweep: Go round with growing angles.
        end: Where the arc ends.

    Source: SVG 2, B.2.4 and B.2.5; k = 4/3 tan(angle/4).
    """
    if start == end:
        return []
    rx, ry = abs(rx), abs(ry)
    if rx == 0 or ry == 0:
        (ax, ay), (bx, by) = start, end
        return [
            ((ax + (bx - ax) / 3, ay + (by - ay) / 3), (ax + (bx - ax) * 2 / 3, ay + (by - ay) * 2 / 3), end)
        ]
    turn = math.radians(turn_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    hx, hy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    x1, y1 = cos * hx + sin * hy, -sin * hx + cos * hy
    grown = math.sqrt(max(1.0, (x1 / rx) ** 2 + (y1 / ry) ** 2))
    rx, ry = rx * grown, ry * grown
    rest = (rx * ry) ** 2 / ((rx * y1) ** 2 + (ry * x1) ** 2) - 1
    factor = math.sqrt(max(rest, 0.0)) * (1 if is_large != is_sweep else -1)
    cx1, cy1 = factor * rx * y1 / ry, -factor * ry * x1 / rx
    first = math.atan2((y1 - cy1) / ry, (x1 - cx1) / rx)
    sweep = math.atan2((-y1 - cy1) / ry, (-x1 - cx1) / rx) - first
    sweep = sweep % math.tau if is_sweep else -(-sweep % math.tau)
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    centre = (cos * cx1 - sin * cy1 + middle[0], sin * cx1 + cos * cy1 + middle[1])
    pieces = _ellipse_pieces(centre, (rx * cos, rx * sin), (-ry * sin, ry * cos), first, sweep)
    return [*pieces[:-1], (*pieces[-1][:2], end)]


def _ellipse_pieces(
    centre: Point, across: Point, up: Point, first: float, sweep: float
) -> list[tuple[Point, Point, Point]]:
    """Return cubic pieces along centre + across cos(angle) + up sin(angle)."""
    count = max(math.ceil(abs(sweep) / (math.pi / 4) - 1e-9), 1)
    step = sweep / count
    k = 4 / 3 * math.tan(step / 4)

    def at(x: float, y: float) -> Point:
        return centre[0] + x * across[0] + y * up[0], centre[1] + x * across[1] + y * up[1]

    pieces = []
    for index in range(count):
        a, b = first + index * step, first + (index + 1) * step
        cos_a, sin_a, cos_b, sin_b = math.cos(a), math.sin(a), math.cos(b), math.sin(b)
        pieces.append(
            (
                at(cos_a - k * sin_a, sin_a + k * cos_a),
                at(cos_b + k * sin_b, sin_b - k * cos_b),
                at(cos_b, sin_b),
            )
        )
    return pieces
