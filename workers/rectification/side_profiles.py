"""What the picture shows across a side of the sheet: rows of taps from the table to the paper."""

from __future__ import annotations

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

_LEAST_STEP = 0.08  # of the paper's light: less is no edge


@njit(cache=True, nogil=True)
def profiles(
    pixels: NDArray[np.uint8], light: Array, ends_px: Array, along_px: Array, off_px: Array, taps: Array
) -> tuple[Array, Mask]:
    """Return the light along rows of taps across a line, (places, taps, 3), and which lie in the picture.

    Linear in light between the middles of pixels: between values, an edge would seem to lie nearer to its
    bright side.

    Args:
        pixels: (rows, columns, 3) of the picture.
        light: (256,) of each value.
        ends_px: (2, 2) start and end of the line, the sheet to its right as seen (y down).
        along_px: (places,) how far along the line each row of taps lies.
        off_px: (places,) how far inside of the line its middle lies.
        taps: (taps,) of each tap, from there to the inside.
    """
    rows, columns = pixels.shape[0], pixels.shape[1]
    found = np.empty((len(along_px), len(taps), 3))
    inside = np.ones(len(along_px), np.bool_)
    length = np.hypot(ends_px[1, 0] - ends_px[0, 0], ends_px[1, 1] - ends_px[0, 1])
    along_x, along_y = (ends_px[1, 0] - ends_px[0, 0]) / length, (ends_px[1, 1] - ends_px[0, 1]) / length
    for place in range(len(along_px)):
        for tap in range(len(taps)):
            off = off_px[place] + taps[tap]
            x = ends_px[0, 0] + along_px[place] * along_x - off * along_y
            y = ends_px[0, 1] + along_px[place] * along_y + off * along_x
            if not (1 < x < columns - 1 and 1 < y < rows - 1):
                inside[place] = False
            across = min(max(x - 0.5, 0.0), columns - 1.001)
            down = min(max(y - 0.5, 0.0), rows - 1.001)
            left, top = int(across), int(down)
            across -= left
            down -= top
            for channel in range(3):
                upper = light[pixels[top, left, channel]] * (1 - across)
                upper += light[pixels[top, left + 1, channel]] * across
                lower = light[pixels[top + 1, left, channel]] * (1 - across)
                lower += light[pixels[top + 1, left + 1, channel]] * across
                found[place, tap, channel] = upper * (1 - down) + lower * down
    return found, inside


def half_way(light: Array, taps: Array) -> tuple[Array, Mask]:
    """Return where along each row the light is half way from table to paper, and where that is clear.

    Args:
        light: (places, taps, 3), paper at the far end.
        taps: Position of each tap, px.
    """
    channel = np.abs(light[:, -1] - light[:, 0]).mean(axis=0).argmax()
    chosen = np.ascontiguousarray(light[:, :, channel])
    chosen = np.asarray(cv2.blur(chosen, (1, 5), borderType=cv2.BORDER_REPLICATE), np.float64)
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
    clear = np.isfinite(position) & (paper - table > _LEAST_STEP * np.maximum(paper, 0.02))
    return np.nan_to_num(position), clear
