"""Polygons of ink as curves again: what still lies on a curve is that curve, what is new is fitted.

A stretch of a ring whose sides are chords of one piece becomes that piece, or the part of it that is left,
cut where the curve itself meets what cut it. Between such stretches lie new lines; curves are fitted to
them from corner to corner, as to the edge of a picture. Should outlines cross by that, those that do keep
the polygons' sides.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.geometry.curve_sides import NO_PIECE, CurveSides, curve_sides
from workers.geometry.filling import filled
from workers.geometry.flattening import flat_rings
from workers.geometry.polygon_loops import straight_pieces
from workers.tracing.crossings import crossing_pieces
from workers.tracing.joints import meeting, part_of
from workers.tracing.polygon_fitting import fit_lines
from workers.values.curved_artwork import CurvedArtwork
from workers.values.outlines import Outlines

Points = NDArray[np.float64]

CROSSING_PX_PER_MM = 10.0  # the look for crossings thinks in pixels
CROSSED_WITHIN_MM = 0.0005
OVERLAP_MM2 = 1e-7  # far more than rounding leaves of a board's area
SAME_PARAM = 1e-9


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Redrawn:
    """Outlines, and how they were made."""

    outlines: Outlines
    pieces_as_drawn: int  # whole, or the part that is left
    pieces_fitted: int
    loops_straight: int  # that kept the polygons' sides, since curves crossed


@dataclass(slots=True, eq=False)
class _Stretch:
    """Sides of a ring that lie on one piece, or one after the other on none."""

    piece: int
    start: float  # parameters of the piece
    end: float
    points: Points  # along the sides

    @property
    def is_new(self) -> bool:
        return self.piece == NO_PIECE

    @property
    def is_whole(self) -> bool:
        return not self.is_new and _is_end(self.start) and _is_end(self.end)


def redrawn(drawing: CurvedArtwork, tolerance_mm: float) -> Redrawn:
    """Return the outlines of a drawing of polygons, curves wherever they are known or can be fitted.

    Args:
        drawing: The polygons, and the curves that their sides came from.
        tolerance_mm: How far fitted curves may leave the polygons.
    """
    sides = curve_sides(drawing)
    rings = [slice(*ends) for ends in itertools.pairwise(sides.starts)]
    stretches = [_stretches(sides, ring) for ring in rings]
    for ring in stretches:
        _join(ring, drawing.pieces)
    fitted = iter(
        fit_lines([each.points for ring in stretches for each in ring if each.is_new], tolerance_mm)
    )
    loops = [
        np.concatenate([next(fitted) if each.is_new else _kept(each, drawing.pieces) for each in ring])
        for ring in stretches
    ]
    loops, is_straight = _straightened(loops, sides, rings)
    curved = [k for k, is_off in enumerate(is_straight) if not is_off]
    as_drawn = sum(not each.is_new for k in curved for each in stretches[k])
    sheet = drawing.artwork
    return Redrawn(
        outlines=Outlines(loops=tuple(loops), width_mm=sheet.width_mm, height_mm=sheet.height_mm),
        pieces_as_drawn=as_drawn,
        pieces_fitted=sum(len(loops[k]) for k in curved) - as_drawn,
        loops_straight=sum(is_straight),
    )


def _stretches(sides: CurveSides, ring: slice) -> list[_Stretch]:
    """Return the stretches of a ring, in order, beginning where one begins."""
    ends, pieces, params = sides.ends[ring], sides.pieces[ring], sides.params[ring]
    turned = np.roll(np.arange(len(pieces)), 1)
    goes_on = pieces == pieces[turned]
    is_bent = np.abs(params[:, 0] - params[turned, 1]) > SAME_PARAM
    rise = np.sign(params[:, 1] - params[:, 0])
    goes_on &= (pieces == NO_PIECE) | (~is_bent & (rise == rise[turned]))
    firsts = np.flatnonzero(~goes_on)
    if not len(firsts):
        firsts = np.array([0])
    found = []
    for first, after in zip(firsts, [*firsts[1:], firsts[0] + len(pieces)], strict=True):
        index = np.arange(first, after) % len(pieces)
        points = np.concatenate([ends[index, 0], ends[index[-1:], 1]])
        found.append(_Stretch(int(pieces[first]), params[first, 0], params[index[-1], 1], points))
    return found


def _join(ring: list[_Stretch], pieces: Points) -> None:
    """Move the ends of stretches to the places where their curves meet."""
    if len(ring) == 1:
        return
    for before, after in zip(ring, [*ring[1:], ring[0]], strict=True):
        place = before.points[-1]
        if not before.is_new and _is_end(before.end):
            place = pieces[before.piece, round(before.end) * 3]
        elif not after.is_new and _is_end(after.start):
            place = pieces[after.piece, round(after.start) * 3]
        else:
            one, s = _near_end(before, pieces)
            other, t = _near_start(after, pieces)
            met = meeting(one, s, other, t)
            if met is not None:
                place = part_of(one, met[0], 1.0)[0]
                before.end = before.end if before.is_new else met[0]
                after.start = after.start if after.is_new else met[1]
        before.points[-1] = after.points[0] = place


def _is_end(param: float) -> bool:
    return min(abs(param), abs(1 - param)) < SAME_PARAM


def _near_end(stretch: _Stretch, pieces: Points) -> tuple[Points, float]:
    """Return the piece that a stretch ends with, and the parameter there."""
    if not stretch.is_new:
        return pieces[stretch.piece], stretch.end
    return _carried_on(stretch.points[-2], stretch.points[-1]), 0.5


def _near_start(stretch: _Stretch, pieces: Points) -> tuple[Points, float]:
    """Return the piece that a stretch begins with, and the parameter there."""
    if not stretch.is_new:
        return pieces[stretch.piece], stretch.start
    return _carried_on(stretch.points[1], stretch.points[0]), 0.5


def _carried_on(a: Points, b: Points) -> Points:
    """Return the straight piece from one point to a second and as far beyond."""
    found: Points = straight_pieces(np.array([a, 2 * b - a]))[0]
    return found


def _kept(stretch: _Stretch, pieces: Points) -> Points:
    """Return the part of its piece that a stretch is, its ends exactly where it joins others (1, 4, 2)."""
    whole: Points = pieces[stretch.piece]
    if stretch.is_whole:
        piece = whole.copy() if stretch.start < stretch.end else whole[::-1].copy()
    else:
        piece = part_of(whole, stretch.start, stretch.end)
    for end, handle, place in ((0, 1, stretch.points[0]), (3, 2, stretch.points[-1])):
        piece[handle] += place - piece[end]
        piece[end] = place
    kept: Points = piece[None]
    return kept


def _straightened(
    loops: list[Points], sides: CurveSides, rings: list[slice]
) -> tuple[list[Points], list[bool]]:
    """Return the loops, those that cross made of the polygons' sides; and which those are.

    Loops may touch, as those of many drawings do, where they do not overlap.
    """
    is_straight = [False] * len(loops)
    for _ in range(len(loops)):
        chosen = [k for k in _crossed(loops) if not is_straight[k]]
        if not chosen or not _overlap(loops):
            break
        loops = loops.copy()
        for k in chosen:
            ends = sides.ends[rings[k]]
            loops[k] = straight_pieces(np.concatenate([ends[:, 0], ends[-1:, 1]]))
            is_straight[k] = True
    return loops, is_straight


def _overlap(loops: list[Points]) -> bool:
    """Return whether loops hide or double any area: all they enclose would not be what they fill then."""
    rings = flat_rings(tuple(loops), CROSSED_WITHIN_MM)
    enclosed_mm2 = sum(_area(ring) for ring in rings)
    return abs(filled(rings, is_even_odd=True).area - enclosed_mm2) > OVERLAP_MM2


def _area(ring: Points) -> float:
    """Return the area in a ring, negative clockwise."""
    x, y = (ring - ring[0]).T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def _crossed(loops: list[Points]) -> list[int]:
    """Return which loops cross themselves or others."""
    if not loops:
        return []
    starts = np.cumsum([0, *(len(loop) for loop in loops)])
    crossed = crossing_pieces(np.concatenate(loops) * CROSSING_PX_PER_MM, starts.astype(np.int32))
    return [k for k, ends in enumerate(itertools.pairwise(starts)) if crossed[slice(*ends)].any()]
