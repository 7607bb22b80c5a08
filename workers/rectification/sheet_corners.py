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
from numpy.typing import NDArray

from workers.rectification.cut_off_sheets import cut_off_sheets
from workers.rectification.edge_lines import EdgeLine, edge_lines, edge_points
from workers.rectification.perspective import FOCAL_TO_LONG_SIDE, sheet_shape
from workers.rectification.reduced import ReducedPhoto
from workers.values.sheet import SheetSize

CLEAR_SCORE = 0.62  # four sides that score less are not clear
_LEAST_AREA_FRACTION = 0.06
_RUN_ON_FRACTION = 0.12  # how far past the corners an edge is followed
_SHAPE_TOLERANCE = 0.12  # of the logarithm of the aspect ratio: other lenses, trimmed pictures
_FINALISTS = 12
_LOOKED_IN_PX = 6  # a side's surroundings: so far to the inside
_LOOKED_OUT_PX = 18  # and so far to the outside
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
    outside: int | None = None  # the side that is not in the picture at all: 0 top, 1 right, 2 bottom, 3 left


def rough_sheets(photo: ReducedPhoto, size: SheetSize) -> list[RoughSheet]:
    """Return candidates for the sheet, the most believable first; empty if there is none.

    Args:
        photo: The photo, made small.
        size: The sheet's sides; whether upright or lying is open.
    """
    values = cv2.GaussianBlur(photo.pixels, (0, 0), 1.0).astype(np.float32) / 255.0
    reach_px = math.hypot(*values.shape[:2]) / 2
    lines = edge_lines(edge_points(values), reach_px)
    half_frame = np.array(values.shape[1::-1], np.float64) / 2
    found: list[RoughSheet] = []
    if all(lines):
        quads, scores, seen = _weighed(lines, half_frame)
        best = np.argsort(scores, kind="stable")[::-1][:_FINALISTS]
        found = [
            _judged(quads[k], float(scores[k]), seen[k], values, size, photo.stretch)
            for k in best
            if scores[k] > 0
        ]
    if max((sheet.score for sheet in found), default=0.0) < CLEAR_SCORE:
        focal_px = FOCAL_TO_LONG_SIDE * max(values.shape[:2])
        for part in cut_off_sheets(lines, half_frame, size, focal_px, _FINALISTS):
            sheet = _judged(part.corners, part.score, part.shares, values, size, photo.stretch)
            found.append(replace(sheet, outside=part.outside))
    return sorted(found, key=lambda sheet: -sheet.score)


def _weighed(
    lines: list[list[EdgeLine]], half_frame: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return the corners, scores and seen shares of all choices of four lines.

    Returns:
        (n, 4, 2) corners TL, TR, BR, BL from the picture's middle; (n,) scores, 0 for what cannot be
        a sheet; (n, 4) seen shares.
    """
    meet = [_crossings(lines[side], lines[(side + 1) % 4]) for side in range(4)]  # TR, BR, BL, TL
    counts = [len(side) for side in lines]
    t, r, b, left = np.meshgrid(*(np.arange(count) for count in counts), indexing="ij")
    corners = np.stack([meet[3][left, t], meet[0][t, r], meet[1][r, b], meet[2][b, left]], axis=-2)
    corners = corners.reshape(-1, 4, 2)
    shares = np.empty((*t.shape, 4))
    for side in range(4):
        before, after = (side - 1) % 4, (side + 1) % 4
        table = _side_shares(
            lines[side], np.moveaxis(meet[before], 0, 1), meet[side], half_frame
        )  # [line, before, after]
        index = (t, r, b, left)
        shares[..., side] = table[index[side], index[before], index[after]]
    shares = shares.reshape(-1, 4)
    least = np.minimum(np.minimum(*shares.T[:2]), np.minimum(*shares.T[2:]))
    scores = 0.125 * (shares @ np.ones(4)) + 0.5 * least
    area = _area(corners) / (4 * half_frame[0] * half_frame[1])
    sound = _is_convex(corners) & (area > _LEAST_AREA_FRACTION) & (least > 0.25)
    scores = np.where(sound, scores * (0.7 + 0.3 * np.minimum(1.0, np.sqrt(np.abs(area) / 0.4))), 0.0)
    return corners, scores, shares


def _crossings(first: list[EdgeLine], second: list[EdgeLine]) -> NDArray[np.float64]:
    """Return where each line of the first group meets each of the second, (n, m, 2)."""
    n1 = np.array([line.normal for line in first])[:, None]
    n2 = np.array([line.normal for line in second])[None]
    d1 = np.array([line.offset_px for line in first])[:, None]
    d2 = np.array([line.offset_px for line in second])[None]
    cross = n1[..., 0] * n2[..., 1] - n1[..., 1] * n2[..., 0]
    cross = np.where(np.abs(cross) < 1e-6, np.nan, cross)
    x = (d1 * n2[..., 1] - d2 * n1[..., 1]) / cross
    y = (n1[..., 0] * d2 - n2[..., 0] * d1) / cross
    return np.stack([x, y], axis=-1)


def _side_shares(
    lines: list[EdgeLine],
    corner_before: NDArray[np.float64],
    corner_after: NDArray[np.float64],
    half_frame: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return how much of each side shows an edge, less how much runs on past its corners.

    Args:
        lines: The candidates for one side, n of them.
        corner_before: (n, m, 2) corners with the side before.
        corner_after: (n, k, 2) corners with the side after.
        half_frame: Half the picture's width and height.

    Returns:
        (n, m, k) shares, at most 1.
    """
    shares = np.zeros((len(lines), corner_before.shape[1], corner_after.shape[1]))
    for number, line in enumerate(lines):
        along = np.array([-line.normal[1], line.normal[0]])
        start = (corner_before[number] @ along)[:, None]
        end = (corner_after[number] @ along)[None]
        low, high = np.minimum(start, end), np.maximum(start, end)
        low_frame, high_frame = line.within(half_frame)

        def share(
            first: NDArray[np.float64],
            last: NDArray[np.float64],
            line: EdgeLine = line,
            frame: tuple[float, float] = (low_frame, high_frame),
        ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
            first, last = np.clip(first, *frame), np.clip(last, *frame)
            visible = last - first
            return line.seen_between(first, last) / np.maximum(visible, 1.0), visible

        length = high - low
        seen, visible = share(low, high)
        upright = start > end  # the sheet's inside on the bright side, and not inside out
        seen = np.where((visible > 0.3 * length) & upright, np.minimum(seen, 1.0), 0.0)
        beyond = _RUN_ON_FRACTION * length
        run_on = (share(low - beyond - 4, low - 4)[0] + share(high + 4, high + beyond + 4)[0]) / 2
        shares[number] = np.nan_to_num(seen - 0.35 * np.minimum(run_on, 1.0))
    return shares


def _area(corners: NDArray[np.float64]) -> NDArray[np.float64]:
    x, y = corners[..., 0], corners[..., 1]
    return np.asarray(
        (x * np.roll(y, -1, axis=-1) - y * np.roll(x, -1, axis=-1)).sum(axis=-1) / 2, np.float64
    )


def _is_convex(corners: NDArray[np.float64]) -> NDArray[np.bool_]:
    sides = np.roll(corners, -1, axis=-2) - corners
    following = np.roll(sides, -1, axis=-2)
    turn = sides[..., 0] * following[..., 1] - sides[..., 1] * following[..., 0]
    return np.asarray((turn > 0).all(axis=-1), np.bool_)


def _judged(
    corners: NDArray[np.float64],
    score: float,
    seen: NDArray[np.float64],
    values: NDArray[np.float32],
    size: SheetSize,
    stretch: NDArray[np.float64],
) -> RoughSheet:
    """Return a finalist with its shape and its contrast counted in."""
    long_side = max(values.shape[:2])
    aspect = sheet_shape(corners, np.zeros(2), FOCAL_TO_LONG_SIDE * long_side)[1]
    wanted = size.width_mm / size.height_mm
    shape_error = min((math.log(aspect / ratio) for ratio in (wanted, 1 / wanted)), key=abs)
    middle = np.array(values.shape[1::-1]) / 2
    distinct = _distinctness(corners + middle, values)
    likely = math.exp(-0.5 * (shape_error / _SHAPE_TOLERANCE) ** 2)
    total = score * (0.25 + 0.75 * likely) * (0.6 + 0.4 * distinct)
    full = (corners + middle) * stretch
    top, right, bottom, left = (float(share) for share in seen)
    return RoughSheet(full, total, (top, right, bottom, left), shape_error, distinct)


def _distinctness(corners: NDArray[np.float64], values: NDArray[np.float32]) -> float:
    """Return the share of the four sides that are edges of a thing and no lines drawn on one.

    Beyond a drawn line there is paper again, and as suddenly; beyond a sheet the table begins,
    or a shadow that fades slowly.
    """
    share = np.linspace(0.08, 0.92, 24)[None, :, None, None]
    start, end = corners[:, None, None], np.roll(corners, -1, axis=0)[:, None, None]
    direction = (end - start) / np.linalg.norm(end - start, axis=-1, keepdims=True)
    outward = np.stack([direction[..., 1], -direction[..., 0]], axis=-1)
    steps = np.arange(-_LOOKED_IN_PX, _LOOKED_OUT_PX)[None, None, :, None]
    profile = _sampled(values, start + (end - start) * share + steps * outward).mean(axis=-1)
    paper, slope = profile[..., 0], np.diff(profile, axis=-1)
    fall, rise = -slope[..., : 2 * _LOOKED_IN_PX].min(axis=-1), slope[..., _LOOKED_IN_PX:].max(axis=-1)
    again = profile[..., _LOOKED_IN_PX:].max(axis=-1) > paper - _SAME_PAPER
    is_line = again & (rise > 0.5 * fall) & (fall > 0)
    return float(1.0 - (is_line.mean(axis=1) > 0.5).mean())


def _sampled(values: NDArray[np.float32], points: NDArray[np.float64]) -> NDArray[np.float32]:
    """Return the values at some points, nothing (NaN) outside the picture."""
    column, row = (np.floor(points[..., axis]).astype(np.int64) for axis in (0, 1))
    rows, columns = values.shape[:2]
    outside = (column < 0) | (row < 0) | (column >= columns) | (row >= rows)
    taken = values[np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)].copy()
    taken[outside] = np.nan
    return taken
