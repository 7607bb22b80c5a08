"""Markers: small drawings at the vertices of a path."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

import numpy as np
from numpy.typing import NDArray

from workers.intake.svg_area import rectangle
from workers.intake.svg_lengths import Viewport, view_box
from workers.intake.svg_path_data import Subpath
from workers.intake.svg_place import Place
from workers.intake.svg_style import MARKERS, Style
from workers.intake.svg_transforms import angle_deg, box_to_viewport, moved, scaled, turned
from workers.intake.svg_tree import local_name

if TYPE_CHECKING:
    from workers.intake.svg_walk import Walk

MARKED = frozenset({"path", "line", "polyline", "polygon"})
_KEYWORDS = {"left": "0%", "top": "0%", "center": "50%", "right": "100%", "bottom": "100%"}


@dataclass(frozen=True, slots=True)
class Vertex:
    """A place for a marker, and where the path goes there."""

    x: float
    y: float
    angle_deg: float
    kind: str  # marker-start, marker-mid or marker-end


def has_markers(style: Style) -> bool:
    """Return whether a style asks for any marker."""
    return any(style[kind] not in ("none", "") for kind in MARKERS)


def draw_markers(walk: Walk, path: Sequence[Subpath], place: Place) -> None:
    """Draw the markers of a path.

    Args:
        walk: The walk that draws it.
        path: The path, user units.
        place: Its place.

    Source: SVG 2, 13.7.
    """
    style = place.style
    if not has_markers(style):
        return
    targets: dict[str, Element] = {}
    for kind in MARKERS:
        if style[kind] in ("none", ""):
            continue
        target = walk.source.target(style[kind])
        if target is None or local_name(target) != "marker" or not place.may_draw(target):
            walk.notes.add("svg-effect-ignored", f"{kind} {style[kind][:40]}")
        else:
            targets[kind] = target
    for vertex in vertices(path):
        if vertex.kind in targets:
            _draw_one(walk, targets[vertex.kind], vertex, place)


def _draw_one(walk: Walk, marker: Element, vertex: Vertex, place: Place) -> None:
    """Draw one marker in a viewport of its own."""
    own = walk.source.sheet.style_in_place(marker)
    view = Viewport(place.viewport.width, place.viewport.height, float(own["font-size"]))
    width, height = view.across(marker.get("markerWidth"), 3.0), view.down(marker.get("markerHeight"), 3.0)
    if width <= 0 or height <= 0:
        return
    matrix = place.matrix @ moved(vertex.x, vertex.y) @ turned(_turn_deg(marker, vertex))
    if marker.get("markerUnits") != "userSpaceOnUse":
        stroke_width = place.viewport.along(place.style["stroke-width"], 1.0)
        matrix = matrix @ scaled(stroke_width, stroke_width)
    box = view_box(marker.get("viewBox")) or (0.0, 0.0, width, height)
    fitted = box_to_viewport(box, width, height, marker.get("preserveAspectRatio"))
    inner = Viewport(box[2], box[3], view.em)
    reference = (inner.across(_reference(marker, "refX")), inner.down(_reference(marker, "refY")), 1.0)
    x, y, _ = fitted @ np.array(reference)
    frame = matrix @ moved(-x, -y)
    clips = place.clips
    if own["overflow"] not in ("visible", "auto"):
        clips = (*clips, rectangle(0.0, 0.0, width, height, frame))
    inside = replace(
        place,
        matrix=frame @ fitted,
        viewport=inner,
        style=_in_context(own, place.style),
        clips=clips,
        within=(*place.within, marker),
    )
    walk.draw_children(marker, inside)


def _reference(marker: Element, key: str) -> str:
    text = marker.get(key, "0").strip()
    return _KEYWORDS.get(text, text)


def _in_context(own: Style, outer: Style) -> Style:
    """Return a marker's style with the paints of the path where it asks for them."""
    return {**own, "context-fill": outer["fill"], "context-stroke": outer["stroke"]}


def _turn_deg(marker: Element, vertex: Vertex) -> float:
    """Return by how much a marker is turned."""
    orient = marker.get("orient", "0").strip()
    if orient == "auto-start-reverse" and vertex.kind == "marker-start":
        return vertex.angle_deg + 180.0
    if orient.startswith("auto"):
        return vertex.angle_deg
    return angle_deg(orient) or 0.0


def vertices(path: Sequence[Subpath]) -> list[Vertex]:
    """Return the vertices of a path with their directions, first to last.

    At a corner the direction is half-way between those of the two segments.
    """
    found: list[tuple[NDArray[np.float64], float]] = []
    for part in path:
        found.extend(_of_subpath(part))
    last = len(found) - 1
    kinds = [
        "marker-start" if i == 0 else "marker-end" if i == last else "marker-mid" for i in range(last + 1)
    ]
    each = [
        Vertex(float(point[0]), float(point[1]), angle, kind)
        for (point, angle), kind in zip(found, kinds, strict=True)
    ]
    if last == 0:  # a lone point has both a start and an end
        each.append(replace(each[0], kind="marker-end"))
    return each


def _of_subpath(part: Subpath) -> Iterable[tuple[NDArray[np.float64], float]]:
    pieces = part.pieces
    ways = [(_direction(piece), _direction(piece[::-1])) for piece in pieces]
    leaving = [start for start, _ in ways]
    arriving = [None if end is None else -end for _, end in ways]
    first_in = arriving[-1] if part.is_closed else None
    last_out = leaving[0] if part.is_closed else None
    yield pieces[0, 0], _between(first_in, leaving[0])
    for index, piece in enumerate(pieces):
        if index in part.inner_ends:
            continue
        onward = leaving[index + 1] if index + 1 < len(pieces) else last_out
        yield piece[3], _between(arriving[index], onward)


def _direction(piece: NDArray[np.float64]) -> NDArray[np.float64] | None:
    """Return the unit direction in which a piece starts, None if it has no length."""
    for control in piece[1:]:
        way = control - piece[0]
        length = math.hypot(*way)
        if length > 1e-12:
            return np.asarray(way / length)
    return None


def _between(one: NDArray[np.float64] | None, other: NDArray[np.float64] | None) -> float:
    """Return the angle half-way between two directions, degrees."""
    ways = [way for way in (one, other) if way is not None]
    if not ways:
        return 0.0
    total = np.sum(ways, axis=0)
    if math.hypot(*total) < 1e-9:  # straight back: a quarter turn from the way in
        total = np.array([-ways[0][1], ways[0][0]])
    return math.degrees(math.atan2(total[1], total[0]))
