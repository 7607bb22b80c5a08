"""Which sides of polygons still lie on the curves that they were made from.

A side that nothing has touched is a chord of its piece, one that was cut is a part of a chord; either way it
is told by its place alone. So whatever changed the polygons needs to know nothing of curves.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from workers.geometry.flattening import chords_of
from workers.values.curved_artwork import CurvedArtwork

SAME_MM = 1e-7  # far more than rounding moves a point, far less than any side is long
NO_PIECE = -1


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class CurveSides:
    """The sides of all rings of a drawing, one ring after the other.

    ``ends`` (n, 2, 2) are places, mm; ``pieces`` (n) the number of the piece that a side lies on, or
    NO_PIECE; ``params`` (n, 2) the piece's parameter at either end, falling where the side runs against it;
    ``starts`` (m + 1) where each ring starts.
    """

    ends: NDArray[np.float64]
    pieces: NDArray[np.int64]
    params: NDArray[np.float64]
    starts: NDArray[np.int64]


def curve_sides(drawing: CurvedArtwork) -> CurveSides:
    """Return the sides of a drawing with the pieces that they lie on."""
    rings = shapely.get_rings(shapely.get_parts(drawing.artwork.ink.polygons))
    points = [shapely.get_coordinates(ring) for ring in rings]
    ends = np.concatenate(
        [np.zeros((0, 2, 2)), *(np.stack([ring[:-1], ring[1:]], axis=1) for ring in points)]
    )
    starts = np.array([0, *itertools.accumulate(len(ring) - 1 for ring in points)])
    pieces = np.full(len(ends), NO_PIECE, dtype=np.int64)
    params = np.zeros((len(ends), 2))
    if len(ends) and len(drawing.pieces):
        _match(ends, drawing, pieces, params)
    return CurveSides(ends=ends, pieces=pieces, params=params, starts=starts)


def shares_of(sides: CurveSides, count: int) -> NDArray[np.float64]:
    """Return how much of the parameter of each of so many pieces is there: 1 for a whole piece."""
    found = sides.pieces != NO_PIECE
    lengths = np.abs(np.diff(sides.params[found], axis=1))[:, 0]
    return np.bincount(sides.pieces[found], lengths, count).astype(np.float64)


def _match(
    ends: NDArray[np.float64],
    drawing: CurvedArtwork,
    pieces: NDArray[np.int64],
    params: NDArray[np.float64],
) -> None:
    """Write down for each side the first piece with a chord that it lies on, and where."""
    chords, owners, chord_params = chords_of(drawing.pieces, drawing.steps)
    tree = shapely.STRtree(np.asarray(shapely.linestrings(chords), dtype=object))  # made all at once
    middles = shapely.points(ends.mean(axis=1))
    side, chord = tree.query(middles, predicate="dwithin", distance=SAME_MM)
    along = chords[chord, 1] - chords[chord, 0]
    square = np.maximum((along**2).sum(axis=1), 1e-30)
    offset = ends[side] - chords[chord, 0][:, None]
    share = (offset * along[:, None]).sum(axis=2) / square[:, None]
    aside = np.abs(offset[..., 0] * along[:, None, 1] - offset[..., 1] * along[:, None, 0])
    length = np.sqrt(square)[:, None]
    beyond = np.maximum(-share, share - 1) * length
    is_on = ((aside < SAME_MM * length) & (beyond < SAME_MM)).all(axis=1)
    side, chord, share = side[is_on], chord[is_on], share[is_on]
    share = np.where(np.abs(share * length[is_on]) < SAME_MM, 0.0, share)
    share = np.where(np.abs((share - 1) * length[is_on]) < SAME_MM, 1.0, share)
    order = np.lexsort((chord, side))
    _, first = np.unique(side[order], return_index=True)
    chosen = order[first]
    side, chord, share = side[chosen], chord[chosen], share[chosen]
    pieces[side] = owners[chord]
    start, end = chord_params[chord, :1], chord_params[chord, 1:]
    params[side] = start + share * (end - start)
