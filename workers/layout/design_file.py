"""A design as a file: JSON for machines. Its drawing is in ``design_drawing``."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

from workers.geometry.filling import filled
from workers.geometry.polygon_repair import on_grid
from workers.layout.design_drawing import draw_design, read_drawing
from workers.layout.design_record import DAMAGE, LONGEST_MM, design_of, record_of, refusal
from workers.values.design import Design
from workers.values.region import Region

__all__ = ["draw_design", "read_design", "write_design"]

_DECIMALS = 5  # the grid on which all ink lies


def write_design(design: Design) -> bytes:
    """Return a design as JSON: record_of() and ``ink``, [{outer, holes}] of [x, y] rings, mm, y up.

    Of several tones ``darker`` has an entry like ``ink`` for each but the palest.
    """
    areas: dict[str, Any] = {"ink": _area(design.ink)}
    if design.darker:
        areas["darker"] = [_area(tone) for tone in design.darker]
    text = json.dumps(record_of(design) | areas, ensure_ascii=False, separators=(",", ":"))
    return text.encode()


def read_design(data: bytes, field: str) -> Design:
    """Return the design of design.json, or of design.svg as we draw it.

    Args:
        data: The file.
        field: JSON pointer of the link that named it, for errors.

    Raises:
        InputRejectedError: It is neither, or is damaged.
        ParameterOutOfRangeError: Its ink lies beyond its board.
        UnsafeSvgError: An SVG with entities or a document type.
    """
    if data.lstrip()[:1] == b"<":
        return read_drawing(data, field)
    try:
        record = json.loads(data)
        polygons = [_polygon(entry) for entry in record["ink"]]
        darker = [[_polygon(entry) for entry in tone] for tone in record.get("darker", [])]
    except DAMAGE as error:
        raise refusal("it is neither our JSON nor our SVG", field) from error
    return design_of(record, _sound(polygons), field, [_sound(tone) for tone in darker])


def _area(region: Region) -> list[dict[str, Any]]:
    return [
        {"outer": _ring(polygon.exterior), "holes": [_ring(hole) for hole in polygon.interiors]}
        for polygon in region.polygons.geoms
    ]


def _ring(ring: shapely.LinearRing) -> list[list[float]]:
    points: list[list[float]] = np.round(shapely.get_coordinates(ring)[:-1], _DECIMALS).tolist()
    return points


def _polygon(entry: Any) -> Polygon:
    return Polygon(_points(entry["outer"]), [_points(hole) for hole in entry["holes"]])


def _points(ring: Any) -> NDArray[np.float64]:
    points = np.array(ring, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 2 or not (np.abs(points) <= LONGEST_MM).all():
        raise ValueError("a ring is a list of points with two numbers, none past all size")
    return points


def _sound(polygons: list[Polygon]) -> Region:
    """The polygons themselves where they are sound, as ours are; else what their rings fill."""
    area = MultiPolygon(polygons)
    if area.is_valid:
        return Region(area)
    rings = [shapely.get_coordinates(ring)[:-1] for p in polygons for ring in (p.exterior, *p.interiors)]
    return on_grid(filled(rings, is_even_odd=True))
