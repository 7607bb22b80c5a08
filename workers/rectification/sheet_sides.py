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

from workers.rectification.linear_light import light_of_value
from workers.rectification.reduced import ReducedPhoto

Array = NDArray[np.float64]

CURVE_DEGREE = 5
_PLACES = 128  # along a side when it is followed coarsely
_REACH_PX = 14  # to either side, in the reduced picture
_END_FRACTION = 0.012  # next to a corner the other side's edge disturbs
_FINE_PLACES = 320
_MOVE_COST = 0.01  # of following a side to the next tap; small against a clear edge
_POOR_FRACTION, _POOR_RESIDUAL = 0.8, 0.002  # samples kept, and their misses over the side's length
_SETTLED = 0.005  # of that distance: a curve that moves less has found its place
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
    pixels: NDArray[np.uint8], small: ReducedPhoto, corners_px: Array, outside: int | None = None
) -> list[Side]:
    """Return the top, right, bottom and left side of the sheet.

    A side that cannot be followed as the rim of something bright is tried as the rim of something
    dark, in the negative: coloured paper may be either, and its own shadow may make it both in turn.

    Args:
        pixels: (rows, columns, 3) the photo.
        small: The same, made small.
        corners_px: (4, 2) TL, TR, BR, BL, within about 2 % of the truth.
        outside: A side that is not in the picture; it is taken for straight, and nothing of it as seen.
    """
    smooth = cv2.GaussianBlur(small.pixels, (0, 0), 0.8).astype(np.float32) / 255.0
    sides = []
    for k in range(4):
        start, end = corners_px[k], corners_px[(k + 1) % 4]
        if k == outside:
            sides.append(_unseen(start, end))
            continue
        side = _measured(pixels, smooth, light_of_value(), (start, end), small.stretch)
        if side.sample_fraction < _POOR_FRACTION or side.residual_px > _POOR_RESIDUAL * side.length_px:
            negative = _measured(pixels, 1 - smooth, 1 - light_of_value(), (start, end), small.stretch)
            side = min(side, replace(negative, darker=True), key=_doubt)
        sides.append(side)
    return sides


def _measured(
    pixels: NDArray[np.uint8],
    smooth: NDArray[np.float32],
    light: Array,
    ends_px: tuple[Array, Array],
    stretch: Array,
) -> Side:
    """Return one side, followed in the small picture and then measured in the photo."""
    start, end = ends_px
    shrink = float(stretch.mean())
    coarse = _followed(smooth, start / stretch, end / stretch)
    return _refined(pixels, start, end, coarse * shrink, shrink, light)


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


def _profile_points(
    start: Array, end: Array, along_px: Array, off_px: Array, size_px: tuple[int, ...]
) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Return x and y of rows of taps across a side, (places, taps), and which rows lie in the picture."""
    along, inward, _ = _frame(start, end)
    points = start + along_px[:, None, None] * along + off_px[:, :, None] * inward
    x, y = points[..., 0], points[..., 1]
    inside = (x > 1) & (y > 1) & (x < size_px[1] - 1) & (y < size_px[0] - 1)
    return x, y, np.asarray(inside.all(axis=1), np.bool_)


@njit(cache=True, nogil=True)
def _light_at(pixels: NDArray[np.uint8], light: Array, x: Array, y: Array) -> Array:
    """Return the light at some points, (places, taps, 3), linear between the middles of pixels.

    Linear in light: between values, an edge would seem to lie nearer to its bright side.
    """
    found = np.empty((*x.shape, 3))
    rows, columns = pixels.shape[0], pixels.shape[1]
    for place in range(x.shape[0]):
        for tap in range(x.shape[1]):
            across = min(max(x[place, tap] - 0.5, 0.0), columns - 1.001)
            down = min(max(y[place, tap] - 0.5, 0.0), rows - 1.001)
            left, top = int(across), int(down)
            across -= left
            down -= top
            for channel in range(3):
                upper = light[pixels[top, left, channel]] * (1 - across)
                upper += light[pixels[top, left + 1, channel]] * across
                lower = light[pixels[top + 1, left, channel]] * (1 - across)
                lower += light[pixels[top + 1, left + 1, channel]] * across
                found[place, tap, channel] = upper * (1 - down) + lower * down
    return found


def _followed(smooth: NDArray[np.float32], start: Array, end: Array) -> Array:
    """Return the side's curve in the reduced picture: the smoothest path along which paper ends.

    Source: shortest path by dynamic programming (Bellman); a step of one tap between places is free,
    more is not allowed.
    """
    length = float(np.linalg.norm(end - start))
    along_px = np.linspace(_END_FRACTION, 1 - _END_FRACTION, _PLACES) * length
    taps = np.arange(-_REACH_PX - 1, _REACH_PX + 2, dtype=np.float64)
    x, y, inside = _profile_points(
        start, end, along_px, np.broadcast_to(taps, (_PLACES, len(taps))), smooth.shape
    )
    profile = np.asarray(
        cv2.remap(smooth, (x - 0.5).astype(np.float32), (y - 0.5).astype(np.float32), cv2.INTER_LINEAR),
        np.float32,
    )
    rise = (profile[:, 2:] - profile[:, :-2]).max(axis=2)
    gain = np.minimum(np.maximum(rise, 0.0), 0.15) * inside[:, None]
    gain = gain - 0.002 * np.abs(taps[1:-1])
    path = _best_path(gain.astype(np.float64))
    off_px = taps[1:-1][path]
    weight = gain[np.arange(_PLACES), path].clip(0.0) + 1e-4
    return _robust_curve(along_px / length, off_px, weight, stray_px=1.5)[0]


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


def _robust_curve(
    share: Array, off_px: Array, weight: Array, stray_px: float
) -> tuple[Array, NDArray[np.bool_]]:
    """Return Legendre coefficients of the curve through most samples, and which samples it keeps.

    It begins as a parabola by least absolute distances, which a covered corner cannot bend, and
    is set free degree by degree while strays lose their say.

    Source: iteratively reweighted least squares; Tukey's biweight.
    """
    place = 2 * share - 1
    trust = np.ones_like(share)
    coefficients = np.zeros(CURVE_DEGREE + 1)
    cutoff = np.inf
    for degree, rounds in ((1, 6), (2, 10), (3, 6), (CURVE_DEGREE, 10)):
        basis = np.polynomial.legendre.legvander(place, degree)
        ridge = np.diag(1e-3 * np.arange(degree + 1) ** 2.0) * max(weight.mean(), 1e-9)
        for _ in range(rounds):
            scaled = basis * (weight * trust)[:, None]
            last = coefficients[: degree + 1].copy()
            coefficients[: degree + 1] = np.linalg.solve(scaled.T @ basis + ridge, scaled.T @ off_px)
            distance = np.abs(off_px - basis @ coefficients[: degree + 1])
            if degree <= 2:
                trust = 1.0 / (distance + 0.3 * stray_px)
                if np.abs(coefficients[: degree + 1] - last).max() < _SETTLED * stray_px:
                    break
                continue
            spread = 1.4826 * float(np.median(distance))
            cutoff = max(4.7 * min(spread, 2 * stray_px), stray_px * 1.5) * (1.6 if degree == 3 else 1.0)
            trust = np.clip(1 - (distance / cutoff) ** 2, 0.0, 1.0) ** 2 + 1e-6
            if np.abs(coefficients[: degree + 1] - last).max() < _SETTLED * stray_px:
                break
    return coefficients, distance < 0.7 * cutoff


def _refined(
    pixels: NDArray[np.uint8], start: Array, end: Array, coarse: Array, shrink: float, light: Array
) -> Side:
    """Return the side measured in the full picture along the curve that was found in the reduced one."""
    along, inward, length = _frame(start, end)
    share = np.linspace(_END_FRACTION, 1 - _END_FRACTION, _FINE_PLACES)
    expected = np.polynomial.legendre.legval(2 * share - 1, coarse)
    reach = int(np.ceil(3 * shrink + 3))
    taps = np.arange(-reach, reach + 1, dtype=np.float64)
    x, y, inside = _profile_points(start, end, share * length, expected[:, None] + taps, pixels.shape)
    off_px, sound = _half_way(_light_at(pixels, light, x, y), taps)
    usable = inside & sound
    kept = np.zeros(0, np.int64)
    coefficients, residual = coarse, float("inf")
    if usable.sum() > 4 * CURVE_DEGREE:
        places = np.nonzero(usable)[0]
        measured = expected[places] + off_px[places]
        coefficients, close = _robust_curve(share[places], measured, np.ones(len(places)), _STRAY_PX)
        kept = places[close]
        error = (
            expected[kept] + off_px[kept] - np.polynomial.legendre.legval(2 * share[kept] - 1, coefficients)
        )
        residual = float(np.sqrt(np.mean(error**2))) if len(kept) else float("inf")
    seen = np.stack([share[kept] * length, expected[kept] + off_px[kept]], axis=1)
    fraction = len(kept) / max(int(inside.sum()), 1)
    return Side(start, along, inward, length, coefficients, seen, residual, fraction)


def _half_way(light: Array, taps: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Return where along each profile the light is half way from table to paper, and where that is clear.

    Args:
        light: (places, taps, 3), paper at the far end.
        taps: Position of each tap, px.
    """
    flat = light.reshape(len(light), -1)
    flat = np.asarray(cv2.blur(flat, (1, 5), borderType=cv2.BORDER_REPLICATE), np.float64)
    light = flat.reshape(light.shape)
    channel = np.abs(light[:, -1] - light[:, 0]).mean(axis=0).argmax()
    chosen = light[:, :, channel]
    steep = np.zeros_like(chosen)
    steep[:, 1:-1] = chosen[:, 2:] - chosen[:, :-2]
    steep[:, 1:-1] = (steep[:, :-2] + 2 * steep[:, 1:-1] + steep[:, 2:]) / 4
    prior = np.exp(-0.5 * (taps / (0.5 * taps[-1])) ** 2)
    peak = (steep * prior).argmax(axis=1).clip(4, len(taps) - 5)
    rows = np.arange(len(chosen))
    paper = np.maximum(chosen[rows, peak + 3], chosen[rows, peak + 4])
    table = np.minimum(chosen[rows, peak - 3], chosen[rows, peak - 4])
    level = (paper + table) / 2
    position = np.full(len(chosen), np.nan)
    nearest = np.full(len(chosen), np.inf)
    for k in range(-4, 4):
        low, high = chosen[rows, peak + k], chosen[rows, peak + k + 1]
        crosses = (low <= level) & (high > level) & (abs(k + 0.5) < nearest)
        share = (level - low) / np.maximum(high - low, 1e-9)
        position[crosses] = (taps[peak] + k + share)[crosses]
        nearest[crosses] = abs(k + 0.5)
    clear = np.isfinite(position) & (paper - table > 0.08 * np.maximum(paper, 0.02))
    return np.nan_to_num(position), clear
