"""Art brought to its place, size and turn on the board."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from workers.errors import NoDrawingFoundError, ParameterOutOfRangeError
from workers.layout.areas import turned
from workers.values.design import Board
from workers.values.placement import PlacedArt
from workers.values.region import Artwork

_LEAST_SIDE_MM = 1e-6  # a box narrower than this cannot be scaled to a width


def place_art(art: PlacedArt, board: Board, field: str) -> tuple[tuple[MultiPolygon, ...], float]:
    """Return the art's tones on the board, and the scale: turned, then sized by its box, then centred.

    The first is all ink, by which the rest is placed; one where the art has no more tones.

    Args:
        art: The ink on its sheet, and where it goes, mm.
        board: For the middle, where no place is given.
        field: JSON pointer of the art, for errors.

    Raises:
        NoDrawingFoundError: The art has no ink.
        ParameterOutOfRangeError: A width is asked of ink that has none, or tones have other sheets.
    """
    for number, artwork in enumerate((art.artwork, *art.darker)):
        _refuse_unlike(art, artwork, number, field)
    upright = [turned(artwork.ink.polygons, art.turn_deg) for artwork in (art.artwork, *art.darker)]
    left, bottom, right, top = upright[0].bounds
    middle = np.array([(left + right) / 2, (bottom + top) / 2])
    scale = _scale(art, right - left, top - bottom, field)
    place = np.array(
        [
            board.width_mm / 2 if art.x_mm is None else art.x_mm,
            board.height_mm / 2 if art.y_mm is None else art.y_mm,
        ]
    )
    placed = [shapely.transform(tone, lambda points: (points - middle) * scale + place) for tone in upright]
    return tuple(placed), scale


def _refuse_unlike(art: PlacedArt, artwork: Artwork, number: int, field: str) -> None:
    """Raise if one of the art's tones has no ink, or is on another sheet than all ink."""
    if artwork.ink.polygons.is_empty:
        raise NoDrawingFoundError(
            f"there is no ink in {art.title}" + (f", its darker tone {number}" if number else ""),
            field=f"{field}/darker/{number - 1}" if number else field,
            remedy="Send a drawing with black areas; very thin lines may have been dropped on the way.",
        )
    sides = [f"{one.width_mm:.2f} x {one.height_mm:.2f} mm" for one in (art.artwork, artwork)]
    if sides[0] != sides[1]:
        raise ParameterOutOfRangeError(
            f"the sheet of {art.title} is {sides[0]}, and that of its darker tone {number} is {sides[1]}",
            field=f"{field}/darker/{number - 1}",
            remedy="Draw all tones on one sheet, so that they lie over each other.",
        )


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
