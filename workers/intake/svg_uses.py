"""How many elements an SVG comes to once every use is drawn, counted before anything is.

Ten levels of ten uses each are a hundred lines of text and ten thousand million shapes. What an element comes
to is worked out once, however often it is used.
"""

from __future__ import annotations

from xml.etree.ElementTree import Element

from workers.intake.svg_source import DRAWN, MOST, Source
from workers.intake.svg_tree import DEEPEST_LEVEL, MOST_ELEMENTS, link_of, local_name

_KEPT = frozenset(
    {"defs", "clipPath", "mask", "marker", "pattern", "symbol"}
)  # drawn where they are used alone


def refuse_bombs(source: Source) -> None:
    """Refuse a file whose uses multiply beyond what any file may hold.

    What is not shown counts too, so the limit is that of a file's own elements, not that of drawing.

    Raises:
        ImageTooLargeError: They do.
    """
    if _drawn(source, source.root, {}, set(), 0) > max(MOST_ELEMENTS, MOST[DRAWN]):
        source.spend(DRAWN, MOST[DRAWN] + 1)


def _drawn(
    source: Source, element: Element, known: dict[Element, int], open_: set[Element], level: int
) -> int:
    """Return how many elements are drawn for one; what lies in itself or too deep counts once."""
    if element in known:
        return known[element]
    if element in open_ or level > DEEPEST_LEVEL:
        return 1
    open_.add(element)
    count = 1 + sum(
        1 if local_name(child) in _KEPT else _drawn(source, child, known, open_, level + 1)
        for child in element
    )
    target = source.target(link_of(element)) if local_name(element) == "use" else None
    if target is not None:
        count += _drawn(source, target, known, open_, level + 1)
    open_.discard(element)
    known[element] = min(count, MOST_ELEMENTS * 2)
    return known[element]
