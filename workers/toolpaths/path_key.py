"""What the lines of a drawing of paths mean, and its scale."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Protocol
from xml.sax.saxutils import escape

from workers.values.cutter import BallNose, Cutter, Drill, EndMill, KeyholeCutter, VeeCutter
from workers.values.cutting_plan import Operation, OperationKind
from workers.values.design import Board
from workers.values.frames import MM_PER_INCH

LINE_MM, BADGE_MM = 5.0, 1.9  # from line to line; radius of a number's disc
_WORDS = {
    OperationKind.BACK: "slots in the back, seen through the board",
    OperationKind.CLEAR: "floors",
    OperationKind.INCISE: "grooves",
    OperationKind.DRILL: "holes",
    OperationKind.OPENING: "openings",
    OperationKind.CUTOUT: "cutout",
}
_KINDS = {
    VeeCutter: "v-bit",
    EndMill: "end mill",
    BallNose: "ball nose",
    Drill: "drill",
    KeyholeCutter: "keyhole bit",
}
_TEXT = 'font-family="sans-serif" font-size="3.2" fill="#333333"'
_SAMPLE_MM, _WORDS_MM = 9.0, 16.0  # from the badge's middle: end of the line's sample, begin of the words
_ROUND_MM, _SHARE_OF_BOARD = (500, 200, 100, 50, 20, 10, 5, 2, 1), 0.25


class Told(Protocol):
    """An operation and what tells it apart."""

    @property
    def number(self) -> int:
        """In the order of the programs."""

    @property
    def operation(self) -> Operation:
        """What is cut."""

    @property
    def colour(self) -> str:
        """Of its lines."""

    @property
    def width_mm(self) -> float:
        """Of its lines."""


def badge(number: int, colour: str, x: float, y: float) -> str:
    """Return a disc with a number."""
    look = 'font-family="sans-serif" font-weight="bold" font-size="2.6" text-anchor="middle" fill="#ffffff"'
    disc = f'cx="{x:.3f}" cy="{y:.3f}" r="{BADGE_MM}" fill="{colour}" stroke="#ffffff" stroke-width="0.3"'
    words = f'<text x="{x:.3f}" y="{y + 0.95:.3f}" {look}>{number}</text>'
    return f'<g class="number"><circle {disc}/>{words}</g>'


def key_of(drawn: Sequence[tuple[Told, bool]], left_mm: float, top_mm: float) -> Iterator[str]:
    """Yield a line of the key for each operation, then what rings and dashes mean.

    Args:
        drawn: The operations, and whether tabs of theirs are drawn.
        left_mm: Of the key.
        top_mm: Of the key, y down.
    """
    y_mm = top_mm
    middle_mm = left_mm + BADGE_MM
    for one, with_tabs in drawn:
        yield badge(one.number, one.colour, middle_mm, y_mm)
        line = f"M{middle_mm + BADGE_MM + 1:.3f},{y_mm:.3f} H{middle_mm + BADGE_MM + _SAMPLE_MM:.3f}"
        yield f'<path d="{line}" stroke="{one.colour}" stroke-width="{one.width_mm}"/>'
        yield _words(middle_mm, y_mm, _said(one.operation, with_tabs))
        y_mm += LINE_MM
    look = 'r="0.5" fill="#ffffff" stroke="#777777" stroke-width="0.18"'
    yield f'<circle cx="{middle_mm + 6:.3f}" cy="{y_mm:.3f}" {look}/>'
    yield _words(middle_mm, y_mm, "a cut begins here; numbers stand where each program's first cut does")
    y_mm += LINE_MM
    line = f"M{middle_mm + BADGE_MM + 1:.3f},{y_mm:.3f} H{middle_mm + BADGE_MM + _SAMPLE_MM:.3f}"
    yield f'<path d="{line}" stroke="#777777" stroke-width="0.2" stroke-dasharray="1.2 0.9"/>'
    yield _words(middle_mm, y_mm, "traverses, above the work")


def _words(middle_mm: float, y_mm: float, words: str) -> str:
    return f'<text x="{middle_mm + _WORDS_MM - 2:.3f}" y="{y_mm + 1.1:.3f}" {_TEXT}>{escape(words)}</text>'


def _said(operation: Operation, with_tabs: bool) -> str:
    """An operation in a line: what, by which bit, how fast, how deep."""
    count = len(operation.paths)
    deepest_mm = -min((float(path.points_mm[:, 2].min()) for path in operation.paths), default=0.0)
    return (
        f"{_WORDS[operation.kind]}: {operation.cutter.name}, {_kind_word(operation.cutter)} "
        f"{operation.cutter.diameter_mm:g} mm, {operation.spindle_rpm:.0f} rpm, "
        f"{count} path{'s' * (count > 1)}, {deepest_mm:.2f} mm deep"
        + (", thick where it rises over tabs" if with_tabs else "")
    )


def _kind_word(cutter: Cutter) -> str:
    return _KINDS[type(cutter)]


def scale_bar(board: Board, right_mm: float, top_mm: float) -> Iterator[str]:
    """Yield a bar of a round length, at most a quarter of the board, ending at the right."""
    longest_mm = _SHARE_OF_BOARD * max(board.width_mm, board.height_mm)
    bar_mm = next((one for one in _ROUND_MM if one <= longest_mm), _ROUND_MM[-1])
    left_mm = right_mm - bar_mm
    half_mm = bar_mm / 2
    for start_mm, fill in ((left_mm, "#333333"), (left_mm + half_mm, "#ffffff")):
        outline = f"M{start_mm:.3f},{top_mm - 1:.3f} h{half_mm:g} v1.2 h{-half_mm:g} z"
        yield f'<path d="{outline}" fill="{fill}" stroke="#333333" stroke-width="0.2"/>'
    words = f"{bar_mm} mm ({bar_mm / MM_PER_INCH:.3f} in)"
    yield f'<text x="{right_mm:.3f}" y="{top_mm + 4.2:.3f}" text-anchor="end" {_TEXT}>{words}</text>'
