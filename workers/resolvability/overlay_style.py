"""How verdicts look: each has a colour, a weight and a pattern, so that no one of them is needed alone.

The colours differ in lightness as well as in hue, and lie on the blue to orange axis that
people with any kind of colour blindness tell apart.
"""

from __future__ import annotations

from dataclasses import dataclass

from workers.values.examination import Verdict

Colour = tuple[int, int, int]

PAPER: Colour = (252, 251, 247)
INK: Colour = (214, 214, 211)
INK_EDGE: Colour = (176, 177, 176)
TEXT: Colour = (45, 48, 52)
FAINT_TEXT: Colour = (122, 125, 128)
RULE: Colour = (226, 225, 220)
REPAIRED: Colour = (246, 218, 132)  # a band under the line


@dataclass(frozen=True, slots=True, kw_only=True)
class LineStyle:
    """How one verdict is drawn; sizes in pixels of the finished picture."""

    colour: Colour
    width_px: float
    dash_px: tuple[float, ...] = ()  # drawn, left out, drawn, ...; empty for an unbroken line
    ringed: bool = False  # ends marked, so that a short run is not overlooked
    words: str


STROKES = {
    Verdict.SHOWS: LineStyle(colour=(20, 62, 92), width_px=1.6, words="shows"),
    Verdict.FAINT: LineStyle(colour=(224, 137, 26), width_px=4.0, dash_px=(11, 5), words="faint"),
    Verdict.LOST: LineStyle(colour=(200, 32, 92), width_px=5.0, dash_px=(4, 4), ringed=True, words="lost"),
}
WALLS = {
    Verdict.STANDS: LineStyle(colour=(150, 170, 186), width_px=1.0, dash_px=(2, 4), words="stands"),
    Verdict.FRAGILE: LineStyle(colour=(106, 90, 168), width_px=2.6, dash_px=(9, 3, 2, 3), words="fragile"),
    Verdict.GONE: LineStyle(colour=(20, 18, 26), width_px=3.6, dash_px=(3, 3), ringed=True, words="gone"),
}
