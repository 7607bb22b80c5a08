"""The areas that touch-up steps speak of, checked, on the sheet, y up from its lower left corner."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from workers.errors import NoDrawingFoundError, ParameterOutOfRangeError
from workers.geometry.offsets import quarter_pieces
from workers.geometry.polygon_repair import region_of
from workers.touch_up.moved_drawing import moved
from workers.touch_up.turning import turned, turning_matrix
from workers.values.curved_artwork import CurvedArtwork
from workers.values.touch_up import Crop, Flip, Patch, PointMm, SetIn, Stroke

_LEAST_MM2 = 1e-6  # a thousandth of a millimetre square: nothing that was meant as an area
_LEAST_SIDE_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """The drawing's sides as they are when a step is done."""

    width_mm: float
    height_mm: float

    @property
    def area(self) -> Polygon:
        """The whole of it."""
        return box(0.0, 0.0, self.width_mm, self.height_mm)


def marked_area(mark: Patch | Stroke, sheet: Sheet, field: str) -> MultiPolygon:
    """Return what a polygon or a stroke covers of the sheet.

    Args:
        mark: The polygon, or the line and its width.
        sheet: Where it lies.
        field: JSON pointer of the step, for errors.

    Raises:
        ParameterOutOfRangeError: It crosses itself, has no area, or lies beside the sheet.
    """
    if isinstance(mark, Patch):
        field = f"{field}/polygon"
        return _on_sheet(_polygon(mark.polygon_mm, sheet, field), sheet, field)
    return _on_sheet(_stroke(mark, sheet), sheet, f"{field}/line")


def crop_box(step: Crop, sheet: Sheet, field: str) -> tuple[float, float, float, float]:
    """Return left, bottom, right, top of the part of the box that is on the sheet.

    Raises:
        ParameterOutOfRangeError: No part of it is.
    """
    left, right = max(step.left_mm, 0.0), min(step.left_mm + step.width_mm, sheet.width_mm)
    top_mm = sheet.height_mm + step.top_mm
    bottom, top = max(top_mm - step.height_mm, 0.0), min(top_mm, sheet.height_mm)
    if right - left < _LEAST_SIDE_MM or top - bottom < _LEAST_SIDE_MM:
        raise _beside(sheet, field)
    return left, bottom, right, top


def flip_point(step: Flip, sheet: Sheet, field: str) -> Point:
    """Return the point that was tapped.

    Raises:
        ParameterOutOfRangeError: It is not on the sheet.
    """
    point = Point(step.x_mm, sheet.height_mm + step.y_mm)
    if not sheet.area.covers(point):
        raise _beside(sheet, field)
    return point


def placed(step: SetIn, sheet: Sheet, field: str) -> tuple[MultiPolygon, CurvedArtwork]:
    """Return another drawing's ink where it is set in: turned, sized by its box, moved, cut at the sheet.

    Also returns the whole drawing there, with its curves.

    Raises:
        NoDrawingFoundError: The other drawing has no ink.
        ParameterOutOfRangeError: Its ink has no extent to be sized by, or comes to lie beside the sheet.
    """
    ink = step.drawing.artwork.ink.polygons
    if ink.is_empty:
        raise NoDrawingFoundError(
            "there is no ink in the drawing to be set in",
            field=f"{field}/drawing",
            remedy="link to a drawing with black areas",
        )
    upright = turned(ink, step.turn_deg)
    left, bottom, right, top = upright.bounds
    wanted_mm, has_mm = (
        (step.width_mm, right - left) if step.width_mm is not None else (step.height_mm, top - bottom)
    )
    if has_mm < _LEAST_SIDE_MM:
        raise ParameterOutOfRangeError(
            "the ink to be set in has no extent that could be enlarged",
            field=f"{field}/drawing",
            remedy="give the other side, or check the drawing",
        )
    scale = 1.0 if wanted_mm is None else wanted_mm / has_mm
    middle = np.array([(left + right) / 2, (bottom + top) / 2])
    place = np.array([step.x_mm, sheet.height_mm + step.y_mm])
    matrix = turning_matrix(step.turn_deg)
    whole = moved(step.drawing, lambda points: (points @ matrix - middle) * scale + place)
    return _on_sheet(whole.artwork.ink.polygons, sheet, field), whole


def _polygon(points_mm: tuple[PointMm, ...], sheet: Sheet, field: str) -> Polygon:
    shape = Polygon([(x, sheet.height_mm + y) for x, y in points_mm])
    if shapely.convex_hull(shape).area < _LEAST_MM2:  # all corners on one line
        raise ParameterOutOfRangeError(
            "the polygon encloses no area",
            field=field,
            remedy="give at least three corners that are not on one line",
        )
    if not shape.is_valid:
        raise ParameterOutOfRangeError(
            f"the polygon crosses or touches itself{_where(shape, sheet)}",
            field=field,
            remedy="go round the area once; for two areas use two steps",
        )
    return shape


def _where(shape: Polygon, sheet: Sheet) -> str:
    """Say where a polygon is at fault, as the sender counts."""
    found = shapely.is_valid_reason(shape).partition("[")[2].rstrip("]").split()
    if len(found) != 2:
        return ""
    return f" near x {float(found[0]):.1f}, y {sheet.height_mm - float(found[1]):.1f} mm"


def _stroke(mark: Stroke, sheet: Sheet) -> BaseGeometry:
    points = [(x, sheet.height_mm + y) for x, y in mark.line_mm]
    is_dot = len(set(points)) == 1
    radius_mm = mark.width_mm / 2
    line = Point(points[0]) if is_dot else LineString(points)
    return line.buffer(radius_mm, quad_segs=quarter_pieces(radius_mm))


def _on_sheet(shape: BaseGeometry, sheet: Sheet, field: str) -> MultiPolygon:
    """Return the part of a shape that lies on the sheet, or refuse."""
    found = region_of(shape.intersection(sheet.area)).polygons
    if found.is_empty:
        raise _beside(sheet, field)
    return found


def _beside(sheet: Sheet, field: str) -> ParameterOutOfRangeError:
    return ParameterOutOfRangeError(
        f"this place is not on the drawing, which is {sheet.width_mm:.1f} mm wide and "
        f"{sheet.height_mm:.1f} mm high when its turn comes",
        field=field,
        remedy="count x to the right and y down from the drawing's upper left corner, "
        "as the steps before have left it",
    )
