"""How verdicts look: each has a colour, a weight and a pattern, so that no one of them is needed alone.

The colours differ in lightness as well as in hue, and lie on the blue to orange axis that
people with any kind of colour blindness tell apart.
"""

from __future__ import annotations

from dataclasses import dataclass

from workers.values.examination import Verdict

Colour = tuple[int, int, int]

PAPER: Colour = (252, 251, 247)
INK: Colour = (176, 182, 186)
INK_EDGE: Colour = (128, 134, 138)
TEXT: Colour = (45, 48, 52)
FAINT_TEXT: Colour = (122, 125, 128)
RULE: Colour = (226, 225, 220)
REPAIRED: Colour = (246, 218, 132)  # a band under the line


@dataclass(frozen=True, slots=True, kw_only=True)
class LineStyle:
    """How one verdict is drawn; sizes in pixels of the finished picture."""

    verdict: Verdict
    colour: Colour
    width_px: float
    dash_px: tuple[float, ...] = ()  # drawn, left out, drawn, ...; empty for an unbroken line
    ringed: bool = False  # ends marked, so that a short run is not overlooked
    words: str


STROKES = {
    Verdict.SHOWS: LineStyle(
        verdict=Verdict.SHOWS, colour=(20, 62, 92), width_px=1.6, words="shows: will be seen"
    ),
    Verdict.FAINT: LineStyle(
        verdict=Verdict.FAINT,
        colour=(224, 137, 26),
        width_px=4.0,
        dash_px=(11, 5),
        words="faint: too shallow to see",
    ),
    Verdict.LOST: LineStyle(
        verdict=Verdict.LOST,
        colour=(200, 32, 92),
        width_px=5.0,
        dash_px=(4, 4),
        ringed=True,
        words="lost: the bit cannot cut it",
    ),
}
WALLS = {
    Verdict.STANDS: LineStyle(
        verdict=Verdict.STANDS, colour=(150, 170, 186), width_px=1.0, dash_px=(2, 4), words="wall that stands"
    ),
    Verdict.FRAGILE: LineStyle(
        verdict=Verdict.FRAGILE,
        colour=(106, 90, 168),
        width_px=2.6,
        dash_px=(9, 3, 2, 3),
        words="fragile wall: may break off",
    ),
    Verdict.GONE: LineStyle(
        verdict=Verdict.GONE,
        colour=(20, 18, 26),
        width_px=3.6,
        dash_px=(3, 3),
        ringed=True,
        words="wall gone: nothing is left",
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Hatch:
    """How the ink of one verdict is filled."""

    fill: Colour
    colour: Colour
    spacing_px: float
    angle_deg: float


HATCHES = {
    Verdict.FAINT: Hatch(fill=(253, 236, 208), colour=(190, 110, 10), spacing_px=9, angle_deg=45),
    Verdict.LOST: Hatch(fill=(252, 251, 247), colour=(200, 32, 92), spacing_px=6, angle_deg=-45),
}
