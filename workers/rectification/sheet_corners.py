"""The sheet in a photo, roughly: which four edges make a sheet of paper.

Every choice of a top, right, bottom and left line is weighed by how much of its four
sides shows an edge, how little those edges run on past the corners, and how well its
shape is that of the promised sheet seen by a phone. A thumb, a coin, another sheet
beneath or a corner outside of the picture each spoil only a part of one of these.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.rectification.cut_off_sheets import cut_off_sheets
from workers.rectification.edge_lines import EdgeLine, edge_lines
from workers.rectification.edge_points import edge_points
from workers.rectification.filled_frame import filled_lengthwise
from workers.rectification.four_lines import best_fours
from workers.rectification.paper_evidence import paper_inside, without_thin_lines
from workers.rectification.perspective import FOCAL_TO_LONG_SIDE, sheet_shape
from workers.rectification.reduced import ReducedPhoto
from workers.values.sheet import SheetSize

CLEAR_SCORE = 0.62  # four sides that score less are not clear
_SHAPE_TOLERANCE = 0.12  # of the logarithm of the aspect ratio: other lenses, trimmed pictures
_FINALISTS = 12
_LINES = 12  # of each side
_MORE_LINES, _MORE_FINALISTS = 28, 400  # a patterned table has more and longer lines than a sheet
_LOOKED_AT = 24  # places along a side
_LOOKED_IN_PX = 6  # a side's surroundings: so far to the inside
_LOOKED_OUT_PX = 18  # and so far to the outside
_DRAWN_WORTHS = (1.0, 0.95, 0.75, 0.35, 0.2)  # by how many sides look drawn; above another sheet two may
_SAME_PAPER = 0.06  # of a value: as bright as the paper inside


@dataclass(frozen=True, slots=True, eq=False)
class RoughSheet:
    """Four corners and how believable they are."""

    corners_px: NDArray[np.float64]  # (4, 2) TL, TR, BR, BL of the full picture
    score: float  # 0..1
    seen_fractions: tuple[
        float, float, float, float
    ]  # of each side within the picture: top, right, bottom, left
    shape_error: float  # logarithm of the aspect found over the aspect promised
    distinct: float  # share of the sides that are no lines drawn on paper
    outside: tuple[int, ...] = ()  # sides that are not in the picture: 0 top, 1 right, 2 bottom, 3 left


@dataclass(frozen=True, slots=True, eq=False)
class _Look:
    """A small photo as it is looked at, and the sheet that is looked for in it."""

    smooth: NDArray[np.uint8]
    broad: NDArray[np.uint8]  # the same without thin lines
    stretch: NDArray[np.float64]
    size: SheetSize

    @property
    def half_frame(self) -> NDArray[np.float64]:
        """Half the picture's width and height, px."""
        return np.array(self.smooth.shape[1::-1], np.float64) / 2

    @property
    def focal_px(self) -> float:
        """The focal length of a phone's main camera."""
        return float(FOCAL_TO_LONG_SIDE * max(self.smooth.shape[:2]))

    def lines(self, pixels: NDArray[np.uint8], count: int) -> list[list[EdgeLine]]:
        """Return the strongest lines of each direction in one of its pictures."""
        return edge_lines(edge_points(pixels), float(np.hypot(*self.half_frame)), count)


def rough_sheets(photo: ReducedPhoto, size: SheetSize) -> list[RoughSheet]:
    """Return candidates for the sheet, the most believable first; empty if there is none.

    Edges are looked for without thin lines first: ruled paper, gaps of planks and joints of tiles have
    hundreds. The shadow between two white sheets is one too, so they count if nothing else is clear.

    Args:
        photo: The photo, made small.
        size: The sheet's sides; whether upright or lying is open.
    """
    smooth = np.asarray(cv2.GaussianBlur(photo.pixels, (0, 0), 1.0), np.uint8)
    look = _Look(smooth, without_thin_lines(smooth), photo.stretch, size)
    found: list[RoughSheet] = []
    for pixels, lines_count, finalists_count in (
        (look.broad, _LINES, _FINALISTS),
        (look.broad, _MORE_LINES, _MORE_FINALISTS),
        (look.smooth, _MORE_LINES, _MORE_FINALISTS),
    ):
        found += _of_four(look, look.lines(pixels, lines_count), finalists_count)
        best = max(found, key=lambda sheet: sheet.score, default=None)
        if best is not None and best.score >= CLEAR_SCORE and (best.distinct == 1.0 or pixels is look.smooth):
            return _in_order(found)
    lines = look.lines(look.broad, _LINES)
    parts = cut_off_sheets(lines, look.half_frame, size, look.focal_px, _FINALISTS)
    parts += filled_lengthwise(lines, look.half_frame, size, look.focal_px)[:_FINALISTS]
    found += [
        replace(_judged(look, part.corners, part.score, part.shares), outside=part.outside) for part in parts
    ]
    return _in_order(found)


def _of_four(look: _Look, lines: list[list[EdgeLine]], most: int) -> list[RoughSheet]:
    """Return the most likely choices of four lines, judged."""
    fours = best_fours(lines, look.half_frame, most)
    return [_judged(look, four.corners, four.score, four.shares) for four in fours]


def _in_order(found: list[RoughSheet]) -> list[RoughSheet]:
    return sorted(found, key=lambda sheet: -sheet.score)


def _judged(look: _Look, corners: NDArray[np.float64], score: float, seen: NDArray[np.float64]) -> RoughSheet:
    """Return a finalist with its shape, its contrast and the paper between its sides counted in."""
    aspect = sheet_shape(corners, np.zeros(2), look.focal_px)[1]
    wanted = look.size.width_mm / look.size.height_mm
    shape_error = min((math.log(aspect / ratio) for ratio in (wanted, 1 / wanted)), key=abs)
    placed = corners + look.half_frame
    drawn_count = _drawn_lines(placed, look.smooth)
    likely = math.exp(-0.5 * (shape_error / _SHAPE_TOLERANCE) ** 2)
    total = score * (0.25 + 0.75 * likely) * _DRAWN_WORTHS[drawn_count]
    total *= 0.25 + 0.75 * paper_inside(placed, look.broad)
    top, right, bottom, left = (float(share) for share in seen)
    return RoughSheet(
        placed * look.stretch, total, (top, right, bottom, left), shape_error, 1.0 - drawn_count / 4
    )


@njit(cache=True, nogil=True)
def _drawn_lines(corners: NDArray[np.float64], smooth: NDArray[np.uint8]) -> int:
    """Return how many of four sides are lines drawn on a thing and no edges of one.

    Beyond a drawn line there is paper again, and as suddenly; beyond a sheet the table begins,
    or a shadow that fades slowly.
    """
    lines_count = 0
    profile = np.empty(_LOOKED_IN_PX + _LOOKED_OUT_PX)
    for side in range(4):
        start, end = corners[side], corners[(side + 1) % 4]
        along = end - start
        out_x, out_y = along[1] / np.hypot(along[0], along[1]), -along[0] / np.hypot(along[0], along[1])
        drawn_count = 0
        for place in range(_LOOKED_AT):
            share = 0.08 + 0.84 * place / (_LOOKED_AT - 1)
            x, y = start[0] + share * along[0], start[1] + share * along[1]
            near, far = -_LOOKED_IN_PX, _LOOKED_OUT_PX - 1
            reach_x, reach_y = (near * out_x, far * out_x), (near * out_y, far * out_y)
            if x + min(reach_x) < 0 or x + max(reach_x) >= smooth.shape[1]:
                continue  # nothing is known beyond the picture, so nothing follows from it
            if y + min(reach_y) < 0 or y + max(reach_y) >= smooth.shape[0]:
                continue
            for step in range(len(profile)):
                row, column = int(y + (step + near) * out_y), int(x + (step + near) * out_x)
                red, green, blue = smooth[row, column]
                profile[step] = (float(red) + float(green) + float(blue)) / (3 * 255.0)
            slope = np.diff(profile)
            fall, rise = -slope[: 2 * _LOOKED_IN_PX].min(), slope[_LOOKED_IN_PX:].max()
            again = profile[_LOOKED_IN_PX:].max() > profile[0] - _SAME_PAPER
            drawn_count += again and rise > 0.5 * fall and fall > 0
        lines_count += 2 * drawn_count > _LOOKED_AT
    return lines_count
