"""The style of each SVG element: attributes, style sheets, and what is inherited.

Presentation attributes lose to any rule of a style sheet, rules rank by their
selector, the ``style`` attribute beats both, and ``!important`` comes before all.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any
from xml.etree.ElementTree import Element

import tinycss2

from workers.intake.svg_fonts import font_shorthand, font_size_px
from workers.intake.svg_selectors import Selector, read_selector

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
    "paint-order": "normal",
    "marker": "none",
    "marker-start": "none",
    "marker-mid": "none",
    "marker-end": "none",
    "context-fill": "none",  # of the path that a marker belongs to
    "context-stroke": "none",
    "font-family": "",
    "font-size": "16",
    "font-weight": "400",
    "font-style": "normal",
    "letter-spacing": "normal",
    "word-spacing": "normal",
    "text-anchor": "start",
    "white-space": "",
    "writing-mode": "horizontal-tb",
    "dominant-baseline": "auto",
}
OWN = {
    "display": "inline",
    "opacity": "1",
    "clip-path": "none",
    "mask": "none",
    "mask-type": "luminance",
    "filter": "none",
    "overflow": "",
    "vector-effect": "none",
    "transform": "",
    "transform-origin": "",
    "mix-blend-mode": "normal",
    "baseline-shift": "baseline",
    "text-decoration": "none",
    "stop-color": "black",
    "stop-opacity": "1",
}
DEFAULTS: Mapping[str, str] = {**INHERITED, **OWN}
GEOMETRY = frozenset({"x", "y", "width", "height", "cx", "cy", "r", "rx", "ry", "d"})  # CSS may set these too
MARKERS = ("marker-start", "marker-mid", "marker-end")
BOLDER = {"bolder": "700", "lighter": "300", "bold": "700", "normal": "400"}

OWN_MEDIA = ("", "all", "print", "only print")  # wood is as final as paper; Media Queries 3, chapters 2 and 3

Style = Mapping[str, str]
ROOT_STYLE: Style = dict(DEFAULTS)
Declaration = tuple[str, str, bool]


@dataclass(frozen=True, slots=True)
class _Rule:
    """One selector with its declarations."""

    selector: Selector
    declarations: tuple[Declaration, ...]


@dataclass(slots=True)
class StyleSheet:
    """The rules of all style elements of a file, weakest first, and what was not understood."""

    parents: Mapping[Element, Element] = field(default_factory=dict)
    rules: list[_Rule] = field(default_factory=list)
    ignored: list[str] = field(default_factory=list)

    def add(self, text: str) -> None:
        """Read the text of one style element."""
        self._add_rules(tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True))
        self.rules.sort(key=lambda rule: rule.selector.specificity)  # stable: of equals the later one wins

    def _add_rules(self, rules: Iterable[Any]) -> None:
        for rule in rules:
            if rule.type == "qualified-rule":
                self._add_rule(rule)
            elif rule.type == "at-rule" and rule.lower_at_keyword == "media" and rule.content is not None:
                media = tinycss2.serialize(rule.prelude).strip().lower()
                if any(medium.strip() in OWN_MEDIA for medium in media.split(",")):
                    self._add_rules(
                        tinycss2.parse_rule_list(rule.content, skip_comments=True, skip_whitespace=True)
                    )
                else:
                    self.ignored.append(f"rules for the medium {media[:40]}")
            elif rule.type == "error" or rule.lower_at_keyword not in ("font-face", "namespace", "charset"):
                self.ignored.append("a rule that is no plain selector")

    def _add_rule(self, rule: Any) -> None:
        declarations = tuple(_declarations(rule.content))
        for words in tinycss2.serialize(rule.prelude).split(","):
            selector = read_selector(words)
            if selector is None:
                self.ignored.append(f"the selector {words.strip()[:40]}")
            else:
                self.rules.append(_Rule(selector, declarations))

    def style_of(self, element: Element, parent: Style) -> Style:
        """Return all properties of an element; a font's size comes in user units.

        Args:
            element: The element.
            parent: The style of its parent, from which it inherits.

        Source: SVG 2, chapter 6; CSS 2.2, 6.4 (trade.md X-10, X-11).
        """
        plain: dict[str, str] = {key: element.attrib[key] for key in DEFAULTS if key in element.attrib}
        plain.pop("marker", None)  # the short form is no attribute
        important: dict[str, str] = {}
        for name, value, is_important in self._declared(element):
            chosen = important if is_important else plain
            for long_name, long_value in _long_forms(name, value):
                chosen[long_name] = long_value
        style = {**DEFAULTS, **{key: parent[key] for key in INHERITED}}
        for name, value in {**plain, **important}.items():
            style[name] = _settled(name, value.strip(), parent)
        return style

    def style_in_place(self, element: Element) -> Style:
        """Return the properties of an element where it stands in the file, not where it is drawn."""
        style = ROOT_STYLE
        for each in (*self._around(element), element):
            style = self.style_of(each, style)
        return style

    def _declared(self, element: Element) -> Iterable[Declaration]:
        """Return what rules and the element itself declare, weakest first."""
        if self.rules:
            around = self._around(element)
            for rule in self.rules:
                if rule.selector.matches(element, around):
                    yield from rule.declarations
        yield from _declarations(element.get("style", ""))

    def _around(self, element: Element) -> tuple[Element, ...]:
        """Return the elements around one, outermost first."""
        found = []
        while (parent := self.parents.get(element)) is not None:
            found.append(parent)
            element = parent
        return tuple(reversed(found))


def _long_forms(name: str, value: str) -> Iterable[tuple[str, str]]:
    """Return a declaration as the properties that it sets."""
    if name == "marker":
        return [(each, value) for each in MARKERS]
    if name == "font":
        return font_shorthand(value)
    return [(name, value)] if name in DEFAULTS or name in GEOMETRY else []


def _settled(name: str, value: str, parent: Style) -> str:
    """Return a value with the words that point elsewhere replaced by what they point at."""
    if name not in DEFAULTS:
        return value
    if value == "inherit" or (value == "unset" and name in INHERITED):
        return parent[name]
    if value in ("initial", "unset"):
        return DEFAULTS[name]
    if name == "color" and value.lower() == "currentcolor":
        return parent[name]
    if name == "font-size":
        return repr(font_size_px(value, float(parent[name])))
    if name == "font-weight":
        return BOLDER.get(value, value)
    return value


def _declarations(nodes: str | Iterable[object]) -> Iterable[Declaration]:
    for node in tinycss2.parse_blocks_contents(nodes):
        if node.type == "declaration":
            yield node.lower_name, tinycss2.serialize(node.value).strip(), node.important
