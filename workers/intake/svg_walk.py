"""The elements of an SVG in the order of painting, and what each one paints."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from xml.etree.ElementTree import Element

import numpy as np

from workers.errors import ImageTooLargeError
from workers.intake.svg_area import Area, Paint, fill_area, transformed
from workers.intake.svg_lengths import (
    LARGEST_NUMBER,
    Matrix,
    Viewport,
    box_to_viewport,
    length_px,
    moved,
    read_transform,
    view_box,
)
from workers.intake.svg_notes import Notes
from workers.intake.svg_page import Page
from workers.intake.svg_painting import inked
from workers.intake.svg_path_data import MOST_PIECES, Subpath
from workers.intake.svg_shapes import shape_path
from workers.intake.svg_stroke import stroke_area
from workers.intake.svg_style import ROOT_STYLE, Style, StyleSheet, colour_of, luminance
from workers.intake.svg_tree import DEEPEST_LEVEL, link_of, local_name

MOST_DRAWN = 50_000  # elements, each use of a symbol counted again
MOST_MATCHES = 20_000_000  # of rules of style with elements
FARTHEST_MM = 1e7
INK_BELOW_LUMINANCE = 0.5
VISIBLE_OPACITY = 0.5
SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})
GROUPS = frozenset({"g", "a", "switch", "svg", "use"})
DRAWN = SHAPES | GROUPS
CONDITIONS = ("requiredExtensions", "requiredFeatures", "systemLanguage")
NOT_DRAWN = frozenset(
    {
        "defs",
        "title",
        "desc",
        "metadata",
        "style",
        "clipPath",
        "mask",
        "marker",
        "pattern",
        "filter",
        "view",
        "symbol",
    }
    | {
        "linearGradient",
        "radialGradient",
        "cursor",
        "set",
        "animate",
        "animateTransform",
        "animateMotion",
        "font",
    }
)


@dataclass(frozen=True, slots=True)
class _Place:
    """Where and how an element is drawn."""

    matrix: Matrix
    viewport: Viewport
    style: Style
    opacity: float = 1.0
    clips: tuple[Area, ...] = ()
    ancestors: tuple[Element, ...] = ()
    level: int = 0


@dataclass(slots=True)
class Walk:
    """Goes through the elements in the order of painting and collects what they paint."""

    root: Element
    pointer: str
    notes: Notes
    paints: list[Paint] = field(default_factory=list)
    sheet: StyleSheet = field(default_factory=StyleSheet)
    named: dict[str, Element] = field(default_factory=dict)
    element_count: int = 0
    drawn_count: int = 0
    piece_count: int = 0

    def __post_init__(self) -> None:
        if self.named:
            return
        for element in self.root.iter():
            self.element_count += 1
            if name := element.get("id"):
                self.named.setdefault(name, element)
            if local_name(element) == "style":
                self.sheet.add("".join(element.itertext()))
        matches = len(self.sheet.rules) * self.element_count
        self._refuse_beyond(MOST_MATCHES, matches, "matches of style rules and elements to look for")
        for ignored in self.sheet.ignored:
            self.notes.add("svg-style-ignored", ignored)

    def _refuse_beyond(self, most: int, count: int, what: str) -> None:
        """Raise ImageTooLargeError if there is more of something than a drawing needs."""
        if count > most:
            raise ImageTooLargeError(
                f"the SVG has more than {most} {what}",
                field=self.pointer,
                remedy="Simplify the drawing: join shapes into paths, and smooth the paths.",
            )

    def draw_page(self, page: Page) -> None:
        """Draw the whole file."""
        style = self.sheet.style_of(self.root, (), ROOT_STYLE)
        self.draw_children(self.root, _Place(page.matrix, Viewport(*page.viewport), style))

    def draw_children(self, element: Element, place: _Place) -> None:
        """Draw what lies in a group, in order."""
        inner = replace(place, ancestors=(*place.ancestors, element), level=place.level + 1)
        if inner.level > DEEPEST_LEVEL:
            self.notes.add("svg-element-left-out", "a use inside of itself")
            return
        for child in element:
            self.draw(child, inner)

    def draw(self, element: Element, place: _Place) -> None:
        """Draw one element, or note why it is left out."""
        self.drawn_count += 1
        self._refuse_beyond(MOST_DRAWN, self.drawn_count, "elements to draw")
        name = local_name(element)
        if not name or name in NOT_DRAWN:
            return
        style = self.sheet.style_of(element, place.ancestors, place.style)
        if style["display"] == "none":
            return
        if name not in DRAWN:
            self._leave_out(name)
            return
        own = self._placed(element, place, style)
        if name in SHAPES:
            self._draw_shape(name, element, own)
        elif name == "use":
            self._draw_use(element, own)
        elif name == "switch":
            self._draw_first(element, own)
        elif name == "svg":
            self._draw_viewport(element, element, own)
        else:
            self.draw_children(element, own)

    def _draw_first(self, element: Element, place: _Place) -> None:
        """Draw the first choice that asks for nothing special."""
        inner = replace(place, ancestors=(*place.ancestors, element), level=place.level + 1)
        for child in element:
            if local_name(child) in DRAWN and not any(key in child.attrib for key in CONDITIONS):
                self.draw(child, inner)
                return

    def _leave_out(self, name: str) -> None:
        code = {"text": "svg-text-left-out", "image": "svg-image-left-out"}.get(name, "svg-element-left-out")
        self.notes.add(code, name)

    def _placed(self, element: Element, place: _Place, style: Style) -> _Place:
        """Return the place inside of an element: its transform, opacity and clips added."""
        matrix = place.matrix
        if text := (style["transform"] if style["transform"] not in ("", "none") else ""):
            step = read_transform(text)
            if step is None or np.abs(matrix).max() * np.abs(step).max() > LARGEST_NUMBER**2:
                self.notes.add("svg-transform-ignored", f"transform {text[:40]}")
            else:
                matrix = matrix @ step
        for effect in ("mask", "filter"):
            if style[effect] not in ("none", ""):
                self.notes.add("svg-effect-ignored", effect)
        opacity = place.opacity * min(max(length_px(style["opacity"], 1.0, 1.0), 0.0), 1.0)
        own = replace(place, matrix=matrix, style=style, opacity=opacity)
        return replace(own, clips=place.clips + self._clip_of(style["clip-path"], own))

    def _clip_of(self, value: str, place: _Place) -> tuple[Area, ...]:
        """Return the area that a clip path leaves open, if there is one."""
        if value in ("none", ""):
            return ()
        target = self._target(value.removeprefix("url(").rstrip(")").strip("'\" "))
        if (
            target is None
            or local_name(target) != "clipPath"
            or target.get("clipPathUnits") == "objectBoundingBox"
        ):
            self.notes.add("svg-effect-ignored", "clip-path")
            return ()
        inside = Walk(self.root, self.pointer, self.notes, sheet=self.sheet, named=self.named)
        inside.drawn_count, inside.piece_count = self.drawn_count, self.piece_count
        plain = {**place.style, "fill": "black", "fill-opacity": "1", "stroke": "none", "opacity": "1"}
        step = read_transform(target.get("transform", "")) if target.get("transform") else np.eye(3)
        matrix = place.matrix if step is None else place.matrix @ step
        inside.draw_children(target, replace(place, matrix=matrix, style=plain, opacity=1.0, clips=()))
        self.drawn_count, self.piece_count = inside.drawn_count, inside.piece_count
        return (Area(inked(inside.paints, None)[0], is_even_odd=True),)

    def _target(self, link: str) -> Element | None:
        return self.named.get(link[1:]) if link.startswith("#") else None

    def _draw_use(self, element: Element, place: _Place) -> None:
        """Draw what a use element refers to, where it says."""
        target = self._target(link_of(element))
        if target is None:
            self.notes.add("svg-element-left-out", "a use of nothing")
            return
        x = length_px(element.get("x"), place.viewport.width)
        y = length_px(element.get("y"), place.viewport.height)
        at = replace(place, matrix=place.matrix @ moved(x, y))
        if local_name(target) in ("symbol", "svg"):
            style = self.sheet.style_of(target, at.ancestors, at.style)
            inner = self._placed(target, at, style)
            self._draw_viewport(target, element, replace(inner, level=at.level + 1))
        elif at.level >= DEEPEST_LEVEL:
            self.notes.add("svg-element-left-out", "a use inside of itself")
        else:
            self.draw(target, replace(at, level=at.level + 1))

    def _draw_viewport(self, element: Element, sized: Element, place: _Place) -> None:
        """Draw an svg or symbol element within a viewport of its own."""
        outer = place.viewport
        width = length_px(sized.get("width") or element.get("width"), outer.width, outer.width)
        height = length_px(sized.get("height") or element.get("height"), outer.height, outer.height)
        if width <= 0 or height <= 0:
            return
        matrix = place.matrix
        if element is sized:
            matrix = matrix @ moved(
                length_px(element.get("x"), outer.width), length_px(element.get("y"), outer.height)
            )
        box = view_box(element.get("viewBox"))
        viewport = Viewport(width, height)
        if box is not None:
            matrix = matrix @ box_to_viewport(box, width, height, element.get("preserveAspectRatio"))
            viewport = Viewport(box[2], box[3])
        self.draw_children(element, replace(place, matrix=matrix, viewport=viewport))

    def _draw_shape(self, name: str, element: Element, place: _Place) -> None:
        """Paint a shape's fill, then its stroke."""
        style = place.style
        if style["visibility"] != "visible":
            return
        path, fault = shape_path(name, element, place.viewport)
        self.piece_count += sum(len(part.pieces) for part in path)
        self._refuse_beyond(MOST_PIECES, self.piece_count, "segments")
        if fault:
            self.notes.add("svg-path-broken", f"{name}: {fault}")
        if any(style[f"marker-{where}"] != "none" for where in ("start", "mid", "end")):
            self.notes.add("svg-effect-ignored", "marker")
        if not path or not self._is_within_reach(path, place.matrix):
            return
        fill = self._tone(style, "fill", place.opacity)
        if fill is not None and name != "line":
            area = fill_area(path, place.matrix, style["fill-rule"] == "evenodd")
            self.paints.append(Paint(area, fill, place.clips))
        stroke = self._tone(style, "stroke", place.opacity)
        if stroke is not None:
            outline = stroke_area(path, style, place.matrix, place.viewport)
            if outline is not None and outline.loops:
                self.paints.append(Paint(outline, stroke, place.clips))

    def _is_within_reach(self, path: list[Subpath], matrix: Matrix) -> bool:
        """Return whether a shape lies where a drawing can; note it if not."""
        farthest = max(float(np.abs(transformed(part.pieces, matrix)).max()) for part in path)
        if farthest > FARTHEST_MM:
            self.notes.add("svg-element-left-out", f"a shape {farthest / 1000:.3g} m away")
        return farthest <= FARTHEST_MM

    def _tone(self, style: Style, kind: str, opacity: float) -> bool | None:
        """Return whether a paint is ink (dark), or None if it does not show."""
        value = style[kind]
        if value in ("none", "transparent"):
            return None
        opacity *= min(max(length_px(style[f"{kind}-opacity"], 1.0, 1.0), 0.0), 1.0)
        if value.startswith("url("):
            self.notes.add("svg-effect-ignored", "a gradient or pattern, taken as solid ink")
            _, _, value = value.partition(")")
            value = value.strip() if value.strip() not in ("", "none") else "black"
        colour = colour_of(value, style["color"])
        if colour is None:
            self.notes.add("svg-style-ignored", f"{kind} {value[:40]}")
            colour = colour_of("black", "black")
        if colour is None or colour.alpha * opacity == 0:
            return None
        if colour.alpha * opacity < VISIBLE_OPACITY:
            self.notes.add("svg-pale-paint", f"{kind} of {colour.alpha * opacity:.0%} opacity")
            return None
        return luminance(colour) < INK_BELOW_LUMINANCE
