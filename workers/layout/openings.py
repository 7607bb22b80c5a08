"""Do openings lie on the board, clear of its edge, of holes, of each other and of what is carved?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely
from shapely.geometry import Point

from workers.errors import ParameterOutOfRangeError
from workers.layout.board_outline import board_outline
from workers.layout.fitting import Placed, least_wall_mm
from workers.values.design import Board, Hole, Opening
from workers.values.opening_outline import opening_outline

_SLACK_MM = 0.01  # chords and rounding


def refuse_misplaced_openings(
    board: Board, placed: Sequence[Placed], holes: Sequence[Hole], openings: Sequence[Opening]
) -> None:
    """Check each opening against all else on the board.

    Raises:
        ParameterOutOfRangeError: For the first that does not fit, with what is in its way.
    """
    wall_mm = least_wall_mm(board)
    edge = board_outline(board)
    outlines = [opening_outline(opening) for opening in openings]
    for number, outline in enumerate(outlines):
        inside_mm = outline.distance(edge.exterior) if edge.contains(outline) else 0.0
        others = [
            ("the board's edge", inside_mm),
            *((f"opening {other + 1}", outline.distance(outlines[other])) for other in range(number)),
            *_distances(outline, placed, holes),
        ]
        name, stays_mm = min(others, key=lambda other: other[1])
        if stays_mm < wall_mm - _SLACK_MM:
            raise ParameterOutOfRangeError(
                f"opening {number + 1} leaves {stays_mm:.1f} mm to {name}; at least {wall_mm:g} mm must stay",
                field=f"/inputs/openings/{number}",
                remedy="Move the opening, or make it smaller.",
            )


def _distances(
    outline: shapely.Polygon, placed: Sequence[Placed], holes: Sequence[Hole]
) -> Iterator[tuple[str, float]]:
    """Yield how much board stays between an opening and each hole and each thing carved."""
    for number, hole in enumerate(holes, 1):
        centre = Point(hole.x_mm, hole.y_mm)
        yield f"hole {number}", max(0.0, outline.distance(centre) - hole.diameter_mm / 2)
    for entry in placed:
        yield entry.title, outline.distance(entry.area)
