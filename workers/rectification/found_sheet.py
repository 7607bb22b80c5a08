"""The sheet in one photo: found, measured, and either believed or not."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.rectification.perspective import FOCAL_TO_LONG_SIDE, sheet_shape
from workers.rectification.reduced import ReducedPhoto
from workers.rectification.sheet_corners import RoughSheet, rough_sheets
from workers.rectification.sheet_sides import Side, measured_sides
from workers.rectification.sheet_surface import Surface
from workers.rectification.surface_fit import fitted_surface
from workers.values.sheet import SheetSize

_LEAST_SCORE = 0.45
_MOST_RESIDUAL_FRACTION = 0.004  # of the sheet's longer side: what no sheet of paper does
_LEAST_SAMPLE_FRACTION = 0.4


@dataclass(frozen=True, slots=True, eq=False)
class FoundSheet:
    """A sheet that was found, where all of it is seen, and how sure that is."""

    surface: Surface
    sides: tuple[Side, ...]
    rough: RoughSheet

    @property
    def worst_side_px(self) -> float:
        """The largest root mean square distance of a side's samples from its curve."""
        return max(side.residual_px for side in self.sides)


def found_sheet(pixels: NDArray[np.uint8], small: ReducedPhoto, size: SheetSize) -> FoundSheet | str:
    """Return the sheet, or in words why none is believed.

    Args:
        pixels: (rows, columns, 3), the photo.
        small: The same, made small.
        size: The sheet's sides; whether it lies upright or across is found here.
    """
    candidates = rough_sheets(small, size)
    if not candidates or candidates[0].score < _LEAST_SCORE:
        return "no four edges in it look like the sides of the sheet"
    rough = candidates[0]
    sides = measured_sides(pixels, small, rough.corners_px)
    frame_px = (pixels.shape[1], pixels.shape[0])
    surface = fitted_surface(sides, lying_size_mm(rough.corners_px, size, frame_px), frame_px)
    worst = max(side.residual_px for side in sides)
    long_px = max(side.length_px for side in sides)
    if not math.isfinite(worst) or max(worst, surface.residual_px) > _MOST_RESIDUAL_FRACTION * long_px:
        return "the edges that look like the sides of a sheet are too ragged to be paper"
    if min(side.sample_fraction for side in sides) < _LEAST_SAMPLE_FRACTION:
        return "too much of one side of the sheet is hidden"
    return FoundSheet(surface, tuple(sides), rough)


def lying_size_mm(
    corners_px: NDArray[np.float64], size: SheetSize, frame_px: tuple[int, int]
) -> tuple[float, float]:
    """Return the sheet's width and height as it lies in the picture.

    Args:
        corners_px: (4, 2), TL, TR, BR, BL.
        size: Its sides, in either order.
        frame_px: The picture's columns and rows.
    """
    centre = np.array(frame_px) / 2
    aspect = sheet_shape(corners_px, centre, FOCAL_TO_LONG_SIDE * max(frame_px))[1]
    short, long = sorted((size.width_mm, size.height_mm))
    if long / short < 1.03:
        return size.width_mm, size.height_mm
    return (long, short) if aspect > 1 else (short, long)
