"""A sheet of which one whole side lies outside of the picture.

Three sides that are seen, the sheet's known size and the camera of a phone leave one place for
the fourth: two opposite sides meet in a vanishing point, which is their direction; the third is
square to it; its length is known, and so the plane and its scale.

Source: Hartley and Zisserman, Multiple View Geometry in Computer Vision, 2nd edition 2004,
section 8.6 (vanishing points and directions seen by a calibrated camera).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.rectification.edge_lines import EdgeLine
from workers.values.sheet import SheetSize

Array = NDArray[np.float64]

_LEAST_SHARE = 0.6  # of each of the three sides, as far as the picture shows it
_LEAST_AREA_FRACTION = 0.15  # of the picture: a sheet that runs out of it is near
_LEAST_SEEN_FRACTION = 0.35  # of each side that runs out of it, roughly
_INSIDE_FRACTION = 0.02  # of the picture: a corner no farther inside may count as outside
_RUN_ON_FRACTION = 0.12
_AXIS_FRACTION, _FOCAL_FRACTION = 1 / 30, 0.1  # what phones and trimmed pictures differ by


@dataclass(frozen=True, slots=True, eq=False)
class CutOffSheet:
    """Four corners, not all of which are seen, and what there is to be seen of the sides."""

    corners: Array  # (4, 2) TL, TR, BR, BL from the picture's middle, px
    outside: tuple[int, ...]  # the sides that are not seen: 0 top, 1 right, 2 bottom, 3 left
    shares: Array  # (4,) of each side that shows an edge, 1 for the one outside
    score: float


def cut_off_sheets(
    lines: list[list[EdgeLine]], half_frame: Array, size: SheetSize, focal_px: float, most: int
) -> list[CutOffSheet]:
    """Return candidates, the most believable first.

    Args:
        lines: Candidates for top, right, bottom and left side.
        half_frame: Half the picture's width and height, px.
        size: The sheet's sides, in either order.
        focal_px: Of the camera.
        most: How many are wanted.
    """
    found = [
        sheet
        for outside in range(4)
        for lying in {(size.width_mm, size.height_mm), (size.height_mm, size.width_mm)}
        for sheet in _without_side(outside, lines, half_frame, lying, focal_px, most)
    ]
    return sorted(found, key=lambda sheet: -sheet.score)[:most]


def completed(
    before: Array, opposite: Array, after: Array, lengths_mm: tuple[float, float], focal_px: float
) -> Array:
    """Return the four corners that three sides leave, from the opposite side's start clockwise.

    Args:
        before: (n, 3) normal into the sheet and offset (px from the picture's middle) of the side
            before the opposite one, clockwise.
        opposite: The side across from the one that is not seen.
        after: The side after the opposite one.
        lengths_mm: Of the opposite side, and of the two beside it.
        focal_px: Of the camera.

    Returns:
        (n, 4, 2) px from the picture's middle; not finite where there is no such sheet.
    """
    planes = [np.column_stack([line[:, :2] * focal_px, -line[:, 2]]) for line in (before, opposite, after)]
    running = np.cross(planes[0], planes[2])  # the direction of the sides that run out of the picture
    along = np.cross(planes[1], running)
    with np.errstate(all="ignore"):
        running /= np.linalg.norm(running, axis=1, keepdims=True)
        normal = np.cross(running, along / np.linalg.norm(along, axis=1, keepdims=True))
        start, end = np.cross(planes[0], planes[1]), np.cross(planes[1], planes[2])
        start, end = start / start[:, 2:], end / end[:, 2:]
        end = end * ((normal * start).sum(axis=1) / (normal * end).sum(axis=1))[:, None]
        reach = np.linalg.norm(end - start, axis=1) * lengths_mm[1] / lengths_mm[0]
        inward = np.sign((running * planes[1]).sum(axis=1))
        step = running * (reach * inward)[:, None]
        corners = np.stack([start, end, end + step, start + step], axis=1)
        seen = focal_px * corners[..., :2] / corners[..., 2:]
        return np.where((corners[..., 2:] > 0).all(axis=1, keepdims=True), seen, np.nan)


def doubt_mm(
    corners: Array, outside: int, lying_mm: tuple[float, float], focal_px: float, long_side_px: float
) -> float:
    """Return how far off the corners that were worked out may be, mm on the sheet.

    Three sides cannot tell whether the camera is as taken for granted, so its focal length is changed
    by a tenth and its axis by a thirtieth of the picture, and the moves are added up as squares.

    Args:
        corners: (4, 2) TL, TR, BR, BL from the picture's middle, px.
        outside: The side that is not seen.
        lying_mm: The sheet's width and height as it lies.
        focal_px: Of the camera.
        long_side_px: Of the picture.
    """
    opposite = (outside + 2) % 4
    lengths = (lying_mm[opposite % 2], lying_mm[(opposite + 1) % 2])
    step = _AXIS_FRACTION * long_side_px
    total = 0.0
    for axis, zoom in (((step, 0.0), 1.0), ((0.0, step), 1.0), ((0.0, 0.0), 1.0 + _FOCAL_FRACTION)):
        moved = np.roll(corners - np.array(axis), -opposite, axis=0)
        sides = [_line(moved[k], moved[(k + 1) % 4]) for k in (3, 0, 1)]
        again = completed(sides[0], sides[1], sides[2], lengths, focal_px * zoom)[0]
        reach_px = np.linalg.norm(moved[2:] - moved[[1, 0]], axis=1)
        total += float(np.max(np.linalg.norm(again - moved, axis=1)[2:] / reach_px)) ** 2
    return float(np.sqrt(total)) * lengths[1]


def seen_fraction(corners: Array, half_frame: Array) -> float:
    """Return how much of a sheet lies in the picture, of the side of which second most does.

    Args:
        corners: (4, 2) from the picture's middle, px.
        half_frame: Half the picture's width and height, px.
    """
    share = np.linspace(0.0, 1.0, 101)[:, None]
    seen = [
        float((np.abs(start + share * (end - start)) <= half_frame).all(axis=1).mean())
        for start, end in zip(corners, np.roll(corners, -1, axis=0), strict=True)
    ]
    return sorted(seen)[2]


def _line(start: Array, end: Array) -> Array:
    """Return the line of a side that runs clockwise, (1, 3): normal into the sheet, offset."""
    along = (end - start) / np.linalg.norm(end - start)
    normal = np.array([-along[1], along[0]])
    return np.array([[*normal, normal @ start]])


def _without_side(
    outside: int,
    lines: list[list[EdgeLine]],
    half_frame: Array,
    lying_mm: tuple[float, float],
    focal_px: float,
    most: int,
) -> list[CutOffSheet]:
    """Return the most believable sheets that lack one given side."""
    opposite, before, after = (outside + 2) % 4, (outside + 1) % 4, (outside + 3) % 4
    b, o, a = (part.ravel() for part in np.meshgrid(
        *(np.arange(len(lines[side])) for side in (before, opposite, after)), indexing="ij"))  # fmt: skip
    table = [
        np.array([[*line.normal, line.offset_px] for line in side], np.float64).reshape(-1, 3)
        for side in lines
    ]
    lengths = (lying_mm[opposite % 2], lying_mm[before % 2])
    corners = completed(table[before][b], table[opposite][o], table[after][a], lengths, focal_px)
    half_inside = half_frame * (1 - 2 * _INSIDE_FRACTION)
    beyond = np.logical_or(*np.moveaxis(np.abs(corners[:, 2:]) > half_inside, 2, 0)).all(axis=1)
    side = corners[:, 1] - corners[:, 0]
    clockwise = side[:, 0] * table[opposite][o, 1] - side[:, 1] * table[opposite][o, 0] > 0  # not inside out
    large = _area(corners) > _LEAST_AREA_FRACTION * 4 * half_frame[0] * half_frame[1]
    sound = clockwise & np.isfinite(corners).all(axis=(1, 2)) & beyond & _is_convex(corners) & large
    sheets = []
    for k in np.nonzero(sound)[0]:
        chosen = (lines[before][b[k]], lines[opposite][o[k]], lines[after][a[k]])
        shares = _shares(chosen, corners[k], half_frame)
        if min(shares) < _LEAST_SHARE:
            continue
        score = 0.5 * float(np.mean(shares)) + 0.5 * min(shares)
        score *= 0.5 + 0.5 * seen_fraction(corners[k], half_frame)  # lying the way that less is missing
        every = np.ones(4)
        every[[before, opposite, after]] = shares
        sheets.append(CutOffSheet(np.roll(corners[k], opposite, axis=0), (outside,), every, score))
    return sorted(sheets, key=lambda sheet: -sheet.score)[:most]


def _area(corners: Array) -> Array:
    x, y = corners[..., 0], corners[..., 1]
    with np.errstate(invalid="ignore"):
        turned = x * np.roll(y, -1, axis=-1) - y * np.roll(x, -1, axis=-1)
    return np.asarray(turned.sum(axis=-1) / 2, np.float64)


def _is_convex(corners: Array) -> NDArray[np.bool_]:
    sides = np.roll(corners, -1, axis=-2) - corners
    following = np.roll(sides, -1, axis=-2)
    with np.errstate(invalid="ignore"):
        turn = sides[..., 0] * following[..., 1] - sides[..., 1] * following[..., 0]
    return np.asarray((turn > 0).all(axis=-1), np.bool_)


def _shares(lines: tuple[EdgeLine, EdgeLine, EdgeLine], corners: Array, half_frame: Array) -> list[float]:
    """Return how much of three sides shows an edge, less how much runs on past the corners that are seen."""
    ends = ((corners[3], corners[0]), (corners[0], corners[1]), (corners[1], corners[2]))
    shares = []
    for line, (start, end) in zip(lines, ends, strict=True):
        along = np.array([-line.normal[1], line.normal[0]])
        frame = line.within(half_frame)
        low, high = sorted((float(start @ along), float(end @ along)))
        inside = np.clip([low, high], *frame)
        visible = inside[1] - inside[0]
        if visible < _LEAST_SEEN_FRACTION * (high - low):
            return [0.0]
        seen = float(line.seen_between(*inside)) / visible
        beyond = _RUN_ON_FRACTION * visible
        run_on = 0.0
        for first, last in ((low - beyond - 4, low - 4), (high + 4, high + beyond + 4)):
            first, last = np.clip([first, last], *frame)
            run_on += 0.5 * float(line.seen_between(first, last)) / max(last - first, 1.0)
        shares.append(min(seen, 1.0) - 0.35 * min(run_on, 1.0))
    return shares
