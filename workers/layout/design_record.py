"""What a design file says beside its ink: board, holes and elements, checked on reading."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from workers.errors import InputRejectedError, ParameterOutOfRangeError
from workers.layout.board_outline import board_outline
from workers.values.design import Board, Design, Element, Hole
from workers.values.region import Region

FORMAT = "triglyph-design-1"
_LONGEST_MM = 10_000.0
_REMEDY = "Send design.json or design.svg as the layout step wrote it."
_ELEMENT_SIDES = ("left_mm", "bottom_mm", "right_mm", "top_mm")


def record_of(design: Design) -> dict[str, Any]:
    """Return the design without its ink as plain JSON values, mm."""
    board = design.board
    return {
        "format": FORMAT,
        "board": _floats(board, "width_mm", "height_mm", "thickness_mm", "corner_radius_mm")
        | {"material": board.material},
        "holes": [_floats(hole, "x_mm", "y_mm", "diameter_mm") for hole in design.holes],
        "elements": [
            {"kind": element.kind, "title": element.title} | _floats(element, *_ELEMENT_SIDES)
            for element in design.elements
        ],
    }


def _floats(value: Board | Hole | Element, *names: str) -> dict[str, Any]:
    return {name: float(getattr(value, name)) for name in names}


def design_of(record: Mapping[str, Any], ink: Region, field: str) -> Design:
    """Return the design of a record and its ink.

    Args:
        record: As :func:`record_of` made it, but from anybody.
        ink: The ink, in the board frame.
        field: JSON pointer of the file's link, for errors.

    Raises:
        InputRejectedError: The record is another one, or holds no proper figures.
        ParameterOutOfRangeError: The ink lies beyond the board.
    """
    if record.get("format") != FORMAT:
        raise refusal("its format is not named, or another version's", field)
    try:
        board = _board(record["board"])
        holes = tuple(_hole(entry) for entry in record["holes"])
        elements = tuple(_element(entry) for entry in record["elements"])
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise refusal(f"its record is incomplete ({type(error).__name__}: {error})", field) from error
    _refuse_ink_beyond(board, ink, field)
    return Design(board=board, outline=board_outline(board), ink=ink, holes=holes, elements=elements)


def refusal(what: str, field: str) -> InputRejectedError:
    """Return the error of a file that is no design."""
    return InputRejectedError(f"this is no design: {what}", field=field, remedy=_REMEDY)


def _board(entry: Mapping[str, Any]) -> Board:
    board = Board(
        width_mm=_length(entry["width_mm"]),
        height_mm=_length(entry["height_mm"]),
        thickness_mm=_length(entry["thickness_mm"]),
        material=str(entry["material"]),
        corner_radius_mm=_length(entry["corner_radius_mm"], least_mm=0.0),
    )
    if min(board.width_mm, board.height_mm) < 2 * board.corner_radius_mm:
        raise ValueError("the corner radius is more than half of the shorter side")
    return board


def _hole(entry: Mapping[str, Any]) -> Hole:
    return Hole(
        x_mm=_length(entry["x_mm"], least_mm=-_LONGEST_MM),
        y_mm=_length(entry["y_mm"], least_mm=-_LONGEST_MM),
        diameter_mm=_length(entry["diameter_mm"]),
    )


def _element(entry: Mapping[str, Any]) -> Element:
    left, bottom, right, top = (_length(entry[side], least_mm=-_LONGEST_MM) for side in _ELEMENT_SIDES)
    return Element(
        kind=str(entry["kind"]),
        title=str(entry["title"]),
        left_mm=left,
        bottom_mm=bottom,
        right_mm=right,
        top_mm=top,
    )


def _length(value: Any, least_mm: float = 1e-3) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError(f"{value!r} where a number of mm belongs")
    if not (math.isfinite(value) and least_mm <= value <= _LONGEST_MM):
        raise ValueError(f"{value!r} mm is out of range")
    return float(value)


def _refuse_ink_beyond(board: Board, ink: Region, field: str) -> None:
    if ink.polygons.is_empty:
        return
    left, bottom, right, top = ink.polygons.bounds
    if min(left, bottom, board.width_mm - right, board.height_mm - top) < 0:
        raise ParameterOutOfRangeError(
            f"the design's ink reaches beyond its board of {board.width_mm:g} x {board.height_mm:g} mm",
            field=field,
            remedy="Run the layout again; it says what does not fit.",
        )
