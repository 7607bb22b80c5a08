"""Openings in a board as outlines, and whether a bit that goes round one leaves a piece of board in it."""

from __future__ import annotations

import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

from workers.values.design import Opening, OpeningShape

_QUARTER_CHORDS = 64  # of a quarter circle: within 0.002 mm up to 50 mm of diameter
_CORE_DIAMETERS = 2.0  # pieces narrower than two bits are cut away whole: nothing would hold them
_LEAST_CORE_MM2 = 100.0  # of the piece: a square of one and a half tabs (common practice)


def opening_outline(opening: Opening) -> Polygon:
    """Return an opening's outline in the board frame.

    >>> from workers.values.design import Opening, OpeningShape
    >>> slot = Opening(shape=OpeningShape.SLOT, x_mm=0, y_mm=0, length_mm=10, width_mm=4)
    >>> round(opening_outline(slot).area, 2), opening_outline(slot).bounds
    (36.57, (-5.0, -2.0, 5.0, 2.0))
    """
    plain = {
        OpeningShape.RECTANGLE: _rectangle,
        OpeningShape.SLOT: _slot,
        OpeningShape.KEYHOLE: _keyhole,
    }[opening.shape](opening)
    turned = affinity.rotate(plain, opening.turn_deg, origin=(0, 0))
    return shapely.Polygon(affinity.translate(turned, opening.x_mm, opening.y_mm).exterior)


def leaves_core(outline: Polygon, bit_diameter_mm: float) -> bool:
    """Return whether a bit cuts only round an opening and leaves the piece within, held by tabs.

    Small openings are cut away whole: a small piece that comes loose is thrown, and has no room for tabs.
    """
    core = outline.buffer(-bit_diameter_mm)
    return core.area >= _LEAST_CORE_MM2 and not outline.buffer(-_CORE_DIAMETERS * bit_diameter_mm).is_empty


def _rectangle(opening: Opening) -> Polygon:
    radius_mm = opening.corner_radius_mm
    half_mm, rise_mm = opening.length_mm / 2 - radius_mm, opening.width_mm / 2 - radius_mm
    inner = box(-half_mm, -rise_mm, half_mm, rise_mm)
    return inner.buffer(radius_mm, quad_segs=_QUARTER_CHORDS) if radius_mm else inner


def _slot(opening: Opening) -> Polygon:
    radius_mm = opening.width_mm / 2
    reach_mm = opening.length_mm / 2 - radius_mm
    return LineString([(-reach_mm, 0), (reach_mm, 0)]).buffer(radius_mm, quad_segs=_QUARTER_CHORDS)


def _keyhole(opening: Opening) -> Polygon:
    head_mm, neck_mm = opening.head_mm / 2, opening.width_mm / 2
    head = Point(0, 0).buffer(head_mm, quad_segs=_QUARTER_CHORDS)
    end_mm = opening.length_mm - neck_mm
    neck = LineString([(0, 0), (0, end_mm)]).buffer(neck_mm, quad_segs=_QUARTER_CHORDS)
    return Polygon(shapely.get_coordinates(head.union(neck)))
