"""Coloured markers: ink that is pale to the eye, and dark in one of the photo's three colours.

Yellow takes hardly any light away, but nearly all of the blue. So where the sheet's colour departs far from
its paper's, the colour that the ink takes away most is looked at as well, and each pixel counts as dark as
it is in either. Paper's own colour changes but slowly over the sheet, with the lamps, so it is a smooth
surface, and shade, pencil and grey lines, which have the paper's colour, are left as they are.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.rectification.light_trend import light_trend
from workers.rectification.linear_light import light_of_value

CELL_MM = 0.5
COLOUR_WORDS = ("blue, green or turquoise", "red, pink or purple", "yellow, orange or light green")
_FAR = 0.72  # the least of the three over the most, against paper's; a fine line of pale ink is at 0.65
_LEAST_LIGHT = np.float32(1e-6)
_WEIGHTS = np.array([[0.2126, 0.7152, 0.0722]], np.float32)  # IEC 61966-2-1
_SPREADS = (0.4, 0.3, 0.2, 0.15, 0.15)  # of the logarithm: a cast of two lamps departs by less
_DARKEST = 0.02  # of full light: below it colours are noise
_BRIGHT_PERCENT = 60.0  # the brighter part of a sheet is paper
_LEAST_CELLS = 12  # 3 mm2
_RIM_CELLS = 4
_NEAR = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (9, 9))  # cells: an edge's blur, and the paper beside it

Bytes = NDArray[np.uint8]
Light = NDArray[np.uint16]
Array = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class ColouredInk:
    """Ink of which one colour of the photo shows more than its light."""

    channel: int  # 0 red, 1 green, 2 blue: what it takes away most
    cells: NDArray[np.bool_]  # of the sheet, on which it lies
    near: NDArray[np.bool_]  # the same, and those next to them
    gain: Array  # the paper's light over what it has of that colour, in each cell


def coloured_inks(colours: Bytes) -> tuple[ColouredInk, ...]:
    """Return the coloured inks on a sheet, at most one for each of the photo's three colours.

    Args:
        colours: (rows, columns, 3) sRGB of the sheet laid square, a pixel to ``CELL_MM``.
    """
    curve = (light_of_value() + 1e-3).astype(np.float32)
    light = np.asarray(cv2.transform(cv2.LUT(colours, curve), _WEIGHTS), np.float32)
    seen = light > _DARKEST
    if seen.mean() < 0.5:
        return ()
    logs = [np.asarray(part, np.float32) for part in cv2.split(cv2.LUT(colours, np.log(curve)))]
    trends = _trends(logs, light, seen)
    departures = [part - trend for part, trend in zip(logs, trends, strict=True)]  # but for the light's own
    far = seen & (_spread(departures) < np.log(_FAR))
    if far.sum() < _LEAST_CELLS:
        return ()
    least = np.minimum(np.minimum(*departures[:2]), departures[2])
    found = []
    for channel in range(3):
        own = _areas(far & (departures[channel] == least))
        if own.any():
            near = cv2.dilate(own.astype(np.uint8), _NEAR).astype(bool)
            gain = np.exp(-trends[channel]).astype(np.float32)
            found.append(ColouredInk(channel, own, near, gain))
    return tuple(found)


def _trends(logs: list[Array], light: Array, seen: NDArray[np.bool_]) -> list[Array]:
    """Return the smooth part of each colour's share of the light, logarithms, by a ninth of the cells."""
    few = (slice(None, None, 3), slice(None, None, 3))
    own, counted = light[few], seen[few]
    bright = own >= np.percentile(own, _BRIGHT_PERCENT)
    trends = []
    for part in logs:
        share = part[few] - np.log(own + _LEAST_LIGHT)
        smooth = light_trend(share, counted, float(np.median(share[bright])), _SPREADS)
        trends.append(
            np.asarray(cv2.resize(smooth, light.shape[::-1], interpolation=cv2.INTER_LINEAR), np.float32)
        )
    return trends


def _spread(departures: list[Array]) -> Array:
    """Return the least of the three colours under the most, logarithms."""
    red, green, blue = departures
    least, most = np.minimum(np.minimum(red, green), blue), np.maximum(np.maximum(red, green), blue)
    return np.asarray(least - most, np.float32)


def darkened(light: Light, colour: Light, ink: ColouredInk) -> None:
    """Make the light as dark as one colour is, in place, where ink takes that colour away.

    Args:
        light: (rows, columns) of the sheet.
        colour: The light of the ink's channel on the same raster.
        ink: The coloured ink.
    """
    _darken(light, colour, ink.near, ink.gain)


def _areas(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return a mask without specks, and without what comes in over the sheet's rim, as a thumb does."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8), connectivity=8)
    keep = stats[:, cv2.CC_STAT_AREA] >= _LEAST_CELLS
    rim = np.ones_like(mask)
    rim[_RIM_CELLS:-_RIM_CELLS, _RIM_CELLS:-_RIM_CELLS] = False
    keep[np.unique(labels[rim])] = False
    keep[0] = False
    return np.asarray(keep[labels], np.bool_) if count > 1 else np.zeros_like(mask)


@njit(cache=True, nogil=True)
def _darken(light: Light, colour: Light, near: NDArray[np.bool_], gain: Array) -> None:
    rows, columns = light.shape
    cell_rows, cell_columns = near.shape
    cells = np.empty(columns, np.int32)
    for column in range(columns):
        cells[column] = column * cell_columns // columns
    for row in range(rows):
        down = row * cell_rows // rows
        for column in range(columns):
            across = cells[column]
            if near[down, across]:
                value = np.float32(colour[row, column]) * gain[down, across]
                if value < np.float32(light[row, column]):
                    light[row, column] = np.uint16(value)
