"""The sheet laid square: one pass from the photo's light to a raster of the sheet."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.rectification.beyond_picture import left_bare
from workers.rectification.perspective import homography
from workers.rectification.sheet_surface import Surface, corners_mm

MOST_PX_PER_MM = 12.0
MOST_PIXELS = 40_000_000
_LEAST_PX_PER_MM = 8.0  # where the photo has them: an eighth of a mm, and outlines lie between pixels
_STROKE_PX = 8.0
_FINEST_PX_PER_MM, _FINE_PIXELS = 20.0, 16_000_000  # finer than usual only where the sheet is small
_EDGE_PX = 2.5  # the width of an edge blurred with a deviation of one pixel
_RIM_PX = 8  # round the sheet's edge, for a sheet bowed between the places looked at
_GRID_MM = 2.0  # the photo's place is linear between such points to about 0.01 px


def photo_scale(surface: Surface) -> float:
    """Return the photo's own pixels per mm of the sheet, where they are most (but for the last tenth)."""
    across, down = np.meshgrid(np.linspace(0, surface.width_mm, 9), np.linspace(0, surface.height_mm, 9))
    places = np.column_stack([across.ravel(), down.ravel()])
    scales = [
        np.linalg.norm(surface.seen_px(places + step) - surface.seen_px(places - step), axis=1) / 2.0
        for step in (np.array([1.0, 0.0]), np.array([0.0, 1.0]))
    ]
    return float(np.percentile(np.maximum(*scales), 90))


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkingScale:
    """How fine the working raster is, and why."""

    px_per_mm: float
    photo_px_per_mm: float
    finest_stroke_mm: float  # 0: not known
    reason: str


def working_scale(surface: Surface, edge_width_px: float = 0.0, finest_mm: float = 0.0) -> WorkingScale:
    """Return the pixels per mm at which the sheet loses nothing of the drawing and gains no empty ones.

    The finest stroke is to be eight pixels wide: 1 mm markers are read at 8 px/mm, fineliners at up to 20.
    It is never finer than the photo, or, where that is blurred, than its blur: a blur with a deviation of one
    pixel keeps under 1 % of what is finer than a raster can hold (a Gaussian's transform, exp(-pi^2 / 2)).
    And it is within the memory, and a whole number of pixels to the metre, as PNG states it.

    Args:
        surface: Where the sheet's points are seen.
        edge_width_px: Over which the photo's edges go from paper to ink; 0 if that is not known.
        finest_mm: Width of the finest stroke; 0 if that is not known.
    """
    own = photo_scale(surface)
    blurred = own * _EDGE_PX / max(edge_width_px, _EDGE_PX)
    stroke = (
        min(max(_STROKE_PX / finest_mm, _LEAST_PX_PER_MM), _FINEST_PX_PER_MM) if finest_mm else MOST_PX_PER_MM
    )
    area_mm2 = surface.width_mm * surface.height_mm
    fitting = math.sqrt(MOST_PIXELS / area_mm2)
    if stroke > MOST_PX_PER_MM:
        fitting = min(fitting, max(math.sqrt(_FINE_PIXELS / area_mm2), MOST_PX_PER_MM))
    limits = {
        "as fine as the photo is": own,
        "as fine as the photo's blur leaves it": max(blurred, min(own, _LEAST_PX_PER_MM)),
        _of_stroke(finest_mm): stroke,
        "as fine as the memory allows": fitting,
    }
    reason = min(limits, key=lambda name: limits[name])
    return WorkingScale(
        px_per_mm=math.floor(1000.0 * limits[reason]) / 1000.0,
        photo_px_per_mm=own,
        finest_stroke_mm=finest_mm,
        reason=reason,
    )


def _of_stroke(finest_mm: float) -> str:
    """Return in words what the finest stroke asks for."""
    if not finest_mm:
        return "as fine as is of use where no stroke could be measured"
    bounds = f"between {_LEAST_PX_PER_MM:.0f} and {_FINEST_PX_PER_MM:.0f} to the mm"
    return f"{_STROKE_PX:.0f} pixels over the finest stroke, {finest_mm:.2f} mm, {bounds}"


def part_with(pixels: NDArray[np.uint8], surface: Surface) -> tuple[NDArray[np.uint8], tuple[int, int]]:
    """Return the part of a photo that shows the sheet, a little more, and column and row where it begins.

    Args:
        pixels: (rows, columns, 3) of the photo.
        surface: Where the sheet's points are seen.
    """
    share = np.linspace(0.0, 1.0, 33)
    rim = np.concatenate([np.column_stack(pair) for edge in (np.zeros(33), np.ones(33))
                          for pair in ((share, edge), (edge, share))])  # fmt: skip
    seen = surface.seen_px(rim * (surface.width_mm, surface.height_mm))
    left, top = (max(0, int(side) - _RIM_PX) for side in seen.min(axis=0))
    right, bottom = (max(0, int(side) + _RIM_PX) for side in seen.max(axis=0))
    return pixels[top:bottom, left:right], (left, top)


def laid_square(
    light: NDArray[np.uint16], surface: Surface, px_per_mm: float, first_px: tuple[int, int] = (0, 0)
) -> NDArray[np.uint16]:
    """Return the light of the sheet on an even raster, row 0 at its top edge.

    Args:
        light: (rows, columns) linear light of the photo, or of a part of it.
        surface: Where the sheet's points are seen.
        px_per_mm: Scale of the result; its pixel (0, 0) covers the sheet's top left corner.
        first_px: Column and row of the photo at which the part begins.
    """
    columns, rows = (
        max(2, math.ceil(side * px_per_mm - 0.5)) for side in (surface.width_mm, surface.height_mm)
    )
    counts = [math.ceil(side / _GRID_MM) + 1 for side in (surface.width_mm, surface.height_mm)]
    knots = [
        np.linspace(0, side, count)
        for side, count in zip((surface.width_mm, surface.height_mm), counts, strict=True)
    ]
    across, down = np.meshgrid(*knots)
    seen = surface.seen_px(np.column_stack([across.ravel(), down.ravel()]))
    seen = seen.reshape(counts[1], counts[0], 2) - first_px
    shrink = _native_scale(seen, counts, surface) / px_per_mm
    if shrink > 1.5:  # a far finer photo: take its light together first, not every third pixel
        smaller = cv2.resize(light, None, fx=1 / shrink, fy=1 / shrink, interpolation=cv2.INTER_AREA)
        seen = seen * (np.array(smaller.shape[1::-1]) / np.array(light.shape[1::-1]))
        light = np.asarray(smaller, np.uint16)
    knots_per_px = [
        (count - 1) / side / px_per_mm
        for count, side in zip(counts, (surface.width_mm, surface.height_mm), strict=True)
    ]
    frame_px = (light.shape[1], light.shape[0])
    placed = seen.astype(np.float32)
    if surface.is_flat:
        square = _laid_flat(light, seen[[0, 0, -1, -1], [0, -1, -1, 0]], surface, px_per_mm, (columns, rows))
    else:
        square = _sampled(light, placed, rows, columns, knots_per_px[1], knots_per_px[0])
    return left_bare(np.asarray(square, np.uint16), placed, frame_px)


def _laid_flat(
    light: NDArray[np.uint16],
    corners_px: NDArray[np.float64],
    surface: Surface,
    px_per_mm: float,
    size_px: tuple[int, int],
) -> NDArray[np.uint16]:
    """Return the light of a flat sheet by its homography: places to 1/32 px, in a third of the time."""
    corners = corners_mm(surface.width_mm, surface.height_mm) * px_per_mm
    matrix = homography(corners - 0.5, corners_px - 0.5)  # OpenCV counts from the middle of the first pixel
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    laid = cv2.warpPerspective(light, matrix, size_px, flags=flags, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(laid, np.uint16)


def _native_scale(seen: NDArray[np.float64], counts: list[int], surface: Surface) -> float:
    """Return the photo's pixels per mm where they are fewest (but for the last tenth)."""
    down = np.linalg.norm(np.diff(seen, axis=0), axis=2) * ((counts[1] - 1) / surface.height_mm)
    across = np.linalg.norm(np.diff(seen, axis=1), axis=2) * ((counts[0] - 1) / surface.width_mm)
    return float(min(np.percentile(down, 10), np.percentile(across, 10)))


@njit(cache=True, nogil=True)
def _sampled(
    light: NDArray[np.uint16],
    seen: NDArray[np.float32],
    rows: int,
    columns: int,
    knots_a_row: float,
    knots_a_column: float,
) -> NDArray[np.uint16]:
    """Return the light, linear between pixels, at places linear between the knots of a grid."""
    square = np.empty((rows, columns), np.uint16)
    flat, width, one = light.ravel(), np.uintp(light.shape[1]), np.uintp(1)
    half, zero = np.float32(0.5), np.float32(0.0)
    last_row, last_column = np.float32(light.shape[0] - 1.001), np.float32(light.shape[1] - 1.001)
    knots, shares = np.empty(columns, np.int32), np.empty(columns, np.float32)
    for column in range(columns):
        place = (column + 0.5) * knots_a_column
        knots[column] = min(int(place), seen.shape[1] - 2)
        shares[column] = np.float32(place - knots[column])
    line_x, line_y = np.empty(seen.shape[1], np.float32), np.empty(seen.shape[1], np.float32)
    xs, ys = np.empty(columns, np.float32), np.empty(columns, np.float32)
    for row in range(rows):
        place = (row + 0.5) * knots_a_row
        knot = min(int(place), seen.shape[0] - 2)
        share = np.float32(place - knot)
        for k in range(seen.shape[1]):
            line_x[k] = seen[knot, k, 0] + (seen[knot + 1, k, 0] - seen[knot, k, 0]) * share - half
            line_y[k] = seen[knot, k, 1] + (seen[knot + 1, k, 1] - seen[knot, k, 1]) * share - half
        for column in range(columns):
            k = knots[column]
            x = line_x[k] + (line_x[k + 1] - line_x[k]) * shares[column]
            y = line_y[k] + (line_y[k + 1] - line_y[k]) * shares[column]
            xs[column], ys[column] = min(max(x, zero), last_column), min(max(y, zero), last_row)
        for column in range(columns):
            left, top = np.uint32(xs[column]), np.uint32(ys[column])  # unsigned: no wrap to be looked for
            right_share, low_share = xs[column] - np.float32(left), ys[column] - np.float32(top)
            at = np.uintp(top) * width + np.uintp(left)
            below = at + width
            a, b = np.float32(flat[at]), np.float32(flat[at + one])
            c, d = np.float32(flat[below]), np.float32(flat[below + one])
            upper, lower = a + (b - a) * right_share, c + (d - c) * right_share
            square[row, column] = np.uint16(upper + (lower - upper) * low_share + half)
    return square
