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
_INNER_PLACES, _INNER_PX = 64, 4  # along a side, and how far inside of it
_JUMP = 20.0  # of 255, from place to place
_FREE_JUMPS = 6  # two things and a shadow across a side, both edges of each
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


def rough_sheets(photo: ReducedPhoto, size: SheetSize) -> list[RoughSheet]:
    """Return candidates for the sheet, the most believable first; empty if there is none.

    Args:
        photo: The photo, made small.
        size: The sheet's sides; whether upright or lying is open.
    """
    smooth = np.asarray(cv2.GaussianBlur(photo.pixels, (0, 0), 1.0), np.uint8)
    reach_px = math.hypot(*smooth.shape[:2]) / 2
    points = edge_points(smooth)
    half_frame = np.array(smooth.shape[1::-1], np.float64) / 2
    lines = edge_lines(points, reach_px, _LINES)
    found = _of_four(lines, _FINALISTS, smooth, size, photo.stretch)
    if _best_score(found) < CLEAR_SCORE:
        found = _of_four(
            edge_lines(points, reach_px, _MORE_LINES), _MORE_FINALISTS, smooth, size, photo.stretch
        )
    if _best_score(found) < CLEAR_SCORE:
        focal_px = FOCAL_TO_LONG_SIDE * max(smooth.shape[:2])
        parts = cut_off_sheets(lines, half_frame, size, focal_px, _FINALISTS)
        for part in parts + filled_lengthwise(lines, half_frame, size, focal_px)[:_FINALISTS]:
            sheet = _judged(part.corners, part.score, part.shares, smooth, size, photo.stretch)
            found.append(replace(sheet, outside=part.outside))
    return sorted(found, key=lambda sheet: -sheet.score)


def _of_four(
    lines: list[list[EdgeLine]],
    most: int,
    smooth: NDArray[np.uint8],
    size: SheetSize,
    stretch: NDArray[np.float64],
) -> list[RoughSheet]:
    """Return the most likely choices of four lines, judged."""
    half_frame = np.array(smooth.shape[1::-1], np.float64) / 2
    fours = best_fours(lines, half_frame, most)
    return [_judged(four.corners, four.score, four.shares, smooth, size, stretch) for four in fours]


def _best_score(found: list[RoughSheet]) -> float:
    return max((sheet.score for sheet in found), default=0.0)


def _judged(
    corners: NDArray[np.float64],
    score: float,
    seen: NDArray[np.float64],
    smooth: NDArray[np.uint8],
    size: SheetSize,
    stretch: NDArray[np.float64],
) -> RoughSheet:
    """Return a finalist with its shape and its contrast counted in."""
    aspect = sheet_shape(corners, np.zeros(2), FOCAL_TO_LONG_SIDE * max(smooth.shape[:2]))[1]
    wanted = size.width_mm / size.height_mm
    shape_error = min((math.log(aspect / ratio) for ratio in (wanted, 1 / wanted)), key=abs)
    placed = corners + np.array(smooth.shape[1::-1]) / 2
    distinct = 1.0 - _drawn_lines(placed, smooth) / 4
    likely = math.exp(-0.5 * (shape_error / _SHAPE_TOLERANCE) ** 2)
    total = (
        score * (0.25 + 0.75 * likely) * (0.6 + 0.4 * distinct) * (0.25 + 0.75 * _even_inside(placed, smooth))
    )
    top, right, bottom, left = (float(share) for share in seen)
    return RoughSheet(placed * stretch, total, (top, right, bottom, left), shape_error, distinct)


@njit(cache=True, nogil=True)
def _even_inside(corners: NDArray[np.float64], smooth: NDArray[np.uint8]) -> float:
    """Return how even it is inside the worst of four sides, 0..1: paper is, but for things across it.

    A chequered cloth and a tiled table have long edges too, but on both sides of them the pattern goes on.
    """
    even = 1.0
    for side in range(4):
        start, end = corners[side], corners[(side + 1) % 4]
        along = end - start
        length = np.hypot(along[0], along[1])
        in_x, in_y = -along[1] / length, along[0] / length
        jumps_count, last = 0, -1.0
        for place in range(_INNER_PLACES):
            share = 0.04 + 0.92 * place / (_INNER_PLACES - 1)
            value, count = 0.0, 0
            for off in range(_INNER_PX, _INNER_PX + 4):
                column = int(start[0] + share * along[0] + off * in_x)
                row = int(start[1] + share * along[1] + off * in_y)
                if 0 <= column < smooth.shape[1] and 0 <= row < smooth.shape[0]:
                    value += float(smooth[row, column, 1])
                    count += 1
            if count:
                jumps_count += last >= 0 and abs(value / count - last) > _JUMP
                last = value / count
        even = min(even, max(0.0, 2.0 - jumps_count / _FREE_JUMPS))
    return even


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
