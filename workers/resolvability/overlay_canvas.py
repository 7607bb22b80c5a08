"""A picture in millimetres: areas, lines and words, drawn large and then made smooth by shrinking."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont
from shapely import affinity
from shapely.geometry import LineString, MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from workers.resolvability.overlay_style import Colour

_SUPERSAMPLING = 3
_UNSEEN_PX = 0.1  # a line that far off looks the same
_NARROWEST_PX = 1000  # room for the legend beneath a tall drawing


class Canvas:
    """A drawing of a frame in mm with room beneath for a legend; y goes up in the frame."""

    def __init__(
        self,
        frame_mm: tuple[float, float, float, float],
        longest_px: int,
        legend_px: int,
        paper: Colour,
        narrowest_px: int = _NARROWEST_PX,
    ) -> None:
        left, bottom, right, top = frame_mm
        self.px_per_mm = longest_px / max(right - left, top - bottom)
        drawn_px = (right - left) * self.px_per_mm
        self.width_px = max(narrowest_px, round(drawn_px))
        self.height_px = max(1, round((top - bottom) * self.px_per_mm))
        self._left_mm = left - (self.width_px - drawn_px) / 2 / self.px_per_mm
        self._top_mm = top
        size = (self.width_px * _SUPERSAMPLING, (self.height_px + legend_px) * _SUPERSAMPLING)
        self._image = Image.new("RGB", size, paper)
        self._draw = ImageDraw.Draw(self._image)

    def area(self, polygon: Polygon, fill: Colour, hole: Colour, edge: Colour) -> None:
        """Fill a polygon; what lies in its holes must be drawn after it."""
        self._draw.polygon(self._large(np.asarray(polygon.exterior.coords)), fill=fill, outline=edge)
        for ring in polygon.interiors:
            self._draw.polygon(self._large(np.asarray(ring.coords)), fill=hole, outline=edge)

    def hatched(
        self, area: BaseGeometry, fill: Colour, colour: Colour, spacing_px: float, angle_deg: float
    ) -> None:
        """Fill an area of the frame and rule lines across it, in one direction."""
        shape = shapely.transform(area, lambda points_mm: self.px(points_mm))
        for triangle in shapely.get_parts(shapely.constrained_delaunay_triangles(shape)):  # so holes stay
            corners_px = np.asarray(triangle.exterior.coords) * _SUPERSAMPLING
            self._draw.polygon([(float(x), float(y)) for x, y in corners_px], fill=fill, outline=fill)
        left, bottom, right, top = shape.bounds
        reach_px = max(right - left, top - bottom) + spacing_px
        steps_px = np.arange(-reach_px, reach_px, spacing_px)
        middle = ((left + right) / 2, (bottom + top) / 2)
        rules = [LineString([(-reach_px, step), (reach_px, step)]) for step in steps_px]
        turned = affinity.translate(
            affinity.rotate(MultiLineString(rules), angle_deg, origin=(0, 0)), *middle
        )
        for rule in shapely.get_parts(shapely.intersection(turned, shape)):
            if isinstance(rule, LineString):
                self.line_px(shapely.get_coordinates(rule), colour, 1.5)

    def line(
        self,
        points_mm: NDArray[np.float64],
        colour: Colour,
        width_px: float,
        dash_px: Sequence[float] = (),
    ) -> None:
        """Draw a line, or a disc where there is a single point."""
        points_px = _thinned(self.px(points_mm))
        if len(points_px) == 1:
            self.disc_px(points_px[0], max(width_px, 3.0), colour)
            return
        self.dashed_px(points_px, colour, width_px, dash_px)

    def dashed_px(
        self, points_px: NDArray[np.float64], colour: Colour, width_px: float, dash_px: Sequence[float]
    ) -> None:
        """Draw a line between places of the picture, dashed if there is a pattern."""
        for piece in _dashes(points_px, dash_px) if dash_px else (points_px,):
            self.line_px(piece, colour, width_px)

    def line_px(self, points_px: NDArray[np.float64], colour: Colour, width_px: float) -> None:
        """Draw an unbroken line between places of the picture."""
        large = [(float(x), float(y)) for x, y in points_px * _SUPERSAMPLING]
        self._draw.line(large, fill=colour, width=max(1, round(width_px * _SUPERSAMPLING)), joint="curve")

    def ring(self, at_mm: tuple[float, float], colour: Colour, radius_px: float) -> None:
        """Draw a ring round a place."""
        x, y = self.px(np.array([at_mm]))[0] * _SUPERSAMPLING
        radius = radius_px * _SUPERSAMPLING
        box = (x - radius, y - radius, x + radius, y + radius)
        self._draw.ellipse(box, outline=colour, width=round(1.5 * _SUPERSAMPLING))

    def disc_px(self, at_px: NDArray[np.float64], radius_px: float, colour: Colour) -> None:
        """Draw a disc at a place of the picture."""
        x, y = at_px * _SUPERSAMPLING
        radius = radius_px * _SUPERSAMPLING
        self._draw.ellipse((x - radius, y - radius, x + radius, y + radius), fill=colour)

    def words(
        self, x_px: float, y_px: float, text: str, size_px: float, colour: Colour, anchor: str = "lm"
    ) -> None:
        """Write a line of text, vertically centred on y, from x on or ("mm") centred on it."""
        font = ImageFont.load_default(size_px * _SUPERSAMPLING)
        place = (x_px * _SUPERSAMPLING, y_px * _SUPERSAMPLING)
        self._draw.text(place, text, fill=colour, font=font, anchor=anchor)

    def px(self, points_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return places of the frame as places of the finished picture."""
        offset_mm = points_mm[:, :2] - (self._left_mm, self._top_mm)
        return np.asarray(offset_mm * (self.px_per_mm, -self.px_per_mm))

    def box_mm(
        self, left_px: float, top_px: float, right_px: float, bottom_px: float
    ) -> tuple[float, float, float, float]:
        """Return left, top, right and bottom of a box of the picture, in the frame."""
        x_mm, y_mm = self._left_mm, self._top_mm
        k = self.px_per_mm
        return x_mm + left_px / k, y_mm - top_px / k, x_mm + right_px / k, y_mm - bottom_px / k

    def finished(self) -> Image.Image:
        """Return the picture at its size."""
        return self._image.reduce(_SUPERSAMPLING)

    def _large(self, points_mm: NDArray[np.float64]) -> list[tuple[float, float]]:
        return [(float(x), float(y)) for x, y in self.px(points_mm) * _SUPERSAMPLING]


def _thinned(points_px: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a line without points that nobody would see: every joint is drawn as a disc, which costs."""
    if len(points_px) < 3:
        return points_px
    return shapely.get_coordinates(shapely.simplify(LineString(points_px), _UNSEEN_PX))


def _dashes(points_px: NDArray[np.float64], dash_px: Sequence[float]) -> Iterator[NDArray[np.float64]]:
    """Yield the drawn pieces of a dashed line."""
    steps_px = np.diff(points_px, axis=0)
    along_px = np.concatenate([[0.0], np.cumsum(np.hypot(steps_px[:, 0], steps_px[:, 1]))])
    for start, end in _drawn(float(along_px[-1]), dash_px):
        inner = points_px[(along_px > start) & (along_px < end)]
        ends = np.column_stack([np.interp([start, end], along_px, points_px[:, axis]) for axis in (0, 1)])
        yield np.vstack([ends[:1], inner, ends[1:]])


def _drawn(length_px: float, dash_px: Sequence[float]) -> Iterable[tuple[float, float]]:
    """Yield where the drawn parts of a dash pattern begin and end."""
    start, number = 0.0, 0
    while start < length_px:
        end = min(start + dash_px[number % len(dash_px)], length_px)
        if number % 2 == 0:
            yield start, end
        start, number = end, number + 1
