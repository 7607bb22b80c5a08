"""The letters of an SVG text, each with its style and the place that the file gives it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

from workers.intake.svg_place import Place
from workers.intake.svg_tree import local_name

if TYPE_CHECKING:
    from workers.intake.svg_walk import Walk

XML_SPACE = "{http://www.w3.org/XML/1998/namespace}space"
_NOT_APPLIED = ("rotate", "textLength", "lengthAdjust")


@dataclass(frozen=True, slots=True)
class Letter:
    """One character; x and y where it has a place of its own, dx and dy where it is moved."""

    character: str
    place: Place
    x: float | None = None
    y: float | None = None
    dx: float | None = None
    dy: float | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """Letters of one style that follow one another."""

    text: str
    place: Place
    x: float | None
    y: float | None
    dx: float
    dy: float


def letters_of(walk: Walk, element: Element, place: Place) -> list[Letter]:
    """Return the letters of a text element, white space put together.

    Args:
        walk: The walk that comes to it.
        element: The element.
        place: Its place.

    Source: SVG 2, 11.4 and 11.5 (x, y, dx and dy of the innermost element count).
    """
    collected = _Letters(walk, [])
    collected.add_element(element, place, _is_kept(element, place, False))
    letters = collected.letters
    while letters and letters[-1].character == " " and not collected.is_kept_last:
        letters.pop()
    return letters


@dataclass(slots=True)
class _Letters:
    """Collects letters through nested elements."""

    walk: Walk
    letters: list[Letter]
    is_kept_last: bool = False

    def add_element(self, element: Element, place: Place, is_kept: bool) -> None:
        """Add what an element holds, then give its letters the places that it lists."""
        first = len(self.letters)
        for name in _NOT_APPLIED:
            if name in element.attrib:
                self.walk.notes.add("svg-text-simplified", name)
        self._add(element.text or "", place, is_kept)
        for child in element:
            self._add_child(child, place)
            self._add(child.tail or "", place, is_kept)
        view = place.viewport
        self._give(element, first, "x", view.across)
        self._give(element, first, "y", view.down)
        self._give(element, first, "dx", view.across)
        self._give(element, first, "dy", view.down)

    def _add_child(self, child: Element, place: Place) -> None:
        name = local_name(child)
        if name in ("tspan", "a"):
            style = self.walk.source.sheet.style_of(child, place.style)
            if style["display"] != "none":
                own = self.walk.placed(child, replace(place, level=place.level + 1), style)
                self.add_element(child, own, _is_kept(child, own, self.is_kept_last))
        elif name and name not in ("textPath", "title", "desc", "set", "animate"):
            self.walk.notes.add("svg-element-left-out", name)

    def _add(self, text: str, place: Place, is_kept: bool) -> None:
        """Add characters; runs of white space become one space, and none stands at the start."""
        text = re.sub(r"[\t\r\n]", " ", text)
        for character in text:
            before = self.letters[-1].character if self.letters else " "
            if character == " " and before == " " and not is_kept:
                continue
            self.letters.append(Letter(character, place))
        if text:
            self.is_kept_last = is_kept

    def _give(self, element: Element, first: int, name: str, length: Callable[[str], float]) -> None:
        """Give letters the places that an attribute lists, unless an inner element did."""
        words = re.split(r"[\s,]+", element.get(name, "").strip())
        for index, word in zip(range(first, len(self.letters)), words, strict=False):
            if word and getattr(self.letters[index], name) is None:
                self.letters[index] = _with(self.letters[index], name, length(word))


def _with(letter: Letter, name: str, value: float) -> Letter:
    changed = {key: getattr(letter, key) for key in ("x", "y", "dx", "dy")} | {name: value}
    return Letter(letter.character, letter.place, **changed)


def _is_kept(element: Element, place: Place, is_kept: bool) -> bool:
    """Return whether white space is to be kept as it is."""
    white_space = place.style["white-space"]
    if white_space:
        return white_space.startswith(("pre", "break-spaces"))
    space = element.get(XML_SPACE)
    return is_kept if space is None else space == "preserve"


def runs_of(letters: Sequence[Letter]) -> Iterable[Run]:
    """Part the letters of a chunk where the style changes or one is moved."""
    start = 0
    for end in range(1, len(letters) + 1):
        if end == len(letters) or _begins_run(letters[end], letters[end - 1]):
            first = letters[start]
            text = "".join(letter.character for letter in letters[start:end])
            yield Run(text, first.place, first.x, first.y, first.dx or 0.0, first.dy or 0.0)
            start = end


def _begins_run(letter: Letter, before: Letter) -> bool:
    if letter.place is not before.place or letter.dx is not None or letter.dy is not None:
        return True
    return before.character == " " and before.place.style["word-spacing"] not in ("normal", "0")
