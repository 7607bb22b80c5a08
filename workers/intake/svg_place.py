"""Where and how an element of an SVG is drawn."""

from __future__ import annotations

from dataclasses import dataclass
from xml.etree.ElementTree import Element

from workers.intake.svg_area import Area
from workers.intake.svg_lengths import Viewport
from workers.intake.svg_style import Style
from workers.intake.svg_transforms import Matrix

MOST_WITHIN = 16


@dataclass(frozen=True, slots=True)
class Place:
    """What an element has from all that lie around it."""

    matrix: Matrix  # from user units to mm on the page, y down
    viewport: Viewport
    style: Style
    opacity: float = 1.0
    clips: tuple[Area, ...] = ()
    level: int = 0
    within: tuple[Element, ...] = ()  # clip paths, masks, markers and patterns being drawn

    def may_draw(self, held: Element) -> bool:
        """Return whether a clip path or the like may be drawn: none in itself, and not without end."""
        return held not in self.within and len(self.within) < MOST_WITHIN
