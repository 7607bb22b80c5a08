"""What a design file says beside its ink: board, holes and elements, checked on reading."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from workers.cutting_data.cutter_record import cutter_of, cutter_record
from workers.errors import InputRejectedError, ParameterOutOfRangeError
from workers.layout.board_outline import board_outline
from workers.values.cutter import KeyholeCutter
from workers.values.design import Board, Design, Element, Hanger, Hole, Opening, OpeningShape
from workers.values.region import Region

FORMAT = "triglyph-design-1"
DAMAGE = (KeyError, TypeError, ValueError, AttributeError, OverflowError, RecursionError)
"""What reading a record from anybody may raise: parts missing or of other kinds, numbers past all size."""

LONGEST_MM = 10_000.0
_LONGEST_REASON = 120  # characters: it may repeat what the file says
_ROUNDING_MM2 = 0.1  # how much of a tone may be beside the next paler one: edges on the grid
_REMEDY = "Send design.json or design.svg as the layout step wrote it."
_OPENING_SIZES = ("x_mm", "y_mm", "length_mm", "width_mm", "head_mm", "corner_radius_mm")
_LEAST_OPENING_MM = {"x_mm": -LONGEST_MM, "y_mm": -LONGEST_MM, "length_mm": 1e-3, "width_mm": 1e-3}
_HANGER_SIZES = ("x_mm", "y_mm", "length_mm", "depth_mm")
_LEAST_HANGER_MM = {"x_mm": -LONGEST_MM, "y_mm": -LONGEST_MM}
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
            {"kind": element.kind, "title": element.title}
            | _floats(element, *_ELEMENT_SIDES)
            | (_floats(element, "cap_height_mm") if element.cap_height_mm else {})
            for element in design.elements
        ],
        **(
            {"openings": [_opening_record(opening) for opening in design.openings]} if design.openings else {}
        ),
        **({"hangers": [_hanger_record(hanger) for hanger in design.hangers]} if design.hangers else {}),
        **({"bit_name": design.bit_name} if design.bit_name else {}),
        **({"past_edge_mm": float(design.past_edge_mm)} if design.past_edge_mm else {}),
    }


def _opening_record(opening: Opening) -> dict[str, Any]:
    return {"shape": opening.shape.value} | _floats(opening, *_OPENING_SIZES, "turn_deg")


def _hanger_record(hanger: Hanger) -> dict[str, Any]:
    return _floats(hanger, *_HANGER_SIZES) | {"bit": cutter_record(hanger.cutter)}


def _floats(value: Board | Hole | Element | Opening | Hanger, *names: str) -> dict[str, Any]:
    return {name: float(getattr(value, name)) for name in names}


def design_of(record: Mapping[str, Any], ink: Region, field: str, darker: Sequence[Region] = ()) -> Design:
    """Return the design of a record and its ink.

    Args:
        record: As :func:`record_of` made it, but from anybody.
        ink: The ink, in the board frame.
        field: JSON pointer of the file's link, for errors.
        darker: Of several tones, the ink without the palest and so on.

    Raises:
        InputRejectedError: The record is another one, holds no proper figures, or a tone is beside the ink.
        ParameterOutOfRangeError: The ink lies beyond the board.
    """
    if record.get("format") != FORMAT:
        raise refusal("its format is not named, or another version's", field)
    try:
        board = _board(record["board"])
        holes = tuple(_hole(entry) for entry in record["holes"])
        elements = tuple(_element(entry) for entry in record["elements"])
        openings = tuple(_opening(entry) for entry in record.get("openings", []))
        hangers = tuple(_hanger(entry) for entry in record.get("hangers", []))
        bit_name = str(record.get("bit_name", ""))
        past_edge_mm = length_mm(record.get("past_edge_mm", 0.0), least_mm=0.0)
    except DAMAGE as error:
        raise refusal(
            f"its record is incomplete ({type(error).__name__}: {str(error)[:_LONGEST_REASON]})", field
        ) from error
    _refuse_ink_beyond(board, ink, field)
    for number, (around, tone) in enumerate(pairwise([ink, *darker]), 2):
        if tone.polygons.is_empty or tone.polygons.difference(around.polygons).area > _ROUNDING_MM2:
            raise refusal(f"its tone {number} is empty, or not within the next paler one", field)
    return Design(
        board=board,
        outline=board_outline(board),
        ink=ink,
        darker=tuple(darker),
        holes=holes,
        elements=elements,
        openings=openings,
        hangers=hangers,
        bit_name=bit_name,
        past_edge_mm=past_edge_mm,
    )


def refusal(what: str, field: str) -> InputRejectedError:
    """Return the error of a file that is no design."""
    return InputRejectedError(f"this is no design: {what}", field=field, remedy=_REMEDY)


def _board(entry: Mapping[str, Any]) -> Board:
    board = Board(
        width_mm=length_mm(entry["width_mm"]),
        height_mm=length_mm(entry["height_mm"]),
        thickness_mm=length_mm(entry["thickness_mm"]),
        material=str(entry["material"]),
        corner_radius_mm=length_mm(entry["corner_radius_mm"], least_mm=0.0),
    )
    if min(board.width_mm, board.height_mm) < 2 * board.corner_radius_mm:
        raise ValueError("the corner radius is more than half of the shorter side")
    return board


def _hole(entry: Mapping[str, Any]) -> Hole:
    return Hole(
        x_mm=length_mm(entry["x_mm"], least_mm=-LONGEST_MM),
        y_mm=length_mm(entry["y_mm"], least_mm=-LONGEST_MM),
        diameter_mm=length_mm(entry["diameter_mm"]),
    )


def _opening(entry: Mapping[str, Any]) -> Opening:
    sizes = {
        name: length_mm(entry[name], least_mm=_LEAST_OPENING_MM.get(name, 0.0)) for name in _OPENING_SIZES
    }
    turn_deg = length_mm(entry["turn_deg"], least_mm=-LONGEST_MM)
    return Opening(shape=OpeningShape(entry["shape"]), **sizes, turn_deg=turn_deg)


def _hanger(entry: Mapping[str, Any]) -> Hanger:
    sizes = {
        name: length_mm(entry[name], least_mm=_LEAST_HANGER_MM.get(name, 1e-3)) for name in _HANGER_SIZES
    }
    cutter = cutter_of(entry["bit"])
    if not isinstance(cutter, KeyholeCutter) or not cutter.head_mm < sizes["depth_mm"]:
        raise ValueError("a hanger needs a keyhole bit, deeper than its head is high")
    return Hanger(**sizes, cutter=cutter)


def _element(entry: Mapping[str, Any]) -> Element:
    left, bottom, right, top = (length_mm(entry[side], least_mm=-LONGEST_MM) for side in _ELEMENT_SIDES)
    return Element(
        kind=str(entry["kind"]),
        title=str(entry["title"]),
        left_mm=left,
        bottom_mm=bottom,
        right_mm=right,
        top_mm=top,
        cap_height_mm=length_mm(entry["cap_height_mm"]) if "cap_height_mm" in entry else 0.0,
    )


def length_mm(value: Any, least_mm: float = 1e-3) -> float:
    """Return a number of a record as a length; one of ``DAMAGE`` is raised if it is none."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError(f"{value!r} where a number of mm belongs")
    if not (math.isfinite(value) and least_mm <= value <= LONGEST_MM):
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
