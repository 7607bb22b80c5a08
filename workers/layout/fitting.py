"""Does everything lie on the board, clear of its edge and of the holes?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Point, Polygon
from shapely.geometry.polygon import orient

from workers.cutting_data.tables import MATERIALS
from workers.errors import ParameterOutOfRangeError
from workers.layout.areas import ring_of
from workers.layout.board_outline import board_outline
from workers.values.design import Board, Hole

_WALL_MM = 1.0  # between ink and edge where the material's own figure is not known (common practice)
_SLACK_MM = 0.01  # chords and rounding
_SMALLEST_SIZE_FRACTION = 0.2  # a smaller proposal helps nobody: say move it instead


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """One thing on the board, and how the order spoke of it."""

    kind: str
    title: str
    area: MultiPolygon
    field: str  # JSON pointer of what to change
    anchor_mm: tuple[float, float]  # the point about which it grows
    size_name: str  # "width", "height", "cap height", "" where it has no size to change
    size_mm: float
    darker: tuple[MultiPolygon, ...] = ()  # of art in several tones: the area without the palest, and so on
    enlarged: float = 1.0  # over the size that it was drawn at


def least_wall_mm(board: Board) -> float:
    """Return how much board must stay between a cut and the edge or a hole."""
    known = MATERIALS.get(board.material)
    return known.thinnest_wall_mm if known is not None else _WALL_MM


def refuse_misfits(board: Board, placed: Sequence[Placed], holes: Sequence[Hole]) -> None:
    """Check everything against the edge, then the holes, then both against each other.

    Raises:
        ParameterOutOfRangeError: For the first that does not fit: by how much, and what would.
    """
    wall_mm = least_wall_mm(board)
    edge = board_outline(board)
    for entry in placed:
        _refuse_past_edge(board, entry, placed, wall_mm)
    for number, hole in enumerate(holes):
        _refuse_hole(edge, hole, number, wall_mm)
        _refuse_close_holes(hole, holes[:number], number, wall_mm)
        for entry in placed:
            _refuse_hole_in_ink(entry, hole, number, wall_mm)


def largest_inside_border(board: Board, entry: Placed, placed: Sequence[Placed]) -> float | None:
    """Return how large a thing may get where it is anchored, clear of the border, or of the edge without one.

    Returns:
        Its width, height or cap height, rounded down to 0.1 mm; None if there is none worth telling.
    """
    wall_mm = least_wall_mm(board)
    allowed = _clear_of_edge(board, wall_mm)
    for border in placed:
        if border.kind == "border" and entry.kind != "border":
            allowed = orient(Polygon(border.area.geoms[0].interiors[0]).buffer(-wall_mm, join_style="mitre"))
    if not entry.size_name or allowed.is_empty:
        return None
    hull = shapely.get_coordinates(entry.area.convex_hull)
    share = _largest_scale(allowed, np.array(entry.anchor_mm), hull)
    return None if share < _SMALLEST_SIZE_FRACTION else float(np.floor(share * entry.size_mm * 10) / 10)


def _clear_of_edge(board: Board, wall_mm: float) -> Polygon:
    return board_outline(board, min(wall_mm, 0.49 * min(board.width_mm, board.height_mm)))


def _refuse_past_edge(board: Board, entry: Placed, placed: Sequence[Placed], wall_mm: float) -> None:
    allowed = _clear_of_edge(board, wall_mm)
    hull = shapely.get_coordinates(entry.area.convex_hull)
    distances_mm = shapely.distance(allowed, shapely.points(hull))
    over_mm = float(distances_mm.max())
    if over_mm <= _SLACK_MM:
        return
    raise ParameterOutOfRangeError(
        f"{entry.title} reaches {over_mm:.1f} mm too far, {_side(board, hull, wall_mm)}: "
        f"{wall_mm:g} mm of board must stay between a groove and the edge",
        field=entry.field,
        remedy=_edge_remedy(board, entry, placed),
    )


def _side(board: Board, hull: NDArray[np.float64], wall_mm: float) -> str:
    low, high = hull.min(axis=0), hull.max(axis=0)
    over = {
        "to the left": wall_mm - low[0],
        "to the right": high[0] - board.width_mm + wall_mm,
        "downwards": wall_mm - low[1],
        "upwards": high[1] - board.height_mm + wall_mm,
    }
    worst = max(over, key=lambda side: over[side])
    return worst if over[worst] > _SLACK_MM else "into a rounded corner"


def _edge_remedy(board: Board, entry: Placed, placed: Sequence[Placed]) -> str:
    if not entry.size_name:
        return "Set it farther inside, or take a larger board."
    largest_mm = largest_inside_border(board, entry, placed)
    if largest_mm is None:
        return (
            f"Move it towards the middle of the board, which is {board.width_mm:g} mm wide and "
            f"{board.height_mm:g} mm high, or make it smaller."
        )
    return (
        f"At this place the largest {entry.size_name} that fits is {largest_mm:.1f} mm "
        f"(now {entry.size_mm:.1f} mm); or move it, or take a larger board."
    )


def _largest_scale(allowed: Polygon, anchor: NDArray[np.float64], hull: NDArray[np.float64]) -> float:
    """How much the points may grow about the anchor within a convex area; 0 if the anchor is outside."""
    ring = ring_of(allowed)
    along = np.diff(ring, axis=0)
    outward = np.column_stack((along[:, 1], -along[:, 0]))
    room = np.einsum("ij,ij->i", outward, ring[:-1] - anchor)
    reach = (outward @ (hull - anchor).T).max(axis=1)
    limits = np.where(reach > 0, room / np.where(reach > 0, reach, 1.0), np.inf)
    return max(0.0, float(limits.min()))


def _refuse_hole(edge: Polygon, hole: Hole, number: int, wall_mm: float) -> None:
    centre = Point(hole.x_mm, hole.y_mm)
    stays_mm = (centre.distance(edge.exterior) if edge.contains(centre) else 0.0) - hole.diameter_mm / 2
    if stays_mm < wall_mm - _SLACK_MM:
        raise ParameterOutOfRangeError(
            f"hole {number + 1} leaves {max(0.0, stays_mm):.1f} mm to the board's edge; "
            f"at least {wall_mm:g} mm must stay",
            field=f"/inputs/holes/{number}",
            remedy="Move the hole inwards, or make it smaller.",
        )


def _refuse_close_holes(hole: Hole, earlier: Sequence[Hole], number: int, wall_mm: float) -> None:
    for other_number, other in enumerate(earlier):
        apart_mm = float(np.hypot(hole.x_mm - other.x_mm, hole.y_mm - other.y_mm))
        stays_mm = apart_mm - (hole.diameter_mm + other.diameter_mm) / 2
        if stays_mm < wall_mm - _SLACK_MM:
            raise ParameterOutOfRangeError(
                f"holes {other_number + 1} and {number + 1} leave {max(0.0, stays_mm):.1f} mm between them; "
                f"at least {wall_mm:g} mm must stay",
                field=f"/inputs/holes/{number}",
                remedy="Move them apart.",
            )


def _refuse_hole_in_ink(entry: Placed, hole: Hole, number: int, wall_mm: float) -> None:
    stays_mm = entry.area.distance(Point(hole.x_mm, hole.y_mm)) - hole.diameter_mm / 2
    if stays_mm < wall_mm - _SLACK_MM:
        found = "cuts into" if stays_mm < 0 else f"comes within {stays_mm:.1f} mm of"
        raise ParameterOutOfRangeError(
            f"hole {number + 1} {found} {entry.title}; at least {wall_mm:g} mm must stay between them",
            field=f"/inputs/holes/{number}",
            remedy=f"Move the hole, or make {entry.title} smaller.",
        )
