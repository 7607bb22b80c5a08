"""Ground that runs out over the board's edge: what is cut of it beyond the board."""

from __future__ import annotations

from shapely.geometry import MultiPolygon, Polygon

from workers.values.design import Design
from workers.values.region import Region

_TOUCHING_MM = 0.02  # how far ground may end from the edge it runs out over: chords and rounding


def ground_beyond(design: Design, beyond_mm: float) -> Region:
    """Return the ink, and where the ground runs out over the board's edge as much of the waste beside it.

    Args:
        design: The sign.
        beyond_mm: From the board's edge outwards.

    >>> from shapely.geometry import box
    >>> from workers.values.design import Board
    >>> board = Board(width_mm=20, height_mm=10, thickness_mm=9, material="basswood")
    >>> ink = Region(MultiPolygon([box(0, 0, 20, 10).difference(box(5, 4, 15, 6))]))
    >>> design = Design(board=board, outline=box(0, 0, 20, 10), ink=ink, past_edge_mm=3)
    >>> ground_beyond(design, 1.0).polygons.bounds
    (-1.0, -1.0, 21.0, 11.0)
    """
    if not design.past_edge_mm:
        return design.ink
    return _ending_at(design, design.ink, design.outline.buffer(beyond_mm))


def ground_within(design: Design, ground: Region) -> Region:
    """Return ground from beyond the board as far as it lies on the board."""
    return _ending_at(design, ground, design.outline) if design.past_edge_mm else ground


def standing_on(design: Design) -> MultiPolygon:
    """Return what stands on ground that runs out over the edge."""
    rings = [
        ring for part in design.ink.polygons.geoms if _is_outermost(part, design) for ring in part.interiors
    ]
    return MultiPolygon([Polygon(ring) for ring in rings])


def _ending_at(design: Design, ground: Region, edge: Polygon) -> Region:
    parts = [
        Polygon(edge.exterior, list(part.interiors)) if _is_outermost(part, design) else part
        for part in ground.polygons.geoms
    ]
    return Region(MultiPolygon(parts))


def _is_outermost(part: Polygon, design: Design) -> bool:
    return Polygon(part.exterior).buffer(_TOUCHING_MM).covers(design.outline)
