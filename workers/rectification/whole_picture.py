"""Pictures that are the sheet from rim to rim: scans, and pictures said to have no sheet."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from workers.rectification.linear_light import FULL_LIGHT, grey_light, light_of_value
from workers.rectification.reduced import ReducedPhoto
from workers.values.image import ColourImage
from workers.values.sheet import SheetSize

_RIM_FRACTION = 0.006
_EVEN = 0.035  # spread of a scan's rim, sRGB values; a table's grain spreads more
_ASPECT_TOLERANCE = 0.012
_LEAST_SIDE_PX = 16
_BLANK_CONTRAST = 0.10  # of the brightest light; paper's own grain and shade stay below


def is_scan(picture: ColourImage, small: ReducedPhoto, size: SheetSize) -> bool:
    """Return whether the picture's frame is the sheet's own edge.

    Its rim must be bare bright paper all round, and its shape, or the size its own
    resolution gives it, that of the sheet.
    """
    return scan_scale_mm_per_px(picture, size) is not None and _rim_is_paper(small.pixels)


def scan_scale_mm_per_px(picture: ColourImage, size: SheetSize) -> float | None:
    """Return the scale of a picture whose frame is the sheet, None if their shapes differ."""
    rows, columns = picture.pixels.shape[:2]
    for width_mm, height_mm in ((size.width_mm, size.height_mm), (size.height_mm, size.width_mm)):
        across, down = width_mm / columns, height_mm / rows
        if abs(across / down - 1) > _ASPECT_TOLERANCE:
            continue
        own = picture.mm_per_px
        if own is not None and abs(own / across - 1) < 0.01:
            return own
        return math.sqrt(across * down)
    return None


def _rim_is_paper(pixels: NDArray[np.uint8]) -> bool:
    """Return whether the outermost strip is as bright as the brightest of the picture, and even."""
    small = pixels.astype(np.float32) / 255.0
    strip = max(2, round(_RIM_FRACTION * max(small.shape[:2])))
    rim = np.concatenate(
        [small[:strip].reshape(-1, 3), small[-strip:].reshape(-1, 3),
         small[:, :strip].reshape(-1, 3), small[:, -strip:].reshape(-1, 3)]
    )  # fmt: skip
    brightest = np.percentile(small[::3, ::3], 90, axis=(0, 1))
    low, high = np.percentile(rim, (3, 97), axis=0)
    return bool((high - low).max() < _EVEN and (brightest - low).max() < 2 * _EVEN)


def is_mixed_in_values(pixels: NDArray[np.uint8]) -> bool:
    """Return whether the edges of a clean picture were mixed of values rather than of light.

    An edge that falls anywhere on a pixel leaves every share of ink equally often, so in the space
    in which it was mixed the half-tones lie even about the middle between ink and paper.
    """
    step = max(1, int((pixels.shape[0] * pixels.shape[1] / 6_000_000) ** 0.5))
    values = pixels[::step, ::step, 1].ravel()
    counts = np.bincount(values, minlength=256).astype(np.float64)
    reached = np.cumsum(counts) / counts.sum()
    ink, paper = int(np.searchsorted(reached, 0.002)), int(np.searchsorted(reached, 0.9))
    if paper - ink < 32:
        return False
    offs = []
    for curve in (np.arange(256) / 255.0, light_of_value()):
        share = (curve - curve[ink]) / (curve[paper] - curve[ink])
        between = counts * ((share > 0.12) & (share < 0.88))
        if between.sum() < 200:
            return False
        order = np.cumsum(between) / between.sum()
        offs.append(abs(float(share[np.searchsorted(order, 0.5)]) - 0.5))
    return offs[0] < 0.6 * offs[1]


def blankness(pixels: NDArray[np.uint8]) -> str | None:
    """Return in words that there is nothing to be told in a picture, None if there is."""
    if min(pixels.shape[:2]) < _LEAST_SIDE_PX:
        return f"the picture is only {pixels.shape[1]} x {pixels.shape[0]} pixels"
    shares = np.cumsum(np.bincount(grey_light(pixels).ravel() >> 4)) / (pixels.shape[0] * pixels.shape[1])
    dark, bright = np.searchsorted(shares, (0.0005, 0.9995)) * 16 / FULL_LIGHT
    if bright < 0.01:
        return "the picture is black all over"
    if bright - dark < _BLANK_CONTRAST * bright:
        return "the picture has one tone all over"
    return None
