"""Art brought to its place, size and turn on the board."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from workers.errors import NoDrawingFoundError, ParameterOutOfRangeError
from workers.layout.areas import turned
from workers.values.design import Board
from workers.values.placement import PlacedArt

_LEAST_SIDE_MM = 1e-6  # a box narrower than this cannot be scaled to a width


def place_art(art: PlacedArt, board: Board, field: str) -> MultiPolygon:
    """Return the art's ink on the board: turned, then sized by its box, then centred.

    Args:
        art: The ink on its sheet, and where it goes, mm.
        board: For the middle, where no place is given.
        field: JSON pointer of the art, for errors.

    Raises:
        NoDrawingFoundError: The art has no ink.
        ParameterOutOfRangeError: A width is asked of ink that has none.
    """
    ink = art.artwork.ink.polygons
    if ink.is_empty:
        raise NoDrawingFoundError(
            f"there is no ink in {art.title}",
            field=field,
            remedy="Send a drawing with black areas; very thin lines may have been dropped on the way.",
        )
    upright = turned(ink, art.turn_deg)
    left, bottom, right, top = upright.bounds
    middle = np.array([(left + right) / 2, (bottom + top) / 2])
    scale = _scale(art, right - left, top - bottom, field)
    place = np.array(
        [
            board.width_mm / 2 if art.x_mm is None else art.x_mm,
            board.height_mm / 2 if art.y_mm is None else art.y_mm,
        ]
    )
    placed: MultiPolygon = shapely.transform(upright, lambda points: (points - middle) * scale + place)
    return placed


def _scale(art: PlacedArt, width_mm: float, height_mm: float, field: str) -> float:
    wanted_mm, has_mm = (art.width_mm, width_mm) if art.width_mm is not None else (art.height_mm, height_mm)
    if wanted_mm is None:
        return 1.0
    if has_mm < _LEAST_SIDE_MM:
        raise ParameterOutOfRangeError(
            f"the ink of {art.title} has no extent that could be made {wanted_mm:g} mm",
            field=f"{field}/place",
            remedy="Give the other side, or check the drawing.",
        )
    return wanted_mm / has_mm
