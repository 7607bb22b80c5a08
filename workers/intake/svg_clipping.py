"""Clip paths and masks: the areas outside of which an element does not show.

A mask of plain shapes lets through where it is at least half light (or, for one of
kind alpha, at least half opaque), so it is an area like any other.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

import numpy as np

from workers.intake.svg_area import Area, bounds_of, rectangle
from workers.intake.svg_colours import Reading
from workers.intake.svg_lengths import Viewport
from workers.intake.svg_notes import Notes
from workers.intake.svg_painting import inked
from workers.intake.svg_place import Place
from workers.intake.svg_source import OPENINGS
from workers.intake.svg_transforms import Matrix, moved, read_transform, scaled
from workers.intake.svg_tree import local_name

if TYPE_CHECKING:
    from workers.intake.svg_walk import Walk

NOTHING = Area((), is_even_odd=True)
BOX = "objectBoundingBox"


def clips_of(walk: Walk, element: Element, place: Place) -> tuple[Area, ...]:
    """Return the areas that an element's own clip path and mask leave open.

    Args:
        walk: The walk that comes to it.
        element: The element.
        place: Its place, transform included.

    Source: CSS Masking 1, chapters 5 to 7 (SVG 2 refers to it).
    """
    areas: list[Area] = []
    for kind, name in (("clip-path", "clipPath"), ("mask", "mask")):
        value = place.style[kind]
        if value in ("none", ""):
            continue
        target = walk.source.target(value)
        if target is None or local_name(target) != name or not place.may_draw(target):
            walk.notes.add("svg-effect-ignored", f"{kind} {value[:40]}")
            continue
        areas.extend(_openings(walk, element, target, replace(place, within=(*place.within, target))))
    return tuple(areas)


def _openings(walk: Walk, element: Element, target: Element, place: Place) -> list[Area]:
    """Return what a clip path or mask leaves open."""
    is_mask = local_name(target) == "mask"
    units = {key: target.get(key) for key in ("clipPathUnits", "maskUnits", "maskContentUnits")}
    box = None
    if BOX in units.values() or (is_mask and units["maskUnits"] is None):
        box = _box_of(walk, element, place)
        if box is None:
            return [NOTHING]  # what has no extent does not show
    content = place.matrix
    if box is not None and BOX in (units["clipPathUnits"], units["maskContentUnits"]):
        content = content @ _unit_square(box)
        place = replace(place, viewport=Viewport(1.0, 1.0))
    if not is_mask:
        return _clip_path(walk, target, replace(place, matrix=content))
    frame = _mask_frame(target, place, None if units["maskUnits"] == "userSpaceOnUse" else box)
    style = walk.source.sheet.style_in_place(target)
    kind = Reading.OPAQUE if style["mask-type"] == "alpha" else Reading.LIGHT
    return [frame, _content(walk, target, replace(place, matrix=content), kind)]


def _clip_path(walk: Walk, target: Element, place: Place) -> list[Area]:
    step = read_transform(target.get("transform", ""))
    place = place if step is None else replace(place, matrix=place.matrix @ step)
    style = walk.source.sheet.style_in_place(target)
    outer = clips_of(walk, target, replace(place, style=style))
    return [*outer, _content(walk, target, place, Reading.CLIP)]


def _content(walk: Walk, target: Element, place: Place, reading: Reading) -> Area:
    """Return the area that the content of a clip path or mask lets through."""
    key = (id(target), place.matrix.tobytes(), place.viewport, reading)
    openings = walk.source.openings
    if key not in openings:
        walk.source.spend(OPENINGS)
        inside = walk.inside(reading, walk.notes)
        style = walk.source.sheet.style_in_place(target)
        inside.draw_children(target, replace(place, style=style, opacity=1.0, clips=()))
        openings[key] = Area(inked(inside.paints, None).loops, is_even_odd=True)
    return openings[key]


def _mask_frame(target: Element, place: Place, box: tuple[float, ...] | None) -> Area:
    """Return the rectangle beyond which a mask lets nothing through."""
    if box is None:
        view = place.viewport
        left, width = (
            view.across(target.get(key, default)) for key, default in (("x", "-10%"), ("width", "120%"))
        )
        top, height = (
            view.down(target.get(key, default)) for key, default in (("y", "-10%"), ("height", "120%"))
        )
        return rectangle(left, top, width, height, place.matrix)
    unit = Viewport(1.0, 1.0)
    left, width = (
        unit.across(target.get(key, default)) for key, default in (("x", "-10%"), ("width", "120%"))
    )
    top, height = (
        unit.down(target.get(key, default)) for key, default in (("y", "-10%"), ("height", "120%"))
    )
    return rectangle(left, top, width, height, place.matrix @ _unit_square(box))


def _unit_square(box: tuple[float, ...]) -> Matrix:
    left, top, width, height = box
    return moved(left, top) @ scaled(width, height)


def _box_of(walk: Walk, element: Element, place: Place) -> tuple[float, ...] | None:
    """Return left, top, width and height of an element's shapes, its user units; None if it has no area."""
    inside = walk.inside(Reading.EXTENT, Notes())
    inside.draw_content(local_name(element), element, replace(place, matrix=np.eye(3), clips=()))
    return bounds_of([loop for paint in inside.paints for loop in paint.area.loops])
