"""Coloured markers: ink that is pale to the eye, and dark in one of the photo's three colours.

Yellow takes hardly any light away, but nearly all of the blue. So where the sheet's colour departs far from
its paper's, the colour that the ink takes away most is looked at as well, and each pixel counts as dark as
it is in either. Paper's own colour changes but slowly over the sheet, with the lamps, so it is a smooth
surface, and shade, pencil and grey lines, which have the paper's colour, are left as they are.

A coloured lamp mirrored in the sheet gives it another colour too, but there one of the three is brighter than
the paper is, as bright as the photo can hold. Ink is read there in the colour that is left, and it is told as
glare.
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
_FEW = (slice(None, None, 3), slice(None, None, 3))  # a ninth of the cells tells what is usual
_RIM_CELLS = 4
_GRAIN_TIMES = 4.0
_BLACK = (
    0.12  # of the paper's light: what is darker is ink whatever its colour, and its colour is mostly grain
)
_FULL = 250  # sRGB value: a photo's compression moves what is cut off by a few
_BRIGHTER = 0.06  # of the logarithm of light
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
    in_glare: bool = False  # of a coloured lamp: no ink, but where only that colour still shows ink


def coloured_inks(colours: Bytes, in_picture: NDArray[np.bool_] | None = None) -> tuple[ColouredInk, ...]:
    """Return the coloured inks on a sheet, at most one for each of the photo's colours, and tinted glare.

    Args:
        colours: (rows, columns, 3) sRGB of the sheet laid square, a pixel to ``CELL_MM``.
        in_picture: (rows, columns), where the picture shows the sheet; None: all of it.
    """
    curve = (light_of_value() + 1e-3).astype(np.float32)
    light = np.asarray(cv2.transform(cv2.LUT(colours, curve), _WEIGHTS), np.float32)
    seen = light > _DARKEST
    usual = float(np.percentile(light[_FEW], _BRIGHT_PERCENT))
    if in_picture is not None:
        seen &= in_picture
    if seen.mean() < 0.5:
        return ()
    logs = [np.asarray(part, np.float32) for part in cv2.split(cv2.LUT(colours, np.log(curve)))]
    trends = _trends(logs, light, seen)
    departures = [part - trend for part, trend in zip(logs, trends, strict=True)]  # but for the light's own
    spread = _spread(departures)
    grain = float(np.median(spread[seen][::9]))  # of colour, in paper and black ink alike
    far = seen & (light > _BLACK * usual) & (spread < min(float(np.log(_FAR)), _GRAIN_TIMES * grain))
    if far.sum() < _LEAST_CELLS:
        return ()
    least = np.minimum(np.minimum(*departures[:2]), departures[2])
    glare = _glare(colours, light, departures, seen, far)
    found = []
    for channel in range(3):
        own = far & (departures[channel] == least)
        gain = np.exp(-trends[channel]).astype(np.float32)
        for cells, in_glare in ((_areas(own & ~glare), False), (own & glare, True)):
            if cells.any():
                near = cv2.dilate(cells.astype(np.uint8), _NEAR).astype(bool)
                found.append(ColouredInk(channel, cells, near, gain, in_glare))
    return tuple(found)


def tinted_glare(inks: tuple[ColouredInk, ...]) -> NDArray[np.bool_] | None:
    """Return the cells of the sheet in the glare of a coloured lamp; None if there are none.

    Args:
        inks: As they were found.
    """
    glare = [ink.cells for ink in inks if ink.in_glare]
    return np.logical_or.reduce(glare) if glare else None


def _glare(
    colours: Bytes, light: Array, departures: list[Array], seen: NDArray[np.bool_], far: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Return the areas in the glare of a coloured lamp.

    These hold places where one colour is brighter than the paper's, as bright as a photo can hold; with them
    go the skirts around, brighter than the paper or of another colour.
    """
    full = far & (np.maximum.reduce(cv2.split(colours)) >= _FULL)
    if full.sum() < _LEAST_CELLS:
        return np.zeros_like(far)
    few = (slice(None, None, 3), slice(None, None, 3))
    log_light = np.log(light[few] + _LEAST_LIGHT)
    start = float(np.percentile(log_light[seen[few]], _BRIGHT_PERCENT))
    trend = light_trend(log_light, seen[few], start, _SPREADS)
    paper = cv2.resize(trend, light.shape[::-1], interpolation=cv2.INTER_LINEAR)
    bright = seen & (np.maximum(np.maximum(*departures[:2]), departures[2]) > paper + _BRIGHTER)
    seeds = full & bright
    around = cv2.dilate((far | bright).astype(np.uint8), _NEAR)
    count, labels = cv2.connectedComponents(around, connectivity=8)
    is_glare = np.bincount(labels[seeds], minlength=count) >= _LEAST_CELLS
    is_glare[0] = False
    return np.asarray(is_glare[labels] & (far | bright))


def _trends(logs: list[Array], light: Array, seen: NDArray[np.bool_]) -> list[Array]:
    """Return the smooth part of each colour's share of the light, logarithms, by a ninth of the cells."""
    own, counted = light[_FEW], seen[_FEW]
    bright = own >= np.percentile(own, _BRIGHT_PERCENT)
    trends = []
    for part in logs:
        share = part[_FEW] - np.log(own + _LEAST_LIGHT)
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
