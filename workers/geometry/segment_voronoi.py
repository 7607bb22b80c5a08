"""Which side or corner of an area's outline is nearest: its segment Voronoi diagram, in plain arrays.

The diagram itself is built by Boost.Polygon on integers, where it is exact. Reading it
costs as much as building it when every edge becomes an object of Python; the walks round
the cells hold the same facts as lists, so only those are read.
"""

from __future__ import annotations

import gc
from array import array
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyvoronoi
import shapely
from numpy.typing import NDArray

from workers.errors import DeviationNotMetError, LimitExceededError
from workers.values.region import Region

SEGMENT, START_POINT, END_POINT = 0, 1, 2  # what of its side a cell belongs to
NOWHERE = -1  # the vertex of an edge that runs to infinity

FINEST_PER_MM = 1_000_000  # rounding then moves no point by more than 0.71 nm
_LARGEST_INTEGER = 2**31 - 1  # what the diagram's builder takes
_RECKONING = 1e-3  # of the grid: its vertices are told in floating point


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SegmentVoronoi:
    """The diagram of an outline's sides and corners. Half edges 2i and 2i + 1 are twins.

    A half edge runs from one vertex to the next with its cell on its left.
    """

    sides_mm: NDArray[np.float64]  # (n, 4) x0, y0, x1, y1; the area lies to the left
    following: NDArray[np.int32]  # (n,) the side that starts where this one ends
    turns: NDArray[np.int8]  # (n,) at the side's start: 1 convex, -1 reflex, 0 straight on
    shared: NDArray[np.bool_]  # (n,) True where more than two sides meet at the start
    vertices_mm: NDArray[np.float64]  # (v, 2)
    meeting: NDArray[np.bool_]  # (v,) True for a vertex on a corner at which rings touch
    starts: NDArray[np.int32]  # (2e,) vertex or NOWHERE, by half edge
    cells: NDArray[np.int32]  # (2e,) cell on the left
    cell_sides: NDArray[np.int32]  # (c,) side
    cell_parts: NDArray[np.int8]  # (c,) SEGMENT, START_POINT or END_POINT of it
    grid_mm: float  # the outline was rounded to this grid
    area_mm: shapely.MultiPolygon  # the area, rounded


def segment_voronoi(region: Region, finest_per_mm: int = FINEST_PER_MM) -> SegmentVoronoi:
    """Return the Voronoi diagram of the sides and corners of an area.

    Args:
        region: The area, not empty; cleaned here on the integer grid, for crossing
            sides would yield vertices without a place.
        finest_per_mm: Of the grid. An area known to lie on a coarser one need not be refined:
            the fewer digits, the fewer doubts the builder has to settle in long arithmetic.

    Raises:
        LimitExceededError: The area is more than two kilometres across.
        DeviationNotMetError: The diagram has a vertex without a place.
    """
    per_mm, centre_mm = _grid_of(region, finest_per_mm)
    area = shapely.set_precision(
        shapely.transform(region.polygons, lambda points: (points - centre_mm) * per_mm), 1.0
    )
    sides, following = _sides_of(area)
    with _collector_at_rest():
        diagram = _constructed(sides)
        starts, cells, cell_sides, categories = _read_cells(diagram)
        vertices = _read_vertices(diagram)
    if not np.isfinite(vertices).all():
        raise DeviationNotMetError(
            "the medial axis of this drawing could not be built: its outline crosses itself"
        )
    shared = _shared_starts(sides)
    return SegmentVoronoi(
        sides_mm=sides / per_mm + np.tile(centre_mm, 2),
        following=following,
        turns=_turns(sides, following),
        shared=shared,
        vertices_mm=vertices / per_mm + centre_mm,
        meeting=_on_corners(vertices, sides[shared, :2]),
        starts=starts,
        cells=cells,
        cell_sides=cell_sides,
        cell_parts=np.where(categories <= END_POINT, categories, SEGMENT).astype(np.int8),
        grid_mm=1 / per_mm,
        area_mm=shapely.transform(area, lambda points: points / per_mm + centre_mm),
    )


def _grid_of(region: Region, finest_per_mm: int) -> tuple[int, NDArray[np.float64]]:
    """Return the finest grid, by powers of ten, on which the area fits the integers, and its centre."""
    box_mm = np.reshape(region.polygons.bounds, (2, 2))
    centre_mm = np.round(box_mm.mean(axis=0))
    reach_mm = float(np.abs(box_mm - centre_mm).max()) + 1
    per_mm = finest_per_mm
    while per_mm * reach_mm > _LARGEST_INTEGER:
        per_mm //= 10
    if per_mm < 1000:
        raise LimitExceededError(
            f"a drawing {2 * reach_mm:.0f} mm across is too large to measure its strokes"
        )
    return per_mm, centre_mm


def _sides_of(area: Any) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    """Return all sides of all rings, the area to their left, and which side comes after each."""
    rings = shapely.get_rings(shapely.get_parts(shapely.orient_polygons(area)))
    points, ring_of_point = shapely.get_coordinates(rings, return_index=True)
    is_first = np.diff(ring_of_point, prepend=-1) > 0
    is_last = np.diff(ring_of_point, append=len(rings)) > 0
    sides = np.rint(np.hstack([points[~is_last], points[~is_first]]))
    counts = np.bincount(ring_of_point[~is_last], minlength=len(rings))
    firsts = np.cumsum(counts) - counts
    following = np.arange(1, len(sides) + 1, dtype=np.int32)
    following[firsts + counts - 1] = firsts
    return sides, following


def _turns(sides: NDArray[np.float64], following: NDArray[np.int32]) -> NDArray[np.int8]:
    """Return which way the outline turns at the start of each side."""
    along = sides[:, 2:] - sides[:, :2]
    after = along[following]
    turns = np.empty(len(sides), np.int8)
    turns[following] = np.sign(along[:, 0] * after[:, 1] - along[:, 1] * after[:, 0])
    return turns


def _shared_starts(sides: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Tell for each side whether rings touch at its start."""
    _, place, counts = np.unique(_keys(sides[:, :2]), return_inverse=True, return_counts=True)
    return np.asarray(counts[place] > 1)


def _on_corners(vertices: NDArray[np.float64], corners: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Tell which vertices lie on one of the corners, but for the last digits of their reckoning."""
    nearest = np.rint(vertices)
    is_near = (np.abs(vertices - nearest) < _RECKONING) & (np.abs(nearest) <= _LARGEST_INTEGER)
    is_close: NDArray[np.bool_] = np.asarray(is_near.all(axis=1))
    is_close[is_close] = np.isin(_keys(nearest[is_close]), _keys(corners))
    return is_close


def _keys(points: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return one number for each point of the grid."""
    return points[:, 0].astype(np.int64) * 2**32 + points[:, 1].astype(np.int64)


def _constructed(sides: NDArray[np.float64]) -> Any:
    diagram = pyvoronoi.Pyvoronoi(1)
    for side in sides.reshape(-1, 2, 2).tolist():
        diagram.AddSegment(side)
    diagram.Construct()
    return diagram


def _read_cells(
    diagram: Any,
) -> tuple[NDArray[np.int32], NDArray[np.int32], NDArray[np.int32], NDArray[np.int32]]:
    """Return start and cell of every half edge, side and category of every cell.

    A cell lists its half edges in order, and the vertices on the way round: one more,
    for the walk says its first vertex twice. Where rings touch in a point, only one of the
    cells that belong to it has a walk. Cell by cell nothing piles up: for 50,000 sides a
    sixth faster than all objects at once, and a third less memory for the whole diagram.
    """
    heads, walked, on_the_way = array("i"), array("i"), array("i")
    for cell in map(diagram.GetCell, range(diagram.CountCells())):
        half_edges = cell.edges
        heads.extend((cell.site, cell.source_category, len(half_edges)))
        walked.fromlist(half_edges)
        on_the_way.fromlist(cell.vertices)
    sides, categories, counts = np.reshape(heads, (-1, 3)).T
    cell_of_step = np.repeat(np.arange(len(counts), dtype=np.int32), counts)
    walks_before = np.cumsum(counts > 0) - 1
    starts, cells = np.empty(len(walked), np.int32), np.empty(len(walked), np.int32)
    starts[walked] = np.asarray(on_the_way)[np.arange(len(walked)) + walks_before[cell_of_step]]
    cells[walked] = cell_of_step
    return starts, cells, sides.copy(), categories.copy()


def _read_vertices(diagram: Any) -> NDArray[np.float64]:
    """Return the place of every vertex."""
    places = array("d")
    for vertex in map(diagram.GetVertex, range(diagram.CountVertices())):
        places.append(vertex.X)
        places.append(vertex.Y)
    return np.reshape(places, (-1, 2))


@contextmanager
def _collector_at_rest() -> Iterator[None]:
    """Keep the cycle collector from walking a hundred thousand new objects over and over."""
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_enabled:
            gc.enable()
