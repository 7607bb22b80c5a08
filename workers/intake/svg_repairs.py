"""What is wrong with the outlines of an SVG and is put right, counted and located."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

from workers.geometry.filling import Ring, filled
from workers.geometry.flattening import flat_rings
from workers.intake.svg_area import Area, Paint, transformed
from workers.intake.svg_notes import Notes
from workers.intake.svg_path_data import Subpath

FLAT_MM = 0.002
LARGEST_FLAT_MM = 10_000.0
NO_LENGTH_MM = 1e-6
SMALLEST_MM2 = 1e-5
COMPARED_CORNERS = 1_000_000  # of all pairs of shapes together: about a second; more is joined, not counted
SAME_SHARE = 1e-6


def tell_of_no_length(path: Sequence[Subpath], matrix: NDArray[np.float64], shape: str, notes: Notes) -> None:
    """Note subpaths that stay on one point, where nothing is painted.

    Args:
        path: As the file has it, user units.
        matrix: From user units to mm.
        shape: The element.
        notes: Told of it.
    """
    for part in path:
        loop = transformed(part.pieces, matrix)
        if _extent(loop) <= NO_LENGTH_MM:
            notes.add_at("svg-outlines-without-length", shape, 0.0, *loop[0, 0])


def mended(path: Sequence[Subpath], area: Area, shape: str, is_stroked: bool, notes: Notes) -> Area:
    """Return a filled area without outlines that enclose nothing; tell of those, and of open ones.

    Args:
        path: As the file has it.
        area: As it is filled, mm, one loop for each subpath.
        shape: The element.
        is_stroked: It is a line as well; what encloses nothing is no fault then.
        notes: Told of it.
    """
    rings = rings_of(area)
    kept = []
    seen: set[bytes] = set()
    for part, loop, ring in zip(path, area.loops, rings, strict=True):
        if _extent(loop) <= NO_LENGTH_MM:
            continue
        if is_sliver(ring):
            if not is_stroked:
                notes.add_at("svg-slivers", shape, _extent(loop), *loop[0, 0])
            continue
        if not part.is_closed:
            _tell_if_open(part, loop, shape, notes)
        key = _same_key(ring)
        if key in seen:
            code = "svg-outlines-cancelled" if area.is_even_odd else "svg-outlines-duplicate"
            notes.add_at(code, shape, abs(ring_area(ring)), *loop[0, 0])
        seen.add(key)
        kept.append(loop)
    return Area(tuple(kept), area.is_even_odd)


def _extent(loop: NDArray[np.float64]) -> float:
    return float(np.ptp(loop.reshape(-1, 2), axis=0).max())


def _tell_if_open(part: Subpath, loop: NDArray[np.float64], shape: str, notes: Notes) -> None:
    """Note a straight line that was added at the end."""
    if len(loop) == len(part.pieces):
        return
    start, end = loop[-1, 0], loop[-1, 3]
    gap = float(np.hypot(*(end - start)))
    if gap > NO_LENGTH_MM:
        notes.add_at("svg-outlines-closed", shape, gap, *(start + end) / 2)


def is_sliver(ring: Ring) -> bool:
    """Return whether a ring encloses next to nothing: by area, or by its mean width."""
    length = float(np.hypot(*(ring - np.roll(ring, 1, axis=0)).T).sum()) if len(ring) else 0.0
    least = max(SMALLEST_MM2, FLAT_MM / 2 * length)
    if abs(ring_area(ring)) > least:
        return False
    return filled([ring], is_even_odd=False).area <= least  # turns of a ring that crosses itself may cancel


def ring_area(ring: Ring) -> float:
    """Return the area of a ring, positive anticlockwise with y up."""
    if len(ring) < 3:
        return 0.0
    x, y = (ring - ring[0]).T  # the sides at the first point add nothing then
    return float(x[:-1] @ y[1:] - y[:-1] @ x[1:]) / 2


def _same_key(ring: Ring) -> bytes:
    """Return what two rings have in common exactly if they have the same corners."""
    rounded = np.round(ring, 5) + 0.0
    return rounded[np.lexsort(rounded.T)].tobytes()


def rings_of(area: Area) -> list[Ring]:
    """Return the loops of an area as rings of chords; coarser only where it is far larger than any board."""
    largest = max((float(np.abs(loop).max()) for loop in area.loops), default=0.0)
    return flat_rings(area.loops, FLAT_MM * max(1.0, largest / LARGEST_FLAT_MM))


def tell_of_crossings(rings: Sequence[Ring], notes: Notes) -> None:
    """Note where the outlines of one shape cross.

    Args:
        rings: Its outlines.
        notes: Told of it.
    """
    rings = [ring for ring in rings if len(ring) >= 3]
    shapes = [Polygon(ring) for ring in rings]
    for ring, shape in zip(rings, shapes, strict=True):
        if not shape.is_valid:
            place = _place_in(shapely.is_valid_reason(shape), ring)
            notes.add_at("svg-outlines-crossing", "one with itself", abs(ring_area(ring)), *place)
    lines = np.array([shapely.LinearRing(ring) for ring in rings])
    first, second = shapely.STRtree(lines).query(lines, predicate="crosses")
    for one, other in zip(first, second, strict=True):
        if one < other:
            crossing = shapely.get_coordinates(lines[one].intersection(lines[other]))[0]
            size = min(abs(ring_area(rings[one])), abs(ring_area(rings[other])))
            notes.add_at("svg-outlines-crossing", "two of a path", size, *crossing)


def _place_in(reason: str, ring: Ring) -> tuple[float, float]:
    """Return the place that a validity report names in its brackets."""
    _, _, place = reason.partition("[")
    try:
        x, y = (float(word) for word in place.rstrip("]").split()[:2])
    except ValueError:
        x, y = ring[0]
    return x, y


def tell_of_overlaps(paints: Sequence[Paint], polygons: Sequence[MultiPolygon], notes: Notes) -> None:
    """Note which shapes of one tone overlap, and which of them are the same.

    Args:
        paints: A stretch of one tone.
        polygons: What each one fills.
        notes: Told of it.
    """
    shapes = np.array(polygons, dtype=object)
    first, second = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    elements = np.array([paint.element for paint in paints])
    is_pair = (first < second) & (elements[first] != elements[second])
    first, second = first[is_pair], second[is_pair]
    corners = shapely.get_num_coordinates(shapes)
    within = np.cumsum(corners[first] + corners[second]) <= COMPARED_CORNERS
    if not within.all():
        notes.add("svg-overlaps-not-counted", f"{int((~within).sum())} pairs of shapes")
    first, second = first[within], second[within]
    common = shapely.intersection(shapes[first], shapes[second])
    shared, areas = shapely.area(common), shapely.area(shapes)
    larger = np.maximum(areas[first], areas[second])
    for index in np.flatnonzero(shared > SMALLEST_MM2):
        is_same = shared[index] >= larger[index] * (1 - SAME_SHARE)
        place = shapely.get_coordinates(shapely.point_on_surface(common[index]))[0]
        code = "svg-outlines-duplicate" if is_same else "svg-shapes-overlapping"
        notes.add_at(code, "two shapes", shared[index], *place)
