"""The style of each SVG element: attributes, style sheets, and what is inherited.

Presentation attributes lose to any rule of a style sheet, rules rank by their
selector, the ``style`` attribute beats both, and ``!important`` comes before all.
Selectors of an element, classes, an id, and of one inside of another are known.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from xml.etree.ElementTree import Element

import tinycss2
from tinycss2.color3 import RGBA, parse_color

from workers.intake.svg_tree import local_name

INHERITED = {
    "fill": "black",
    "fill-rule": "nonzero",
    "fill-opacity": "1",
    "stroke": "none",
    "stroke-width": "1",
    "stroke-opacity": "1",
    "stroke-linecap": "butt",
    "stroke-linejoin": "miter",
    "stroke-miterlimit": "4",
    "stroke-dasharray": "none",
    "stroke-dashoffset": "0",
    "visibility": "visible",
    "color": "black",
    "clip-rule": "nonzero",
    "marker": "none",
    "marker-start": "none",
    "marker-mid": "none",
    "marker-end": "none",
}
OWN = {
    "display": "inline",
    "opacity": "1",
    "clip-path": "none",
    "mask": "none",
    "filter": "none",
    "vector-effect": "none",
    "transform": "",
    "stop-color": "black",
}
DEFAULTS: Mapping[str, str] = {**INHERITED, **OWN}

_COMPOUND = re.compile(r"(\*|[A-Za-z][\w-]*)?((?:[.#][\w-]+)*)")
_SIMPLE = re.compile(r"([.#])([\w-]+)")

Style = Mapping[str, str]
ROOT_STYLE: Style = dict(DEFAULTS)


@dataclass(frozen=True, slots=True)
class _Compound:
    """What one element must be: its name, its id and its classes."""

    name: str
    ids: frozenset[str]
    classes: frozenset[str]

    def matches(self, element: Element) -> bool:
        return (
            self.name in ("", "*", local_name(element))
            and self.ids <= {element.get("id", "")}
            and self.classes <= set(element.get("class", "").split())
        )


@dataclass(frozen=True, slots=True)
class _Rule:
    """One selector with its declarations; the last compound is the element, those before lie around it."""

    compounds: tuple[_Compound, ...]
    declarations: tuple[tuple[str, str, bool], ...]

    @property
    def specificity(self) -> tuple[int, int, int]:
        return (
            sum(len(part.ids) for part in self.compounds),
            sum(len(part.classes) for part in self.compounds),
            sum(part.name not in ("", "*") for part in self.compounds),
        )

    def matches(self, element: Element, ancestors: tuple[Element, ...]) -> bool:
        *outer, own = self.compounds
        if not own.matches(element):
            return False
        around = iter(reversed(ancestors))
        return all(any(part.matches(ancestor) for ancestor in around) for part in reversed(outer))


@dataclass(slots=True)
class StyleSheet:
    """The rules of all style elements of a file, weakest first, and what was not understood."""

    rules: list[_Rule] = field(default_factory=list)
    ignored: list[str] = field(default_factory=list)

    def add(self, text: str) -> None:
        """Read the text of one style element."""
        for rule in tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True):
            if rule.type != "qualified-rule":
                if rule.type == "error" or rule.lower_at_keyword not in ("font-face", "namespace", "charset"):
                    self.ignored.append("a rule that is no plain selector")
                continue
            declarations = tuple(_declarations(rule.content))
            for selector in tinycss2.serialize(rule.prelude).split(","):
                compounds = _compounds(selector)
                if compounds is None:
                    self.ignored.append(f"the selector {selector.strip()[:40]}")
                else:
                    self.rules.append(_Rule(compounds, declarations))
        self.rules.sort(key=lambda rule: rule.specificity)  # stable: of equals the later one wins

    def style_of(self, element: Element, ancestors: tuple[Element, ...], parent: Style) -> Style:
        """Return all properties of an element.

        Args:
            element: The element.
            ancestors: Those around it, outermost first.
            parent: The style of its parent, from which it inherits.

        Source: SVG 2, chapter 6; CSS 2.2, 6.4 (trade.md X-10, X-11).
        """
        plain: dict[str, str] = {key: element.attrib[key] for key in DEFAULTS if key in element.attrib}
        important: dict[str, str] = {}
        matching = (rule.declarations for rule in self.rules if rule.matches(element, ancestors))
        inline = _declarations(element.get("style", ""))
        for declarations in (*matching, tuple(inline)):
            for name, value, is_important in declarations:
                (important if is_important else plain)[name] = value
        style = {**DEFAULTS, **{key: parent[key] for key in INHERITED}}
        for name, value in {**plain, **important}.items():
            if name in DEFAULTS:
                style[name] = _settled(name, value.strip(), parent)
        return style


def _settled(name: str, value: str, parent: Style) -> str:
    """Return a value with the words that point elsewhere replaced by what they point at."""
    if value == "inherit" or (value == "unset" and name in INHERITED):
        return parent[name]
    if value in ("initial", "unset"):
        return DEFAULTS[name]
    return value


def _declarations(nodes: str | Iterable[object]) -> Iterable[tuple[str, str, bool]]:
    for node in tinycss2.parse_blocks_contents(nodes):
        if node.type == "declaration":
            yield node.lower_name, tinycss2.serialize(node.value).strip(), node.important


def _compounds(selector: str) -> tuple[_Compound, ...] | None:
    """Return the parts of a selector, or None if it is of a kind that is not known."""
    parts = []
    for word in selector.split():
        found = _COMPOUND.fullmatch(word)
        if not found:
            return None
        marks = _SIMPLE.findall(found[2])
        parts.append(
            _Compound(
                found[1] or "",
                frozenset(name for mark, name in marks if mark == "#"),
                frozenset(name for mark, name in marks if mark == "."),
            )
        )
    return tuple(parts) or None


def colour_of(value: str, current: str) -> RGBA | None:
    """Return a colour with parts from 0 to 1, or None if the value is none.

    Args:
        value: A colour as CSS writes it, or currentColor.
        current: What currentColor stands for.
    """
    colour = parse_color(value)
    if colour == "currentColor":
        colour = parse_color(current)
    return colour if isinstance(colour, RGBA) else None


def luminance(colour: RGBA) -> float:
    """Return the relative luminance of an opaque colour, 0 black to 1 white.

    Source: IEC 61966-2-1 (sRGB) and ITU-R BT.709 weights, as in WCAG 2.
    """
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in (min(max(part, 0.0), 1.0) for part in colour[:3])
    )
    return float(0.2126 * red + 0.7152 * green + 0.0722 * blue)
