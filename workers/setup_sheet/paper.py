"""The papers of the page, and how they are divided."""

from __future__ import annotations

from dataclasses import dataclass

MARGIN_MM, FOOT_MM, GAP_MM = 12.0, 9.0, 3.0


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet and the strip of it that is printed."""

    width_mm: float
    height_mm: float

    @property
    def printed_mm(self) -> float:
        """Width between the margins."""
        return self.width_mm - 2 * MARGIN_MM


PAPERS = {"a4": Paper(210.0, 297.0), "letter": Paper(215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1 size A
