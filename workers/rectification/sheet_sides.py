"""The four sides of a sheet to a fraction of a pixel, each as a smooth curve.

A side is followed at hundreds of places; at each the light is half way between paper
and table at one point, and a smooth curve through these that pays no heed to strays
leaves out a thumb, a coin or a pen across the edge. Sides of a curled sheet are bowed,
so nothing here takes them for straight.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.rectification.lens import bowed
from workers.rectification.linear_light import light_of_value
from workers.rectification.paper_evidence import without_thin_lines
from workers.rectification.reduced import ReducedPhoto
from workers.rectification.robust_curve import CURVE_DEGREE, robust_curve
from workers.rectification.side_profiles import half_way, profiles

Array = NDArray[np.float64]

_PLACES = 128  # along a side when it is followed coarsely
_REACH_PX = 14  # to either side, in the reduced picture
_END_FRACTION = 0.012  # next to a corner the other side's edge disturbs
_FINE_PLACES = 320
_MOVE_COST = 0.01  # of following a side to the next tap; small against a clear edge
_STRAY_COST = 0.006  # of a pixel off the rough line: what lies beside it, as a drawn frame, is another edge
_CLEAR_RISE = 0.1  # of a value: a steeper edge is no more the sheet's
_POOR_FRACTION, _POOR_RESIDUAL = 0.8, 0.002  # samples kept, and their misses over the side's length
_WORTHS = (1.0, 0.3)  # of an edge that is one without thin lines, and of any
_EVEN = np.arange(256) / 255.0  # values as they are
_STRAY_PX = 0.4  # least distance from the curve at which a sample is a stray


@dataclass(frozen=True, slots=True, eq=False)
class Side:
    """One side in its own frame: along the chord between its rough corners, and off it to the inside."""

    start_px: Array  # (2,) rough corner
    along: Array  # (2,) unit
    inward: Array  # (2,) unit
    length_px: float
    coefficients: Array  # Legendre, over along/length mapped to -1..1; gives pixels off the chord
    seen: Array  # (n, 2) the samples that the curve keeps: along, off
    residual_px: float  # root mean square of these from the curve
    sample_fraction: float  # kept samples of all that lie in the picture
    darker: bool = False  # the sheet is darker here than what it lies on

    def off_px(self, along_px: Array) -> Array:
        """Return how far inside the chord the side runs at some places along it."""
        return np.asarray(
            np.polynomial.legendre.legval(2 * along_px / self.length_px - 1, self.coefficients), np.float64
        )

    def points_px(self, along_px: Array) -> Array:
        """Return the side's points in the picture at some places along its chord."""
        return np.asarray(
            self.start_px + along_px[:, None] * self.along + self.off_px(along_px)[:, None] * self.inward,
            np.float64,
        )

    @property
    def bow_px(self) -> float:
        """How far the side departs from the straight line between its own ends."""
        along = np.linspace(0, self.length_px, 33)
        off = self.off_px(along)
        straight = off[0] + (off[-1] - off[0]) * along / self.length_px
        return float(np.abs(off - straight).max())


def measured_sides(
    pixels: NDArray[np.uint8],
    small: ReducedPhoto,
    corners_px: Array,
    outside: tuple[int, ...] = (),
    bow: float = 0.0,
) -> list[Side]:
    """Return the top, right, bottom and left side of the sheet.

    A side that cannot be followed as the rim of something bright is tried as the rim of something
    dark, in the negative: coloured paper may be either, and its own shadow may make it both in turn.

    Args:
        pixels: (rows, columns, 3) the photo.
        small: The same, made small, as a straight lens would have taken it.
        corners_px: (4, 2) TL, TR, BR, BL, within about 2 % of the truth, by a straight lens.
        outside: Sides that are not in the picture; they are taken for straight, and nothing of them as seen.
        bow: Of the lens, roughly, as for ``lens.bowed``.
    """
    smooth = np.asarray(cv2.GaussianBlur(small.pixels, (0, 0), 0.8), np.uint8)
    views = (without_thin_lines(smooth), smooth)
    light = light_of_value()
    sides = []
    for k in range(4):
        start, end = corners_px[k], corners_px[(k + 1) % 4]
        if k in outside:
            sides.append(_unseen(start, end))
            continue
        side = _measured(pixels, views, _EVEN, light, (start, end), small.stretch, bow)
        if side.sample_fraction < _POOR_FRACTION or side.residual_px > _POOR_RESIDUAL * side.length_px:
            negative = _measured(pixels, views, 1 - _EVEN, 1 - light, (start, end), small.stretch, bow)
            side = min(side, replace(negative, darker=True), key=_doubt)
        sides.append(side)
    return sides


def _measured(
    pixels: NDArray[np.uint8],
    views: tuple[NDArray[np.uint8], NDArray[np.uint8]],
    values: Array,
    light: Array,
    ends_px: tuple[Array, Array],
    stretch: Array,
    bow: float,
) -> Side:
    """Return one side, followed in the small picture and then measured in the photo."""
    start, end = ends_px
    shrink = float(stretch.mean())
    coarse = _followed(views, values, start / stretch, end / stretch) * shrink
    if bow:
        start, end, coarse = _through_lens(start, end, coarse, bow, (pixels.shape[1], pixels.shape[0]))
    return _refined(pixels, light, start, end, coarse, shrink)


def _through_lens(
    start: Array, end: Array, coarse: Array, bow: float, frame_px: tuple[int, int]
) -> tuple[Array, Array, Array]:
    """Return the ends of a side and its curve between them as the lens shows them."""
    share = np.linspace(0.0, 1.0, _PLACES)
    off = np.polynomial.legendre.legval(2 * share - 1, coarse)
    along, inward, length = _frame(start, end)
    points = start + (share * length)[:, None] * along + off[:, None] * inward
    start, end = bowed(np.stack([start, end]), bow, frame_px)
    along, inward, length = _frame(start, end)
    own = bowed(points, bow, frame_px) - start
    curve = np.polynomial.legendre.legfit(2 * (own @ along) / length - 1, own @ inward, CURVE_DEGREE)
    return start, end, np.asarray(curve, np.float64)


def _doubt(side: Side) -> float:
    """Return how little a measured side is worth, 0 the best."""
    return 1.0 - side.sample_fraction / (1.0 + side.residual_px)


def _unseen(start: Array, end: Array) -> Side:
    """Return the straight side between two corners, no sample of which was measured."""
    return Side(start, *_frame(start, end), np.zeros(CURVE_DEGREE + 1), np.zeros((0, 2)), 0.0, 1.0)


def _frame(start: Array, end: Array) -> tuple[Array, Array, float]:
    length = float(np.linalg.norm(end - start))
    along = (end - start) / length
    return along, np.array([-along[1], along[0]]), length


def _followed(
    views: tuple[NDArray[np.uint8], NDArray[np.uint8]], values: Array, start: Array, end: Array
) -> Array:
    """Return the side's curve in the reduced picture: the smoothest path along which paper ends.

    What is an edge without thin lines counts most, so that no line ruled near the side is taken for it;
    the shadow between two white sheets is a thin line itself, and counts where there is nothing else.

    Source: shortest path by dynamic programming (Bellman); a step of one tap between places is free,
    more is not allowed.
    """
    share = np.linspace(_END_FRACTION, 1 - _END_FRACTION, _PLACES)
    taps = np.arange(-_REACH_PX - 1, _REACH_PX + 2, dtype=np.float64)
    along_px = share * float(np.linalg.norm(end - start))
    gain = np.zeros((_PLACES, len(taps) - 2)) - _STRAY_COST * np.abs(taps[1:-1])
    for view, worth in zip(views, _WORTHS, strict=True):
        profile, inside = profiles(view, values, np.stack([start, end]), along_px, np.zeros(_PLACES), taps)
        rise = (profile[:, 2:] - profile[:, :-2]).max(axis=2)
        gain += worth * np.minimum(np.maximum(rise, 0.0), _CLEAR_RISE) * inside[:, None]
    path = _best_path(gain)
    weight = gain[np.arange(_PLACES), path].clip(0.0) + 1e-4
    return robust_curve(share, taps[1:-1][path], weight, stray_px=1.5)[0]


@njit(cache=True, nogil=True)
def _best_path(gain: Array) -> NDArray[np.int64]:
    """Return for each row the column of the path with the greatest sum, moving one column a row at most."""
    rows, columns = gain.shape
    total, following = gain[0].copy(), np.empty(columns)
    came_from = np.zeros((rows, columns), np.int64)
    for row in range(1, rows):
        for column in range(columns):
            best, at = total[column], column
            if column > 0 and total[column - 1] - _MOVE_COST > best:
                best, at = total[column - 1] - _MOVE_COST, column - 1
            if column < columns - 1 and total[column + 1] - _MOVE_COST > best:
                best, at = total[column + 1] - _MOVE_COST, column + 1
            following[column] = best + gain[row, column]
            came_from[row, column] = at
        total, following = following, total
    path = np.empty(rows, np.int64)
    path[rows - 1] = total.argmax()
    for row in range(rows - 1, 0, -1):
        path[row - 1] = came_from[row, path[row]]
    return path


def _refined(
    pixels: NDArray[np.uint8], light_of: Array, start: Array, end: Array, coarse: Array, shrink: float
) -> Side:
    """Return the side measured in the full picture along the curve that was found in the reduced one."""
    along, inward, length = _frame(start, end)
    share = np.linspace(_END_FRACTION, 1 - _END_FRACTION, _FINE_PLACES)
    expected = np.asarray(np.polynomial.legendre.legval(2 * share - 1, coarse), np.float64)
    reach = int(np.ceil(3 * shrink + 3))
    taps = np.arange(-reach, reach + 1, dtype=np.float64)
    light, inside = profiles(pixels, light_of, np.stack([start, end]), share * length, expected, taps)
    off_px, sound = half_way(light, taps)
    usable = inside & sound
    kept = np.zeros(0, np.int64)
    coefficients, residual = coarse, float("inf")
    if usable.sum() > 4 * CURVE_DEGREE:
        places = np.nonzero(usable)[0]
        measured = expected[places] + off_px[places]
        coefficients, close = robust_curve(share[places], measured, np.ones(len(places)), _STRAY_PX)
        kept = places[close]
        error = (
            expected[kept] + off_px[kept] - np.polynomial.legendre.legval(2 * share[kept] - 1, coefficients)
        )
        residual = float(np.sqrt(np.mean(error**2))) if len(kept) else float("inf")
    seen = np.stack([share[kept] * length, expected[kept] + off_px[kept]], axis=1)
    fraction = len(kept) / max(int(inside.sum()), 1)
    return Side(start, along, inward, length, coefficients, seen, residual, fraction)
