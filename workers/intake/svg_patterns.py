"""Patterns of SVG: one tile drawn, laid side by side over the area that it paints."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import translate
from shapely.geometry import MultiPolygon

from workers.geometry.filling import areas_of
from workers.geometry.polygon_loops import loops_of
from workers.intake.svg_area import Area, Paint, bounds_of, rectangle, transformed
from workers.intake.svg_colours import Reading, fraction
from workers.intake.svg_lengths import Viewport, view_box
from workers.intake.svg_painting import seen_polygons
from workers.intake.svg_path_data import Subpath
from workers.intake.svg_place import Place
from workers.intake.svg_source import OPENINGS
from workers.intake.svg_transforms import Matrix, box_to_viewport, moved, read_transform, scaled
from workers.intake.svg_tree import link_of, local_name

if TYPE_CHECKING:
    from workers.intake.svg_source import Source
    from workers.intake.svg_walk import Walk

BOX = "objectBoundingBox"
MOST_TILES = 20_000
MOST_CORNERS = 1_000_000  # of all tiles together
LEAST_MM2 = 1e-6  # of a tile
JOINED_MM = 1e-5  # tiles meet on this grid, without slits


@dataclass(frozen=True, slots=True)
class Pattern:
    """A pattern element, its attributes with those that it takes from others, and who holds its content."""

    element: Element
    attributes: dict[str, str]
    content: Element


def pattern_of(source: Source, paint: str) -> Pattern | None:
    """Return the pattern that a paint refers to, None if it does not refer to one.

    Source: SVG 2, 14.3 (attributes and content of the pattern that it refers to stand in for its own).
    """
    found = source.target(paint) if paint.startswith("url(") else None
    if found is None or local_name(found) != "pattern":
        return None
    first, seen = found, []
    attributes: dict[str, str] = {}
    content: Element | None = None
    while found is not None and found not in seen and local_name(found) == "pattern":
        seen.append(found)
        attributes = {**found.attrib, **attributes}
        content = found if content is None and len(found) else content
        found = source.target(link_of(found))
    return Pattern(first, attributes, first if content is None else content)


def tiled(
    walk: Walk, pattern: Pattern, area: Area, path: Sequence[Subpath], place: Place, kind: str
) -> list[Paint]:
    """Return what a pattern paints within an area.

    Args:
        walk: The walk that paints it.
        pattern: The pattern.
        area: What is filled or stroked, mm.
        path: The shape itself, user units, whose box the pattern may refer to.
        place: Of the shape.
        kind: fill or stroke.

    Source: SVG 2, 14.3.
    """
    tile = _Tile.of(pattern.attributes, path, place)
    if tile is None or not place.may_draw(pattern.element):
        walk.notes.add(
            "svg-effect-ignored", "a pattern of no size" if tile is None else "a pattern within itself"
        )
        return []
    shifts = tile.shifts(area)
    walk.source.spend(OPENINGS)
    inside = walk.inside(Reading.INK, walk.notes)
    style = walk.source.sheet.style_in_place(pattern.content)
    inside.draw_children(
        pattern.content,
        replace(
            place,
            matrix=tile.content,
            viewport=tile.viewport,
            style=style,
            opacity=place.opacity * fraction(place.style[f"{kind}-opacity"]),
            clips=() if style["overflow"] in ("visible", "auto") else (tile.outline,),
            within=(*place.within, pattern.element),
        ),
    )
    shapes = [seen_polygons(paint) for paint in inside.paints]
    corners = int(shapely.get_num_coordinates(shapes).sum())
    if not len(shifts) or len(shifts) * corners > MOST_CORNERS:
        walk.notes.add("svg-effect-ignored", "a pattern of too many tiles, not painted")
        return []
    return [
        replace(paint, area=_laid(shape, shifts), clips=(*place.clips, area), is_outline=False)
        for paint, shape in zip(inside.paints, shapes, strict=True)
        if not shape.is_empty
    ]


def _laid(shape: MultiPolygon, shifts: NDArray[np.float64]) -> Area:
    """Return the shape of one tile on all tiles."""
    copies = [translate(shape, *shift) for shift in shifts]
    return Area(loops_of(areas_of(shapely.union_all(copies, grid_size=JOINED_MM))), is_even_odd=True)


@dataclass(frozen=True, slots=True)
class _Tile:
    """The tile at the pattern's origin."""

    unit: Matrix  # from the tile as a unit square to mm
    content: Matrix  # from the content's units to mm
    viewport: Viewport

    @classmethod
    def of(cls, given: Mapping[str, str], path: Sequence[Subpath], place: Place) -> _Tile | None:
        """Return the tile of a pattern on a shape, None if it has no size.

        Args:
            given: The pattern's attributes.
            path: The shape.
            place: Of the shape.
        """
        box = bounds_of([part.pieces for part in path]) or (0.0, 0.0, 0.0, 0.0)
        is_of_box = given.get("patternUnits", BOX) == BOX
        frame = moved(box[0], box[1]) @ scaled(box[2], box[3]) if is_of_box else np.eye(3)
        view = Viewport(1.0, 1.0) if is_of_box else place.viewport
        corner = frame @ (view.across(given.get("x")), view.down(given.get("y")), 1.0)
        width = view.across(given.get("width")) * frame[0, 0]
        height = view.down(given.get("height")) * frame[1, 1]
        turn = read_transform(given.get("patternTransform", ""))
        matrix = place.matrix if turn is None else place.matrix @ turn
        if min(width, height) <= 0 or abs(np.linalg.det(matrix[:2, :2])) * width * height < LEAST_MM2:
            return None
        origin = matrix @ moved(corner[0], corner[1])
        inner, viewport = np.eye(3), place.viewport
        if (viewed := view_box(given.get("viewBox"))) is not None:
            inner = box_to_viewport(viewed, width, height, given.get("preserveAspectRatio"))
            viewport = Viewport(viewed[2], viewed[3], viewport.em)
        elif given.get("patternContentUnits") == BOX:
            inner, viewport = scaled(box[2], box[3]), Viewport(1.0, 1.0, viewport.em)
        return cls(origin @ scaled(width, height), origin @ inner, viewport)

    @property
    def outline(self) -> Area:
        """The tile itself, mm."""
        return rectangle(0.0, 0.0, 1.0, 1.0, self.unit)

    def shifts(self, area: Area) -> NDArray[np.float64]:
        """Return by how much each tile that an area may show is moved, mm."""
        points = np.concatenate(area.loops).reshape(-1, 2)
        counts = transformed(points, np.asarray(np.linalg.inv(self.unit), np.float64))
        first, last = np.floor(counts.min(axis=0)), np.ceil(counts.max(axis=0))
        if (last - first).prod() > MOST_TILES:
            return np.zeros((0, 2))
        column, row = (np.arange(start, end) for start, end in zip(first, last, strict=True))
        steps = np.stack(np.meshgrid(column, row), axis=-1).reshape(-1, 2)
        moves: NDArray[np.float64] = steps @ self.unit[:2, :2].T
        return moves
