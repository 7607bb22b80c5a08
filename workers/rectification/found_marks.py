"""What was found, marked on the photo: the sheet's edge, its corners, glare, shade and covered stretches."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.creases import Crease
from workers.rectification.found_sheet import FoundSheet
from workers.rectification.light_faults import LightFaults
from workers.rectification.pale_lines import PaleLine
from workers.rectification.sheet_sides import Side

Colour = tuple[int, int, int]
Panel = NDArray[np.uint8]  # (rows, columns, 3)
Points = NDArray[np.float64]

EDGE: Colour = (0, 168, 132)
COVERED: Colour = (214, 36, 96)
GLARE: Colour = (255, 140, 0)
SHADE: Colour = (40, 110, 200)
FOLD: Colour = (132, 60, 190)
CASING: Colour = (255, 255, 255)

_BESIDE = 0.5  # of the photo's light is left where there is no sheet
_TINT = 0.30
_HATCH_PX = 9
_EDGE_PX, _COVERED_PX, _RING_PX = 3, 7, 9
_GAP_FRACTION = 0.03  # of a side, without a sample: it is covered there
_END_FRACTION = 0.04  # next to a corner no samples are taken
_STROKES = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (11, 11))  # of cells: wider than most
_FRACTION_BITS = 4  # of a pixel, in OpenCV's drawing


@dataclass(frozen=True, slots=True, eq=False)
class Marks:
    """Where things are in the photo, px of the photo."""

    outline: Points
    corners: Points  # (4, 2)
    covered: tuple[Points, ...]
    glare: tuple[Points, ...]  # rings, filled even-odd
    shade: tuple[Points, ...]
    folds: tuple[Points, ...] = ()  # lines
    doubtful: tuple[Points, ...] = ()  # (1, 2), middles of lines that may be pencil or ink


def marks(
    sheet: FoundSheet | None,
    faults: LightFaults,
    frame_px: tuple[int, int],
    box_px: tuple[float, ...] | None = None,
    creases: tuple[Crease, ...] = (),
    pale: tuple[PaleLine, ...] = (),
) -> Marks:
    """Return where everything is.

    Args:
        sheet: The sheet in the photo; None: the whole picture is the drawing.
        faults: Of the light on it; of a whole picture they are not marked, for it may be no photo.
        frame_px: Columns and rows of the photo.
        box_px: Left, top, right and bottom of what was read where there is no sheet; None: all.
        creases: Folds of the sheet.
        pale: Thin pale lines on it; those of which it is not sure what they are get marked.
    """
    around = _around()
    box = np.array(box_px or (0, 0, *frame_px), np.float64).reshape(2, 2)
    shade = () if faults.is_crumpled else _rings(faults.shadow)  # of facets there would be too much to see
    return Marks(
        outline=_seen(sheet, around, box),
        corners=_seen(sheet, np.array([(0, 0), (1, 0), (1, 1), (0, 1)], np.float64), box),
        covered=() if sheet is None else tuple(p for side in sheet.sides for p in _covered(side, frame_px)),
        glare=() if sheet is None else tuple(_seen(sheet, r, box) for r in _rings(faults.glare)),
        shade=() if sheet is None else tuple(_seen(sheet, r, box) for r in shade),
        folds=()
        if sheet is None
        else tuple(sheet.surface.seen_px(own.chord.points_mm(5.0)) for own in creases),
        doubtful=()
        if sheet is None
        else tuple(
            sheet.surface.seen_px(np.array([own.middle_mm]))
            for own in pale
            if not own.is_sure and not faults.is_crumpled
        ),
    )


def draw_marks(panel: Panel, found: Marks, scale: float, has_sheet: bool) -> None:
    """Draw the marks, but for the numbers, on a photo made smaller.

    Args:
        panel: The photo, drawn on.
        found: The marks.
        scale: Pixels of the panel to one of the photo.
        has_sheet: Whether there is a sheet, and so something beside it.
    """
    if has_sheet:
        on_sheet = np.zeros(panel.shape[:2], np.uint8)
        cv2.fillPoly(on_sheet, [_fixed(found.outline * scale)], 255, cv2.LINE_AA, _FRACTION_BITS)
        light = _BESIDE + (1 - _BESIDE) * on_sheet[:, :, None] / 255.0
        panel[:] = (panel * light + 0.5).astype(np.uint8)
    _hatched(panel, found.shade, scale, SHADE, 1)
    _hatched(panel, found.glare, scale, GLARE, -1)
    _line(panel, found.outline * scale, CASING, _EDGE_PX + 2, True)
    _line(panel, found.outline * scale, EDGE, _EDGE_PX, True)
    for fold in found.folds:
        _dashed(panel, fold * scale, FOLD)
    for place in found.doubtful:
        centre = tuple(int(v) for v in _fixed(place * scale)[0])
        cv2.circle(panel, centre, _RING_PX << _FRACTION_BITS, CASING, 4, cv2.LINE_AA, _FRACTION_BITS)
        cv2.circle(panel, centre, _RING_PX << _FRACTION_BITS, FOLD, 2, cv2.LINE_AA, _FRACTION_BITS)
    for stretch in found.covered:
        _line(panel, stretch * scale, CASING, _COVERED_PX + 2, False)
        _line(panel, stretch * scale, COVERED, _COVERED_PX, False)


def swatch(panel: Panel, left: int, top: int, colour: Colour, slant: int) -> None:
    """Draw a sample of a line (slant 0) or of a hatching, 34 x 16 px."""
    middle = top + 8
    if slant:
        ring = np.array([(left, top), (left + 34, top), (left + 34, top + 16), (left, top + 16)], np.float64)
        _hatched(panel, (ring,), 1.0, colour, slant)
        _line(panel, ring, colour, 1, True)
    else:
        width = _COVERED_PX if colour == COVERED else _EDGE_PX
        _line(panel, np.array([(left, middle), (left + 34, middle)], np.float64), colour, width, False)


def _around() -> Points:
    """Return points round the unit square, from its top left corner by the right."""
    step = np.linspace(0, 1, 40, endpoint=False)
    zero, one = np.zeros_like(step), np.ones_like(step)
    return np.concatenate(
        [np.column_stack(pair) for pair in ((step, zero), (one, step), (1 - step, one), (zero, 1 - step))]
    )


def _seen(sheet: FoundSheet | None, shares: Points, box: Points) -> Points:
    """Return where points of the sheet, or of the box, (0..1 across, 0..1 down) are in the photo."""
    if sheet is None:
        return np.asarray(box[0] + shares * (box[1] - box[0]), np.float64)
    return sheet.surface.seen_px(shares * np.array([sheet.surface.width_mm, sheet.surface.height_mm]))


def _rings(mask: NDArray[np.bool_]) -> list[Points]:
    """Return the outlines of a mask of cells, strokes over it left aside, 0..1 across and down."""
    whole = cv2.morphologyEx(mask.astype(np.uint8) * 255, cv2.MORPH_CLOSE, _STROKES)
    grown = cv2.resize(whole, None, fx=2, fy=2, interpolation=cv2.INTER_LINEAR)
    found, _ = cv2.findContours((grown > 127).astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_SIMPLE)
    size = np.array(grown.shape[::-1], np.float64)
    return [(ring[:, 0].astype(np.float64) + 0.5) / size for ring in found]


def _covered(side: Side, frame_px: tuple[int, int]) -> list[Points]:
    """Return the stretches of a side in the picture at which its edge was not seen."""
    places = np.sort(side.seen[:, 0]) / side.length_px
    bounds = np.concatenate([[_END_FRACTION], places[(places > _END_FRACTION) & (places < 1 - _END_FRACTION)],
                             [1 - _END_FRACTION]])  # fmt: skip
    stretches = []
    for start, end in pairwise(bounds):
        if end - start > _GAP_FRACTION:
            points = side.points_px(np.linspace(start, end, 24) * side.length_px)
            inside = (points > 0).all(axis=1) & (points < np.array(frame_px)).all(axis=1)
            if inside.sum() > 1:
                stretches.append(points[inside])
    return stretches


def _hatched(panel: Panel, rings: tuple[Points, ...], scale: float, colour: Colour, slant: int) -> None:
    """Tint areas and rule slanting lines over them."""
    if not rings:
        return
    area = np.zeros(panel.shape[:2], np.uint8)
    cv2.fillPoly(area, [_fixed(ring * scale) for ring in rings], 255, cv2.LINE_AA, _FRACTION_BITS)
    y, x = np.mgrid[0 : panel.shape[0], 0 : panel.shape[1]]
    ruled = (x + slant * y) % _HATCH_PX < 2
    share = (np.where(ruled, 0.85, _TINT) * (area / 255.0))[:, :, None]
    panel[:] = (panel * (1 - share) + np.array(colour) * share + 0.5).astype(np.uint8)
    for ring in rings:
        _line(panel, ring * scale, colour, 2, True)


def _line(panel: Panel, points: Points, colour: Colour, width_px: int, closed: bool) -> None:
    cv2.polylines(panel, [_fixed(points)], closed, colour, width_px, cv2.LINE_AA, _FRACTION_BITS)


def _dashed(panel: Panel, points: Points, colour: Colour) -> None:
    """Draw every second stretch of a line."""
    for first in range(0, len(points) - 2, 4):
        _line(panel, points[first : first + 3], CASING, _EDGE_PX + 1, False)
        _line(panel, points[first : first + 3], colour, _EDGE_PX - 1, False)


def _fixed(points: Points) -> NDArray[np.int32]:
    """Return points (pixel edges at whole numbers) as OpenCV draws them (middles at whole numbers)."""
    limited = np.clip(points - 0.5, -4000.0, 8000.0)
    return np.asarray(np.round(limited * 2**_FRACTION_BITS), np.int32)
