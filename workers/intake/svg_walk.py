"""The elements of an SVG in the order of painting, and what each one paints."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from xml.etree.ElementTree import Element

import numpy as np

from workers.intake.svg_area import Paint, rectangle
from workers.intake.svg_clipping import clips_of
from workers.intake.svg_colours import Reading, fraction
from workers.intake.svg_groups import faded
from workers.intake.svg_lengths import LARGEST_NUMBER, Viewport, view_box
from workers.intake.svg_markers import MARKED, has_markers
from workers.intake.svg_notes import Notes
from workers.intake.svg_page import Page
from workers.intake.svg_path_painting import paint_path
from workers.intake.svg_pictures import Picture, picture_of
from workers.intake.svg_place import Place
from workers.intake.svg_shapes import shape_path, unreadable_lengths
from workers.intake.svg_source import DRAWN as ELEMENTS
from workers.intake.svg_source import Source
from workers.intake.svg_style import GEOMETRY, ROOT_STYLE, Style
from workers.intake.svg_text import draw_text
from workers.intake.svg_text_path import draw_texts_on_paths
from workers.intake.svg_transforms import Matrix, box_to_viewport, moved, read_transform, scaled
from workers.intake.svg_tree import DEEPEST_LEVEL, link_of, local_name

SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})
DRAWN = SHAPES | {"g", "a", "switch", "svg", "use", "text", "image"}
CONDITIONS = ("requiredExtensions", "requiredFeatures", "systemLanguage")
NOT_DRAWN = frozenset(
    {"defs", "title", "desc", "metadata", "style", "clipPath", "mask", "marker", "pattern", "filter", "view"}
    | {"symbol", "linearGradient", "radialGradient", "cursor", "set", "font", "font-face"}
    | {"animate", "animateTransform", "animateMotion"}
)
EFFECTS = {
    "filter": ("none", ""),
    "mix-blend-mode": ("normal", ""),
    "transform-origin": ("", "0 0", "0px 0px"),
}


@dataclass(slots=True)
class Walk:
    """Goes through the elements in the order of painting and collects what they paint."""

    source: Source
    reading: Reading
    notes: Notes
    paints: list[Paint] = field(default_factory=list)
    pictures: list[Picture] = field(default_factory=list)

    def inside(self, reading: Reading, notes: Notes) -> Walk:
        """Return a walk of the same file that collects for itself."""
        return Walk(self.source, reading, notes)

    def draw_page(self, page: Page) -> None:
        """Draw the whole file."""
        style = self.source.sheet.style_of(self.source.root, ROOT_STYLE)
        viewport = Viewport(*page.viewport, float(style["font-size"]))
        matrix = scaled(page.enlargement, page.enlargement) @ page.matrix
        place = Place(matrix, viewport, style, fraction(style["opacity"]))
        own = replace(place, clips=clips_of(self, self.source.root, place))
        self._draw_faded(style, lambda walk: walk.draw_children(self.source.root, own))

    def _draw_faded(self, style: Style, draw: Callable[[Walk], None]) -> None:
        """Draw an element; if it is see-through, on a sheet of its own first."""
        opacity = fraction(style["opacity"])
        if opacity == 1 or self.reading is not Reading.INK:
            draw(self)
            return
        inside = Walk(self.source, self.reading, self.notes, pictures=self.pictures)
        draw(inside)
        self.paints += faded(inside.paints, opacity, self.notes)

    def draw_children(self, element: Element, place: Place) -> None:
        """Draw what lies in a group, in order."""
        for child in element:
            if not self._is_too_deep(place):
                self.draw(child, replace(place, level=place.level + 1))

    def _is_too_deep(self, place: Place) -> bool:
        """Return whether elements lie in each other without end, and note it."""
        if place.level >= DEEPEST_LEVEL:
            self.notes.add("svg-element-left-out", "a use inside of itself")
        return place.level >= DEEPEST_LEVEL

    def draw(self, element: Element, place: Place) -> None:
        """Draw one element, or note why it is left out."""
        self.source.spend(ELEMENTS)
        name = local_name(element)
        if not name or name in NOT_DRAWN:
            return
        style = self.source.sheet.style_of(element, place.style)
        if style["display"] == "none":
            return
        if name not in DRAWN:
            self.notes.add("svg-element-left-out", name)
            return
        own = self.placed(element, place, style)
        self._draw_faded(style, lambda walk: walk.draw_content(name, element, own))

    def draw_content(self, name: str, element: Element, own: Place) -> None:
        """Draw what an element shows, once its own place is known."""
        if name in SHAPES:
            self._draw_shape(name, element, own)
        elif name == "text":
            draw_text(self, element, own)
            draw_texts_on_paths(self, element, own)
        elif name == "image":
            self._draw_picture(element, own)
        elif name == "use":
            self._draw_use(element, own)
        elif name == "switch":
            self._draw_first(element, own)
        elif name == "svg":
            self._draw_viewport(element, element, own)
        else:
            self.draw_children(element, own)

    def _draw_first(self, element: Element, place: Place) -> None:
        """Draw the first choice that asks for nothing special."""
        for child in element:
            if local_name(child) in DRAWN and not any(key in child.attrib for key in CONDITIONS):
                if not self._is_too_deep(place):
                    self.draw(child, replace(place, level=place.level + 1))
                return

    def placed(self, element: Element, place: Place, style: Style) -> Place:
        """Return the place inside of an element: its transform, opacity and clips added."""
        matrix = self._transformed(place.matrix, style)
        for effect, plain in EFFECTS.items():
            if style[effect] not in plain:
                self.notes.add("svg-effect-ignored", effect)
        viewport = replace(place.viewport, em=float(style["font-size"]))
        opacity = place.opacity * fraction(style["opacity"])
        own = replace(place, matrix=matrix, style=style, viewport=viewport, opacity=opacity)
        if self.reading is Reading.EXTENT:
            return own
        return replace(own, clips=own.clips + clips_of(self, element, own))

    def _transformed(self, matrix: Matrix, style: Style) -> Matrix:
        text = style["transform"]
        if text in ("", "none"):
            return matrix
        step = read_transform(text)
        if step is None or np.abs(matrix).max() * np.abs(step).max() > LARGEST_NUMBER**2:
            self.notes.add("svg-transform-ignored", f"transform {text[:40]}")
            return matrix
        return matrix @ step

    def _draw_use(self, element: Element, place: Place) -> None:
        """Draw what a use element refers to, where it says."""
        target = self.source.target(link_of(element))
        if target is None:
            self.notes.add("svg-element-left-out", "a use of nothing")
            return
        if self._is_too_deep(place):
            return
        view = place.viewport
        shift = moved(view.across(element.get("x")), view.down(element.get("y")))
        at = replace(place, matrix=place.matrix @ shift, level=place.level + 1)
        if local_name(target) in ("symbol", "svg"):
            style = self.source.sheet.style_of(target, at.style)
            own = self.placed(target, at, style)
            self._draw_faded(style, lambda walk: walk._draw_viewport(target, element, own))
        else:
            self.draw(target, at)

    def _draw_viewport(self, element: Element, sized: Element, place: Place) -> None:
        """Draw an svg or symbol element within a viewport of its own."""
        outer = place.viewport
        width = outer.across(sized.get("width") or element.get("width"), outer.width)
        height = outer.down(sized.get("height") or element.get("height"), outer.height)
        if width <= 0 or height <= 0:
            return
        matrix, clips = place.matrix, place.clips
        if element is sized:
            matrix = matrix @ moved(outer.across(element.get("x")), outer.down(element.get("y")))
        if place.style["overflow"] not in ("visible", "auto") and self.reading is not Reading.EXTENT:
            clips = (*clips, rectangle(0.0, 0.0, width, height, matrix))
        box = view_box(element.get("viewBox"))
        viewport = Viewport(width, height, outer.em)
        if box is not None:
            matrix = matrix @ box_to_viewport(box, width, height, element.get("preserveAspectRatio"))
            viewport = Viewport(box[2], box[3], outer.em)
        self.draw_children(element, replace(place, matrix=matrix, viewport=viewport, clips=clips))

    def _draw_picture(self, element: Element, place: Place) -> None:
        """Keep a picture for tracing."""
        if self.reading is Reading.INK:
            if picture := picture_of(self, element, place):
                self.pictures.append(picture)
        elif self.reading is Reading.EXTENT:
            self._draw_shape("rect", element, place)
        else:
            self.notes.add("svg-image-left-out", "a picture in a mask or clip path")

    def _draw_shape(self, name: str, element: Element, place: Place) -> None:
        """Paint a shape by its path, and its markers."""
        declared = {key: place.style[key] for key in GEOMETRY if key in place.style}
        attributes = {**element.attrib, **declared}
        for fault in unreadable_lengths(name, attributes):
            self.notes.add("svg-length-ignored", f"{name} {fault}")
        path, broken = shape_path(name, attributes, place.viewport)
        if broken:
            end = path[-1].pieces[-1, 3] if path else np.zeros(2)
            x, y, _ = place.matrix @ (*end, 1.0)
            self.notes.add_at("svg-path-broken", f"{name}: {broken}", 0.0, x, y)
        if name not in MARKED and has_markers(place.style) and self.reading is Reading.INK:
            self.notes.add("svg-effect-ignored", f"markers of a {name}")
        paint_path(self, path, place, name)
