"""Selectors of CSS: which elements a rule of a style sheet speaks of.

Known are elements, classes, ids and attributes, one inside of another, and one
right inside of another. Whatever asks for more (siblings, positions, states) is
told as not understood.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from workers.intake.svg_tree import local_name

_NAME = r"-?[A-Za-z_][\w-]*"
_VALUE = r"\"[^\"]*\"|'[^']*'|[\w-]+"
_ATTRIBUTE = rf"\[\s*({_NAME})\s*(?:([~|^$*]?=)\s*({_VALUE})\s*)?\]"
_MARK = re.compile(rf"([.#])([\w-]+)|{_ATTRIBUTE}")
_COMPOUND = re.compile(rf"(\*|{_NAME})?((?:[.#][\w-]+|{_ATTRIBUTE})*)")
_COMBINATOR = re.compile(r"\s*>\s*|\s+")
_COMPARED: Mapping[str, Callable[[str, str], bool]] = {
    "": lambda _has, _asked: True,
    "=": lambda has, asked: has == asked,
    "~=": lambda has, asked: asked in has.split(),
    "|=": lambda has, asked: has == asked or has.startswith(asked + "-"),
    "^=": lambda has, asked: bool(asked) and has.startswith(asked),
    "$=": lambda has, asked: bool(asked) and has.endswith(asked),
    "*=": lambda has, asked: bool(asked) and asked in has,
}


@dataclass(frozen=True, slots=True)
class _Compound:
    """What one element must be: its name, its ids, classes and attributes."""

    name: str
    ids: tuple[str, ...]
    classes: tuple[str, ...]
    attributes: tuple[tuple[str, str, str], ...]
    is_child: bool  # lies right inside of the one before it

    def matches(self, element: Element) -> bool:
        if self.name not in ("", "*", local_name(element)):
            return False
        if self.ids and set(self.ids) != {element.get("id", "")}:
            return False
        if self.classes and not set(self.classes) <= set(element.get("class", "").split()):
            return False
        return all(
            (has := element.get(name)) is not None and _COMPARED[how](has, asked)
            for name, how, asked in self.attributes
        )


@dataclass(frozen=True, slots=True)
class Selector:
    """Compounds from the outermost inwards; the last one is the element itself."""

    compounds: tuple[_Compound, ...]

    @property
    def specificity(self) -> tuple[int, int, int]:
        """How it ranks among others: ids, then classes and attributes, then names."""
        return (
            sum(len(part.ids) for part in self.compounds),
            sum(len(part.classes) + len(part.attributes) for part in self.compounds),
            sum(part.name not in ("", "*") for part in self.compounds),
        )

    def matches(self, element: Element, ancestors: tuple[Element, ...]) -> bool:
        """Return whether it speaks of an element.

        Args:
            element: The element.
            ancestors: Those around it, outermost first.
        """
        own = self.compounds[-1]
        if not own.matches(element):
            return False
        places = {len(ancestors)}  # where the compound looked at last can lie
        is_child = own.is_child
        for part in reversed(self.compounds[:-1]):
            highest = max(places)
            near = {place - 1 for place in places} if is_child else set(range(highest))
            places = {place for place in near if place >= 0 and part.matches(ancestors[place])}
            if not places:
                return False
            is_child = part.is_child
        return True


def read_selector(text: str) -> Selector | None:
    """Return one selector, without commas, or None if it is of a kind that is not known.

    Source: Selectors 3, chapters 5 to 9.
    """
    text = text.strip()
    compounds: list[_Compound] = []
    at = 0
    is_child = False
    while True:
        found = _COMPOUND.match(text, at)
        if not found or found.end() == at:
            return None
        compounds.append(_compound(found[1] or "", found[2], is_child))
        at = found.end()
        if at == len(text):
            return Selector(tuple(compounds))
        between = _COMBINATOR.match(text, at)
        if not between:
            return None
        is_child = ">" in between[0]
        at = between.end()


def _compound(name: str, marks: str, is_child: bool) -> _Compound:
    found = list(_MARK.finditer(marks))
    return _Compound(
        name,
        ids=tuple(mark[2] for mark in found if mark[1] == "#"),
        classes=tuple(mark[2] for mark in found if mark[1] == "."),
        attributes=tuple((mark[3], mark[4] or "", _unquoted(mark[5] or "")) for mark in found if mark[3]),
        is_child=is_child,
    )


def _unquoted(text: str) -> str:
    return text[1:-1] if text[:1] in ("'", '"') else text
