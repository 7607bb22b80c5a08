"""A drawing with every place moved the same way: turned, mirrored, enlarged, set elsewhere."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import shapely
from numpy.typing import NDArray

from workers.geometry.polygon_repair import region_of
from workers.values.curved_artwork import CurvedArtwork
from workers.values.region import Artwork

Points = NDArray[np.float64]


def moved(
    drawing: CurvedArtwork, move: Callable[[Points], Points], sides_mm: tuple[float, float] | None = None
) -> CurvedArtwork:
    """Return a drawing with every place moved, its curves with it.

    Args:
        drawing: The drawing.
        move: Takes and gives places (n, 2), mm; affine.
        sides_mm: Width and height of the sheet afterwards, if they change.
    """
    width_mm, height_mm = sides_mm or (drawing.artwork.width_mm, drawing.artwork.height_mm)
    ink = region_of(shapely.transform(drawing.artwork.ink.polygons, move))
    return CurvedArtwork(
        artwork=Artwork(ink=ink, width_mm=width_mm, height_mm=height_mm),
        pieces=move(drawing.pieces.reshape(-1, 2)).reshape(-1, 4, 2),
        steps=drawing.steps,
    )
