"""The sheet in one photo: found, measured, and either believed or not."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.rectification.cut_off_sheets import doubt_mm, seen_fraction
from workers.rectification.filled_frame import lean_mm
from workers.rectification.lens import straightened_photo
from workers.rectification.perspective import FOCAL_TO_LONG_SIDE, sheet_shape
from workers.rectification.reduced import ReducedPhoto
from workers.rectification.sheet_corners import CLEAR_SCORE, RoughSheet, rough_sheets
from workers.rectification.sheet_sides import Side, measured_sides
from workers.rectification.sheet_surface import Surface
from workers.rectification.surface_fit import fitted_surface
from workers.values.sheet import SheetSize

_LEAST_SCORE = 0.55
_MOST_RESIDUAL_FRACTION = 0.004  # of the sheet's longer side: what no sheet of paper does
_MOST_LIFT_FRACTION = 0.08  # of its longer side: a sheet so curled is not looked at from above
_LEAST_SAMPLE_FRACTION = 0.4
_MOST_DOUBT_FRACTION = 0.06  # of the longer side: off by more, a drawing is not itself
_LEAST_SEEN_FRACTION = 0.6  # of sides that run out of it; the longer of two ways to lie shows less
_TRIES = 5
_DOUBTFUL_PX = 0.1  # nine in ten missed by less: worth a look whether a lens explains them better
UNEVEN_PX = 0.18  # sides from a surface; hardly any simulated photo that came out right misses by more
NO_EDGES = "no four edges in it look like the sides of the sheet"
_BOWS = (-0.05, 0.06, -0.1, 0.13)  # of lenses that are not straight; a guess near by is enough
_MOSTLY = 0.7  # three sides of four


@dataclass(frozen=True, slots=True, eq=False)
class FoundSheet:
    """A sheet that was found, where all of it is seen, and how sure that is."""

    surface: Surface
    sides: tuple[Side, ...]
    rough: RoughSheet
    doubt_mm: float = 0.0  # how far off a side outside of the picture may have been worked out

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

    Sheets darker than their table are looked for in the photo's negative, only where no bright one is
    clear, and only clear ones that are all in the picture count: most photos hold dark things of any
    shape. Where nothing is found, or nothing whose sides lie as a sheet's would, the lens may have bowed
    them, so a few bows are tried.
    """
    found = _straight(pixels, small, size)
    best_px = _unevenness_px(found)
    for bow in _BOWS if best_px > _DOUBTFUL_PX else ():
        straight = straightened_photo(small, bow)
        for rough in rough_sheets(straight, size)[:1]:
            if rough.score >= CLEAR_SCORE and not rough.outside:
                tried = _believed(pixels, straight, rough, size, bow)
                if _unevenness_px(tried) < 0.5 * best_px:
                    found, best_px = tried, _unevenness_px(tried)
        if best_px <= _DOUBTFUL_PX:
            break
    return found


def _unevenness_px(found: FoundSheet | str) -> float:
    """Return how far a sheet's sides miss its surface, root mean square; infinite where there is none."""
    return math.inf if isinstance(found, str) else found.surface.residual_px


def _straight(pixels: NDArray[np.uint8], small: ReducedPhoto, size: SheetSize) -> FoundSheet | str:
    """Return the sheet as a straight lens shows it, or nearly so."""
    candidates = rough_sheets(small, size)
    best = candidates[0] if candidates else None
    found = _believed(pixels, small, best, size)
    for rough in candidates[1:_TRIES]:
        if isinstance(found, str) and rough.outside:
            tried = _believed(pixels, small, rough, size)
            found = found if isinstance(tried, str) else tried
    if best is not None and not isinstance(found, str) and best.score >= CLEAR_SCORE and not best.outside:
        return found
    frame_px = (pixels.shape[1], pixels.shape[0])
    for rough in rough_sheets(ReducedPhoto(255 - small.pixels, small.stretch), size)[:1]:
        if rough.score >= CLEAR_SCORE and not _runs_out(rough, frame_px) and rough.distinct > _MOSTLY:
            negative = _believed(pixels, small, rough, size)
            if isinstance(found, str) or (best is not None and rough.score > best.score):
                return negative if not isinstance(negative, str) else found
    return found


def _believed(
    pixels: NDArray[np.uint8],
    small: ReducedPhoto,
    rough: RoughSheet | None,
    size: SheetSize,
    bow: float = 0.0,
) -> FoundSheet | str:
    """Return the sheet that four rough edges lead to, or in words why it is none.

    ``small`` and ``rough`` are as a straight lens shows them if that of ``pixels`` has a bow.
    """
    if rough is None or rough.score < _least_score(rough, (pixels.shape[1], pixels.shape[0])):
        return NO_EDGES
    sides = measured_sides(pixels, small, rough.corners_px, rough.outside, bow)
    frame_px = (pixels.shape[1], pixels.shape[0])
    lying_mm = lying_size_mm(rough.corners_px, size, frame_px)
    surface = fitted_surface(sides, lying_mm, frame_px, rigid=bool(rough.outside), bow=bow)
    worst = max(side.residual_px for side in sides)
    long_px = max(side.length_px for side in sides)
    if not math.isfinite(worst) or max(worst, surface.residual_px) > _MOST_RESIDUAL_FRACTION * long_px:
        return "the edges that look like the sides of a sheet are too ragged to be paper"
    if surface.lift_mm > _MOST_LIFT_FRACTION * max(lying_mm):
        return "the edges that look like the sides of a sheet are too bowed for one that lies on a table"
    if min(side.sample_fraction for side in sides) < _LEAST_SAMPLE_FRACTION:
        return "too much of one side of the sheet is hidden"
    doubt = 0.0
    if len(rough.outside) == 2:
        doubt = lean_mm(lying_mm, lying_mm[rough.outside[0]])
    elif rough.outside:
        middle, long_side_px = np.array(frame_px) / 2, max(frame_px)
        focal_px = FOCAL_TO_LONG_SIDE * long_side_px
        corners = surface.corners_px - middle
        doubt = doubt_mm(corners, rough.outside[0], lying_mm, focal_px, long_side_px)
        if seen_fraction(corners, middle) < _LEAST_SEEN_FRACTION:
            return "too little of the sheet is in the picture to tell whether it lies upright or across"
        if not doubt < _MOST_DOUBT_FRACTION * max(lying_mm):
            return "one side of the sheet lies outside of the picture, and where cannot be worked out"
    return FoundSheet(surface, tuple(sides), rough, doubt)


def _least_score(rough: RoughSheet, frame_px: tuple[int, int]) -> float:
    """Return how clear a sheet must be: one that runs out of the picture shows less of itself."""
    return CLEAR_SCORE if _runs_out(rough, frame_px) else _LEAST_SCORE


def _runs_out(rough: RoughSheet, frame_px: tuple[int, int]) -> bool:
    """Return whether a corner lies outside of the picture."""
    return bool(((rough.corners_px < 0) | (rough.corners_px > np.array(frame_px))).any())


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
