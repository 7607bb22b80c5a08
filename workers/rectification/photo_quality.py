"""How good a photo of a sheet is, in figures that can be compared between photos."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.linear_light import light_of_value

_TILE_PX = 96
_TILES = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoQuality:
    """Figures of one photo; what matters to the carved line is told in mm on the sheet."""

    edge_width_mm: float  # over which an ink edge goes from paper to ink
    edge_width_px: float
    exposure: float  # sRGB value of the paper, 0..1, 95th percentile of the sheet
    blown_fraction: float  # of the sheet, where the light was more than the camera could hold
    px_per_mm: float


def photo_quality(
    pixels: NDArray[np.uint8], corners_px: NDArray[np.float64], px_per_mm: float
) -> PhotoQuality:
    """Return the figures of a photo whose sheet is known.

    Args:
        pixels: (rows, columns, 3).
        corners_px: (4, 2), the sheet's corners.
        px_per_mm: Scale of the photo on the sheet.
    """
    tiles = _busiest_tiles(pixels, corners_px)
    widths = [width for tile in tiles if (width := _edge_width_px(tile)) is not None]
    width_px = float(np.median(widths)) if widths else 0.0
    low, high = corners_px.min(axis=0), corners_px.max(axis=0)
    left, top = (max(0, int(v)) for v in low)
    right, bottom = (int(v) for v in high)
    sheet = pixels[top:bottom:8, left:right:8].max(axis=2)
    exposure = float(np.percentile(sheet, 95)) / 255.0 if sheet.size else 0.0
    blown = float((sheet >= 254).mean()) if sheet.size else 0.0
    return PhotoQuality(
        edge_width_mm=width_px / px_per_mm,
        edge_width_px=width_px,
        exposure=exposure,
        blown_fraction=blown,
        px_per_mm=px_per_mm,
    )


def _busiest_tiles(pixels: NDArray[np.uint8], corners_px: NDArray[np.float64]) -> list[NDArray[np.uint8]]:
    """Return the green channel of the tiles inside the sheet that vary most."""
    middle = corners_px.mean(axis=0)
    inner = (middle + 0.9 * (corners_px - middle)).astype(np.float32)
    down, across = pixels.shape[0] // _TILE_PX, pixels.shape[1] // _TILE_PX
    green = pixels[: down * _TILE_PX, : across * _TILE_PX, 1]
    blocks = green[::4, ::4].reshape(down, _TILE_PX // 4, across, _TILE_PX // 4).astype(np.float32)
    spread = blocks.std(axis=(1, 3))
    places: list[tuple[int, int]] = []
    for k in np.argsort(spread, axis=None, kind="stable")[::-1]:
        row, column = divmod(int(k), across)
        centre = ((column + 0.5) * _TILE_PX, (row + 0.5) * _TILE_PX)
        if spread[row, column] > 0 and cv2.pointPolygonTest(inner, centre, True) >= _TILE_PX * 0.7:
            places.append((row, column))
        if len(places) == _TILES:
            break
    return [
        green[row * _TILE_PX : (row + 1) * _TILE_PX, column * _TILE_PX : (column + 1) * _TILE_PX]
        for row, column in places
    ]


def _edge_width_px(tile: NDArray[np.uint8]) -> float | None:
    """Return the contrast of a tile over its steepest slope, None where there is no contrast.

    For an edge blurred by a Gaussian of standard deviation s that is s times the root of 2 pi.
    """
    light = light_of_value().astype(np.float32)[tile]
    dark, bright = np.percentile(light[::2, ::2], (2, 98))
    if bright - dark < 0.35 * bright:
        return None
    across, down = (
        cv2.Scharr(light, cv2.CV_32F, 1, 0, scale=1 / 32),
        cv2.Scharr(light, cv2.CV_32F, 0, 1, scale=1 / 32),
    )
    steepest = float(np.percentile(np.hypot(across, down), 99))
    return float((bright - dark) / max(steepest, 1e-6))
