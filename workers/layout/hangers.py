"""Do hangers fit into the board: its thickness, their bits, and what else is on it?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely
from shapely.geometry import Point

from workers.cutting_data.tables import BITS
from workers.errors import ParameterOutOfRangeError
from workers.layout.board_outline import board_outline
from workers.values.cutter import KeyholeCutter
from workers.values.design import Board, Hanger, Hole, Opening
from workers.values.hanger_shape import (
    LEAST_FRONT_MM,
    LEAST_HOLDING_MM,
    head_outline,
    lip_mm,
    usual_depth_mm,
)
from workers.values.opening_outline import opening_outline

_SLACK_MM = 0.01  # chords and rounding


def refuse_misfit_hangers(
    board: Board, holes: Sequence[Hole], openings: Sequence[Opening], hangers: Sequence[Hanger]
) -> None:
    """Check each hanger's depth and length, then its place against the edge and all that goes through.

    How deep the carving before it is, planning knows.

    Raises:
        ParameterOutOfRangeError: For the first that does not fit, with what would.
    """
    for number, hanger in enumerate(hangers):
        field = f"/inputs/hangers/{number}"
        _refuse_depth(board, hanger, f"hanger {number + 1}", f"{field}/depth")
        least_mm = (hanger.cutter.diameter_mm + hanger.cutter.neck_mm) / 2
        if hanger.length_mm <= least_mm:
            raise ParameterOutOfRangeError(
                f"hanger {number + 1} is {hanger.length_mm:g} mm long: its slot would end within its entry",
                field=f"{field}/length",
                remedy=f"Make it more than {least_mm:.1f} mm, half of head and neck, or take a thinner bit.",
            )
        _refuse_place(board, holes, openings, hangers, number)


def _refuse_depth(board: Board, hanger: Hanger, name: str, field: str) -> None:
    cutter, depth_mm = hanger.cutter, hanger.depth_mm
    most_mm = board.thickness_mm - LEAST_FRONT_MM
    least_mm = cutter.head_mm + LEAST_HOLDING_MM
    if depth_mm > most_mm + _SLACK_MM:
        raise ParameterOutOfRangeError(
            f"{name} is {depth_mm:.2f} mm deep in a board of {board.thickness_mm:g} mm; at least "
            f"{LEAST_FRONT_MM:g} mm of wood must stay before it",
            field=field,
            remedy=_shallower(most_mm, least_mm, cutter),
        )
    if depth_mm > cutter.cutting_length_mm + _SLACK_MM:
        raise ParameterOutOfRangeError(
            f"{name} is {depth_mm:.2f} mm deep, and the neck of '{cutter.name}' ends "
            f"{cutter.cutting_length_mm:.2f} mm over its tip",
            field=field,
            remedy=f"Lower 'depth' to {cutter.cutting_length_mm:.1f} mm, or take a bit with a longer neck.",
        )
    if lip_mm(hanger) < LEAST_HOLDING_MM - _SLACK_MM:
        raise ParameterOutOfRangeError(
            f"{name} leaves a lip of {lip_mm(hanger):.2f} mm over the head of '{cutter.name}', "
            f"{cutter.head_mm:.2f} mm high; {LEAST_HOLDING_MM:g} mm must carry the board",
            field=field,
            remedy=f"Make 'depth' {least_mm:.1f} mm or more, or leave it out.",
        )


def _shallower(most_mm: float, least_mm: float, cutter: KeyholeCutter) -> str:
    """Say what would fit: less depth with this bit, or another bit of the table."""
    if least_mm <= most_mm:
        return f"Lower 'depth' to {most_mm:.1f} mm or less; '{cutter.name}' needs {least_mm:.1f} mm."
    fitting = [
        bit.name for bit in BITS.values() if isinstance(bit, KeyholeCutter) and usual_depth_mm(bit) <= most_mm
    ]
    if fitting:
        return f"Take a smaller bit: {' or '.join(fitting)}; or take a thicker board."
    return "No keyhole bit of the table fits so thin a board: hang it by holes, or take a thicker one."


def _refuse_place(
    board: Board,
    holes: Sequence[Hole],
    openings: Sequence[Opening],
    hangers: Sequence[Hanger],
    number: int,
) -> None:
    outline = head_outline(hangers[number])
    edge = board_outline(board)
    inside_mm = outline.distance(edge.exterior) if edge.contains(outline) else 0.0
    name, stays_mm = min(
        [("the board's edge", inside_mm), *_distances(outline, holes, openings, hangers[:number])],
        key=lambda other: other[1],
    )
    if stays_mm < LEAST_HOLDING_MM - _SLACK_MM:
        raise ParameterOutOfRangeError(
            f"hanger {number + 1} leaves {stays_mm:.1f} mm to {name}; at least {LEAST_HOLDING_MM:g} mm must "
            "stay beside it",
            field=f"/inputs/hangers/{number}",
            remedy="Move it, make it shorter, or take a thinner bit; its slot runs up from x, y.",
        )


def _distances(
    outline: shapely.Polygon, holes: Sequence[Hole], openings: Sequence[Opening], earlier: Sequence[Hanger]
) -> Iterator[tuple[str, float]]:
    """Yield how much board stays between a hanger and each thing that goes through it, or into its back."""
    for number, hole in enumerate(holes, 1):
        centre = Point(hole.x_mm, hole.y_mm)
        yield f"hole {number}", max(0.0, outline.distance(centre) - hole.diameter_mm / 2)
    for number, opening in enumerate(openings, 1):
        yield f"opening {number}", outline.distance(opening_outline(opening))
    for number, hanger in enumerate(earlier, 1):
        yield f"hanger {number}", outline.distance(head_outline(hanger))
