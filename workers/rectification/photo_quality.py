"""How good a photo of a sheet is, in figures that can be compared between photos."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.linear_light import light_of_value
from workers.rectification.reduced import ReducedPhoto

_TILE_PX = 96
_TILES = 16
_PARTS = 8  # a tile is looked at in 8 x 8 parts
_SAMPLES = 256  # along the photo's longer side, for its light
_EDGE_STEEPNESS = 0.04  # of the contrast a pixel: slighter slopes are noise
_LEAST_CONTRAST = 0.35  # of a tile's paper


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoQuality:
    """Figures of one photo; what matters to the carved line is told in mm on the sheet."""

    edge_width_mm: float  # over which an ink edge goes from paper to ink
    edge_width_px: float
    smear_mm: float  # the same of the edges across the way in which they are widest: a phone that moved
    exposure: float  # sRGB value of the paper, 0..1, 95th percentile of the sheet
    blown_fraction: float  # of the sheet, where the light was more than the camera could hold
    px_per_mm: float


def photo_quality(
    pixels: NDArray[np.uint8], small: ReducedPhoto, corners_px: NDArray[np.float64], px_per_mm: float
) -> PhotoQuality:
    """Return the figures of a photo whose sheet is known.

    Args:
        pixels: (rows, columns, 3).
        small: The same, made small.
        corners_px: (4, 2), the sheet's corners.
        px_per_mm: Scale of the photo on the sheet.
    """
    width_px, smear_px = _edge_widths_px(_busiest_tiles(pixels, small, corners_px))
    left, top = (max(0, int(v)) for v in corners_px.min(axis=0))
    right, bottom = (int(v) for v in corners_px.max(axis=0))
    step = max(1, max(pixels.shape[:2]) // _SAMPLES)
    sheet = np.maximum.reduce(cv2.split(pixels[top:bottom:step, left:right:step].copy()))
    exposure = float(np.percentile(sheet, 95)) / 255.0 if sheet.size else 0.0
    blown = float((sheet >= 254).mean()) if sheet.size else 0.0
    return PhotoQuality(
        edge_width_mm=width_px / px_per_mm,
        edge_width_px=width_px,
        smear_mm=smear_px / px_per_mm,
        exposure=exposure,
        blown_fraction=blown,
        px_per_mm=px_per_mm,
    )


def _busiest_tiles(
    pixels: NDArray[np.uint8], small: ReducedPhoto, corners_px: NDArray[np.float64]
) -> NDArray[np.uint8]:
    """Return the green channel of the tiles inside the sheet that vary most, (n, side, side).

    Which these are the small photo tells as well, and its noise is evened out.
    """
    down, across = pixels.shape[0] // _TILE_PX, pixels.shape[1] // _TILE_PX
    if not down or not across:
        return np.empty((0, _TILE_PX, _TILE_PX), np.uint8)
    part = np.ceil(np.array([across, down]) * _TILE_PX / small.stretch).astype(np.int64)
    green = np.ascontiguousarray(small.pixels[: part[1], : part[0], 1])
    fitted = cv2.resize(green, (across * _PARTS, down * _PARTS), interpolation=cv2.INTER_LINEAR)
    blocks = np.asarray(fitted, np.float32).reshape(down, _PARTS, across, _PARTS)
    mean = blocks.mean(axis=(1, 3))
    spread = (blocks * blocks).mean(axis=(1, 3)) - mean * mean
    middle = corners_px.mean(axis=0)
    inner = (middle + 0.9 * (corners_px - middle)).astype(np.float32)
    tiles: list[NDArray[np.uint8]] = []
    for k in np.argsort(-spread, axis=None, kind="stable"):
        row, column = divmod(int(k), across)
        centre = ((column + 0.5) * _TILE_PX, (row + 0.5) * _TILE_PX)
        if spread[row, column] > 0 and cv2.pointPolygonTest(inner, centre, True) >= _TILE_PX * 0.7:
            top, left = row * _TILE_PX, column * _TILE_PX
            tiles.append(pixels[top : top + _TILE_PX, left : left + _TILE_PX, 1])
        if len(tiles) == _TILES:
            break
    return np.stack(tiles) if tiles else np.empty((0, _TILE_PX, _TILE_PX), np.uint8)


def _edge_widths_px(tiles: NDArray[np.uint8]) -> tuple[float, float]:
    """Return the contrast of the tiles over their steepest slopes, the median of those with contrast; else 0.

    For an edge blurred by a Gaussian of standard deviation s that is s times the root of 2 pi. The second
    figure is the widest of those of the edges that face each of four ways, where there are enough.
    """
    if not len(tiles):
        return 0.0, 0.0
    light = light_of_value().astype(np.float32)[tiles]
    dark, bright = np.percentile(light[:, ::2, ::2].reshape(len(tiles), -1), (2, 98), axis=1)
    one_below_another = light.reshape(-1, _TILE_PX)
    across = cv2.Scharr(one_below_another, cv2.CV_32F, 1, 0, scale=1 / 32)
    down = cv2.Scharr(one_below_another, cv2.CV_32F, 0, 1, scale=1 / 32)
    slopes = np.asarray(cv2.magnitude(across, down)).reshape(tiles.shape)[:, 1:-1, 1:-1]
    steepest = np.percentile(slopes.reshape(len(tiles), -1), 99, axis=1)
    has_contrast = bright - dark >= _LEAST_CONTRAST * bright
    widths = ((bright - dark) / np.maximum(steepest, 1e-6))[has_contrast]
    if not len(widths):
        return 0.0, 0.0
    turned = np.asarray(cv2.phase(across, down)).reshape(tiles.shape)[:, 1:-1, 1:-1]
    width_px = float(np.median(widths))
    way = np.round(turned[has_contrast] / (np.pi / 4)).astype(np.int8) % 4
    steepness = slopes[has_contrast] / (bright - dark)[has_contrast][:, None, None]
    return width_px, max(width_px, _widest(way, steepness))


def _widest(way: NDArray[np.int8], steepness: NDArray[np.float32]) -> float:
    """Return the width of the edges that face one of four ways, the widest of those with many edges."""
    is_edge = steepness > _EDGE_STEEPNESS
    counts = [int((is_edge & (way == k)).sum()) for k in range(4)]
    return max(
        1.0 / float(np.percentile(steepness[is_edge & (way == k)], 90))
        if counts[k] > 0.1 * sum(counts)
        else 0.0
        for k in range(4)
    )
