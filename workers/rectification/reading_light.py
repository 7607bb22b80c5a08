"""The light by which a drawing is read: luminance, and where coloured ink lies what shows it best."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.coloured_ink import (
    CELL_MM,
    ColouredInk,
    coloured_inks,
    darkened,
    tinted_glare,
)
from workers.rectification.linear_light import channel_light, grey_light
from workers.rectification.reduced import ReducedPhoto, reduced_photo
from workers.rectification.sheet_surface import Surface
from workers.rectification.warp import laid_square, part_with
from workers.rectification.whole_picture import is_mixed_in_values

_KNOT_CELLS = 4

Light = NDArray[np.uint16]


@dataclass(frozen=True, slots=True, eq=False)
class ReadingLight:
    """A sheet laid square, and the coloured ink that was found on it."""

    light: Light  # (rows, columns), linear
    inks: tuple[ColouredInk, ...]

    @property
    def coloured(self) -> NDArray[np.bool_] | None:
        """The cells of the sheet on which coloured ink lies; None if there is none."""
        return np.logical_or.reduce([ink.cells for ink in self.inks]) if self.inks else None

    @property
    def tinted(self) -> NDArray[np.bool_] | None:
        """The cells of the sheet that a coloured lamp shines into; None if there are none."""
        return tinted_glare(self.inks)


def sheet_light(
    pixels: NDArray[np.uint8], small: ReducedPhoto, surface: Surface, px_per_mm: float, by_colour: bool
) -> ReadingLight:
    """Return the light of a sheet in a photo.

    Args:
        pixels: (rows, columns, 3) of the photo.
        small: The same, made small.
        surface: Where the sheet's points are seen.
        px_per_mm: Scale of the result.
        by_colour: Whether coloured ink counts as dark as it is in any colour; else as dark as it looks.
    """
    inks = coloured_inks(*_laid_colours(small, surface)) if by_colour else ()
    part, first_px = part_with(pixels, surface)
    return _read(part, inks, lambda light: laid_square(light, surface, px_per_mm, first_px))


def picture_light(
    pixels: NDArray[np.uint8], mm_per_px: float, shrink: float, by_colour: bool
) -> ReadingLight:
    """Return the light of a picture that is the drawing from rim to rim.

    Args:
        pixels: (rows, columns, 3).
        mm_per_px: Its scale.
        shrink: How many of its pixels make one of the result's, at least 1.
        by_colour: As for ``sheet_light``.
    """
    inks: tuple[ColouredInk, ...] = ()
    if by_colour:
        cells = [max(4, round(side * mm_per_px / CELL_MM)) for side in pixels.shape[1::-1]]
        small = reduced_photo(pixels).pixels
        inks = coloured_inks(np.asarray(cv2.resize(small, cells, interpolation=cv2.INTER_AREA), np.uint8))
    return _read(pixels, inks, lambda light: _smaller(light, shrink), is_mixed_in_values(pixels))


def _read(
    pixels: NDArray[np.uint8],
    inks: tuple[ColouredInk, ...],
    laid: Callable[[Light], Light],
    mixed_in_values: bool = False,
) -> ReadingLight:
    light = laid(grey_light(pixels, mixed_in_values))
    for ink in inks:
        darkened(light, laid(channel_light(pixels, ink.channel, mixed_in_values)), ink)
    return ReadingLight(light, inks)


def _smaller(light: Light, shrink: float) -> Light:
    if shrink <= 1.0:
        return light
    smaller = cv2.resize(light, None, fx=1 / shrink, fy=1 / shrink, interpolation=cv2.INTER_AREA)
    return np.asarray(smaller, np.uint16)


def _laid_colours(small: ReducedPhoto, surface: Surface) -> tuple[NDArray[np.uint8], NDArray[np.bool_]]:
    """Return the sheet's colours, a pixel to a cell, from the photo made small, and where it shows them."""
    sides = (surface.width_mm, surface.height_mm)
    knots = [math.ceil(side / CELL_MM / _KNOT_CELLS) for side in sides]
    across, down = ((np.arange(count) + 0.5) / count * side for count, side in zip(knots, sides, strict=True))
    x, y = np.meshgrid(across, down)
    seen = surface.seen_px(np.column_stack([x.ravel(), y.ravel()])) / small.stretch - 0.5
    places = cv2.resize(
        seen.reshape(knots[1], knots[0], 2).astype(np.float32),
        (knots[0] * _KNOT_CELLS, knots[1] * _KNOT_CELLS),
        interpolation=cv2.INTER_LINEAR,
    )
    columns, lines = cv2.split(places)
    laid = cv2.remap(small.pixels, columns, lines, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    rows, width = small.pixels.shape[:2]
    inside = (columns > 0) & (columns < width - 1) & (lines > 0) & (lines < rows - 1)
    return np.asarray(laid, np.uint8), inside
