"""Each touch-up step on ink coverage. The edge of the ink stays at half coverage."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

from workers.errors import ImageTooLargeError
from workers.touch_up.connected import flipped_at, without_specks
from workers.touch_up.marked_areas import Sheet, crop_box, flip_point, marked_area, placed
from workers.touch_up.moved_edge import reach_rows, widened
from workers.touch_up.polygon_coverage import Covered, polygon_coverage
from workers.touch_up.turning import cos_sin
from workers.values import touch_up
from workers.values.image import InkCoverage

Pixels = NDArray[np.uint8]
PAPER = 255
_LONGEST_SIDE_PX = 32_000  # what the warping below can address


def coverage_sheet(coverage: InkCoverage) -> Sheet:
    """Return the sides of a picture, mm."""
    rows, columns = coverage.pixels.shape
    return Sheet(width_mm=columns * coverage.mm_per_px, height_mm=rows * coverage.mm_per_px)


def step_on_coverage(coverage: InkCoverage, step: touch_up.TouchUp, field: str) -> InkCoverage:
    """Return a picture after one step.

    Args:
        coverage: The picture.
        step: What to do.
        field: JSON pointer of the step, for errors.

    Raises:
        ParameterOutOfRangeError: The step cannot be done on this drawing.
        NoDrawingFoundError: A drawing to be set in has no ink.
        ImageTooLargeError: Turned, the picture would be too large.
    """
    return InkCoverage(pixels=_STEPS[type(step)](coverage, step, field), mm_per_px=coverage.mm_per_px)


def _turn(coverage: InkCoverage, step: touch_up.Turn, field: str) -> Pixels:
    if step.turn_deg % 90 == 0:
        return np.rot90(coverage.pixels, round(step.turn_deg / 90) % 4)
    rows, columns = coverage.pixels.shape
    cos, sin = cos_sin(step.turn_deg)
    width, height = (
        abs(columns * cos) + abs(rows * sin),
        abs(columns * sin) + abs(rows * cos),
    )
    size = math.ceil(width - 1e-9), math.ceil(height - 1e-9)
    if max(size) > _LONGEST_SIDE_PX:
        raise ImageTooLargeError(
            f"turned, the picture would be {size[0]} x {size[1]} pixels",
            field=field,
            remedy=f"crop it first: at most {_LONGEST_SIDE_PX} pixels a side are taken",
        )
    # back from the new picture to the old: rows count downwards, so anticlockwise is (cos, -sin; sin, cos)
    back = np.array([[cos, -sin], [sin, cos]])
    middle = np.array([columns, rows]) / 2
    shift = middle - back @ (np.array([width, height]) / 2 - 0.5) - 0.5  # pixel centres lie at half integers
    return np.asarray(
        cv2.warpAffine(
            coverage.pixels,
            np.column_stack([back, shift]),
            size,
            flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_CONSTANT,
            borderValue=PAPER,
        ),
        np.uint8,
    )


def _mirror(coverage: InkCoverage, step: touch_up.Mirror, _field: str) -> Pixels:
    return coverage.pixels[:, ::-1] if step.is_left_right else coverage.pixels[::-1]


def _crop(coverage: InkCoverage, step: touch_up.Crop, field: str) -> Pixels:
    sheet = coverage_sheet(coverage)
    left_mm, bottom_mm, right_mm, top_mm = crop_box(step, sheet, field)
    rows, columns = coverage.pixels.shape
    left, right = _whole(left_mm, right_mm, coverage.mm_per_px, columns)
    top, bottom = _whole(sheet.height_mm - top_mm, sheet.height_mm - bottom_mm, coverage.mm_per_px, rows)
    return coverage.pixels[top:bottom, left:right]


def _whole(start_mm: float, end_mm: float, mm_per_px: float, count: int) -> tuple[int, int]:
    """Return a span rounded to whole pixels, at least one."""
    start = min(math.floor(start_mm / mm_per_px + 0.5), count - 1)
    return start, max(min(math.floor(end_mm / mm_per_px + 0.5), count), start + 1)


def _invert(coverage: InkCoverage, _step: touch_up.Invert, _field: str) -> Pixels:
    return PAPER - coverage.pixels


def _erase(coverage: InkCoverage, step: touch_up.Erase, field: str) -> Pixels:
    covered = _covered(coverage, marked_area(step.area, coverage_sheet(coverage), field))
    return _blended(coverage.pixels, covered, np.uint8(PAPER))


def _keep(coverage: InkCoverage, step: touch_up.Keep, field: str) -> Pixels:
    covered = _covered(coverage, marked_area(step.area, coverage_sheet(coverage), field))
    return _blended(np.full_like(coverage.pixels, PAPER), covered, coverage.pixels[covered.window])


def _remove_specks(coverage: InkCoverage, step: touch_up.RemoveSpecks, _field: str) -> Pixels:
    return without_specks(coverage.pixels, step.below_mm2 / coverage.mm_per_px**2)


def _flip(coverage: InkCoverage, step: touch_up.Flip, field: str) -> Pixels:
    sheet = coverage_sheet(coverage)
    point = flip_point(step, sheet, field)
    rows, columns = coverage.pixels.shape
    row = min(int((sheet.height_mm - point.y) / coverage.mm_per_px), rows - 1)
    column = min(int(point.x / coverage.mm_per_px), columns - 1)
    return flipped_at(coverage.pixels, row, column)


def _draw(coverage: InkCoverage, step: touch_up.Draw, field: str) -> Pixels:
    return _inked(coverage, marked_area(step.area, coverage_sheet(coverage), field))


def _set_in(coverage: InkCoverage, step: touch_up.SetIn, field: str) -> Pixels:
    ink, _ = placed(step, coverage_sheet(coverage), field)
    return _inked(coverage, ink)


def _thicken(coverage: InkCoverage, step: touch_up.Thicken, field: str) -> Pixels:
    return _moved(coverage, step, field, is_wider=True)


def _thin(coverage: InkCoverage, step: touch_up.Thin, field: str) -> Pixels:
    return _moved(coverage, step, field, is_wider=False)


def _moved(
    coverage: InkCoverage, step: touch_up.Thicken | touch_up.Thin, field: str, is_wider: bool
) -> Pixels:
    """Move the ink's edge, everywhere or within a polygon; beyond the sheet there is no ink."""
    by_px = step.by_mm / coverage.mm_per_px
    rows, columns = coverage.pixels.shape
    if step.within is None:
        covered = Covered((slice(0, rows), slice(0, columns)), np.ones((rows, columns), np.float32))
    else:
        covered = _covered(coverage, marked_area(step.within, coverage_sheet(coverage), field))
    rimmed = np.pad(coverage.pixels, 1, constant_values=PAPER)  # one pixel shows all that lies beyond
    reach = reach_rows(by_px)
    starts = [max(span.start + 1 - reach, 0) for span in covered.window]
    around = rimmed[
        tuple(slice(start, span.stop + 1 + reach) for start, span in zip(starts, covered.window, strict=True))
    ]
    moved = widened(around, by_px) if is_wider else PAPER - widened(PAPER - around, by_px)
    inside = tuple(
        slice(span.start + 1 - start, span.stop + 1 - start)
        for start, span in zip(starts, covered.window, strict=True)
    )
    return _blended(coverage.pixels, covered, moved[inside])


def _covered(coverage: InkCoverage, area: MultiPolygon) -> Covered:
    rows, columns = coverage.pixels.shape
    return polygon_coverage(area, rows, columns, coverage.mm_per_px, coverage_sheet(coverage).height_mm)


def _blended(pixels: Pixels, covered: Covered, inside: Pixels | np.uint8) -> Pixels:
    """Return the picture with another inside an area; on its edge each has its share of the pixel."""
    share = covered.fraction
    changed = pixels.copy()
    changed[covered.window] = np.rint(pixels[covered.window] * (1 - share) + inside * share).astype(np.uint8)
    return changed


def _inked(coverage: InkCoverage, area: MultiPolygon) -> Pixels:
    """Return the picture with an area of ink laid over it: the darker of the two."""
    covered = _covered(coverage, area)
    laid = np.rint(PAPER * (1 - covered.fraction)).astype(np.uint8)
    changed = coverage.pixels.copy()
    changed[covered.window] = np.minimum(changed[covered.window], laid)
    return changed


_STEPS: dict[type, Callable[[InkCoverage, Any, str], Pixels]] = {
    touch_up.Turn: _turn,
    touch_up.Mirror: _mirror,
    touch_up.Crop: _crop,
    touch_up.Invert: _invert,
    touch_up.Erase: _erase,
    touch_up.Keep: _keep,
    touch_up.RemoveSpecks: _remove_specks,
    touch_up.Flip: _flip,
    touch_up.Draw: _draw,
    touch_up.SetIn: _set_in,
    touch_up.Thicken: _thicken,
    touch_up.Thin: _thin,
}
