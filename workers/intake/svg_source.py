"""A parsed SVG with what is looked up in it again and again, and how much of it may be drawn."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from xml.etree.ElementTree import Element

from workers.errors import ImageTooLargeError
from workers.intake.svg_area import Area
from workers.intake.svg_notes import Notes
from workers.intake.svg_style import StyleSheet
from workers.intake.svg_tree import local_name

DRAWN = "elements to draw"
SEGMENTS = "segments"
MATCHES = "matches of style rules and elements to look for"
OPENINGS = "clip paths and masks"
CHARACTERS = "characters of text"
MOST: Mapping[str, int] = {  # each use of a symbol counts again
    DRAWN: 50_000,
    SEGMENTS: 1_000_000,
    MATCHES: 20_000_000,
    OPENINGS: 2_000,
    CHARACTERS: 20_000,
}


@dataclass(slots=True)
class Source:
    """The file's elements, its style sheet, and the limits of drawing it."""

    root: Element
    pointer: str
    sheet: StyleSheet
    named: dict[str, Element]
    enlargement: float = 1.0  # of the page, whose mm are those of the drawing times this
    spent: Counter[str] = field(default_factory=Counter)
    openings: dict[tuple[object, ...], Area] = field(
        default_factory=dict
    )  # of clip paths and masks, by place

    def spend(self, what: str, count: int = 1) -> None:
        """Count what is drawn.

        Raises:
            ImageTooLargeError: It is more than a drawing needs.
        """
        self.spent[what] += count
        if self.spent[what] > MOST[what]:
            raise ImageTooLargeError(
                f"the SVG has more than {MOST[what]} {what}",
                field=self.pointer,
                remedy="Simplify the drawing: join shapes into paths, and smooth the paths.",
            )

    def target(self, link: str) -> Element | None:
        """Return the element that a link or ``url()`` names."""
        name = link.strip()
        if name.startswith("url("):
            name = name[4:].partition(")")[0].strip("'\" ")
        return self.named.get(name[1:]) if name.startswith("#") else None


def source_of(root: Element, pointer: str, notes: Notes, enlargement: float = 1.0) -> Source:
    """Return the file with its names and styles looked up.

    Args:
        root: The svg element.
        pointer: JSON pointer of the input.
        notes: Told of styles that are not understood.
        enlargement: Of the page.

    Raises:
        ImageTooLargeError: More rules and elements than this installation takes.
    """
    named: dict[str, Element] = {}
    sheet = StyleSheet({child: parent for parent in root.iter() for child in parent})
    source = Source(root, pointer, sheet, named, enlargement)
    count = 0
    for element in root.iter():
        count += 1
        if name := element.get("id"):
            named.setdefault(name, element)
        if local_name(element) == "style":
            sheet.add("".join(element.itertext()))
    source.spend(MATCHES, len(sheet.rules) * count)
    for ignored in sheet.ignored:
        notes.add("svg-style-ignored", ignored)
    return source
