"""Colours of SVG, how light they are, and what a paint counts as.

A paint is one colour or, for a gradient, the colours of its equal parts. Ink is what is, on
white paper, darker than half the luminance; what would hide ink, laid on black, covers it.
Anything between, such as a pale veil, changes neither.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from tinycss2.color3 import RGBA, parse_color

from workers.intake.svg_gradients import GRADIENTS, gradient_stops, mixed
from workers.intake.svg_lengths import length_px
from workers.intake.svg_notes import Notes
from workers.intake.svg_style import Style
from workers.intake.svg_tree import local_name

if TYPE_CHECKING:
    from workers.intake.svg_source import Source

HALF = 0.5
VISIBLE_OPACITY = 0.5  # of a picture
NEARLY_WHITE = 0.94  # what is lighter is paper to everybody; yellow, 0.93, may be meant to be carved
CLEAR_MASK = (0.05, 0.95)  # of a mask's values: closed up to the first, open from the second
BLACK, WHITE = 0.0, 1.0

Colours = NDArray[np.float64]  # (n, 4): red, green, blue and alpha of equal parts of a paint, 0 to 1


class Reading(Enum):
    """What the elements are read for."""

    INK = "ink"  # dark is ink, light covers it
    CLIP = "clip"  # whatever has an area lets through
    LIGHT = "light"  # a mask: light lets through
    OPAQUE = "opaque"  # a mask: any paint lets through
    EXTENT = "extent"  # how large the shapes are, painted or not


@dataclass(frozen=True, slots=True, eq=False)
class Tone:
    """Whether a paint adds to what is read or takes away, and with what colours it takes away."""

    is_ink: bool
    colours: Colours | None = None
    opacity: float = 1.0  # within the group at hand

    @property
    def hides_ink(self) -> bool:
        """Return whether black under it looks light."""
        return self.colours is None or luminance_over(BLACK, self.colours, self.opacity) >= HALF

    def faded(self, opacity: float) -> Tone:
        """Return the tone as it is outside of a group of this opacity."""
        return replace(self, opacity=self.opacity * opacity)


ADDS, TAKES = Tone(True), Tone(False)


def tone_of(
    source: Source, style: Style, kind: str, opacity: float, reading: Reading, notes: Notes
) -> Tone | None:
    """Return what a paint does, or None if it changes nothing.

    Args:
        source: The file, for its gradients.
        style: Of the element.
        kind: fill or stroke.
        opacity: That of the element and all around it.
        reading: What is read.
        notes: Told what is not understood or not kept.
    """
    if reading in (Reading.CLIP, Reading.EXTENT):
        return ADDS if kind == "fill" else None
    colours = _paint_of(source, style, kind, reading, notes)
    if colours is None:
        return None
    own = fraction(style[f"{kind}-opacity"])
    if opacity * own * colours[:, 3].max() == 0:
        return None
    if reading is not Reading.INK:
        return _mask_tone(colours, opacity * own, reading, notes)
    if luminance_over(WHITE, colours, opacity * own) < HALF:
        return ADDS
    covering = Tone(False, colours, own)
    if covering.hides_ink:
        if luminance_over(WHITE, colours, 1.0) < NEARLY_WHITE:
            notes.add("svg-light-paint", f"{kind} {style[kind][:30]}")
        return covering
    notes.add("svg-pale-paint", f"{kind} of {opacity * own * colours[:, 3].mean():.0%} opacity")
    return None


def _mask_tone(colours: Colours, opacity: float, reading: Reading, notes: Notes) -> Tone:
    """Return whether a paint of a mask lets through."""
    alpha = colours[:, 3] * opacity
    passed = alpha if reading is Reading.OPAQUE else mask_values(colours) * alpha
    if _is_between(alpha) or _is_between(passed):
        notes.add("svg-mask-halved", f"paint that lets {passed.mean():.0%} through")
    return ADDS if passed.mean() >= HALF else TAKES


def _is_between(values: NDArray[np.float64]) -> bool:
    """Return whether some of a mask's values are neither open nor closed."""
    least, most = CLEAR_MASK
    return bool(((values > least) & (values < most)).any())


def _paint_of(source: Source, style: Style, kind: str, reading: Reading, notes: Notes) -> Colours | None:
    """Return the colours of a paint, a stand-in for what has none of its own, or None for no paint."""
    value = style[kind]
    value = style.get(value, value) if value.startswith("context-") else value
    if value in ("none", "transparent"):
        return None
    stand_in = "black" if reading is Reading.INK else "white"
    if value.startswith("url("):
        return _served(source, value, style, stand_in, notes)
    colour = colour_of(value, style["color"])
    if colour is None:
        notes.add("svg-style-ignored", f"{kind} {value[:40]}")
    return _solid(colour or colour_of(stand_in, stand_in))


def _served(source: Source, value: str, style: Style, stand_in: str, notes: Notes) -> Colours | None:
    """Return the colours of a gradient, or what stands in for a paint that cannot be had.

    Source: SVG 2, 13.2: a fallback colour, else none, where the reference leads nowhere.
    """
    target = source.target(value)
    if target is not None and local_name(target) in GRADIENTS:
        stops = gradient_stops(source, target)
        if stops is None:
            return None
        notes.add("svg-gradient-averaged", local_name(target))
        return stops if len(stops) == 1 else mixed(stops, is_radial=local_name(target) == "radialGradient")
    fallback = value.partition(")")[2].strip()
    found = "nothing in the file" if target is None else f"a {local_name(target)}"
    taken = "as no paint" if target is None and not fallback else f"as solid {fallback or stand_in}"
    notes.add("svg-effect-ignored", f"a paint that refers to {found}, taken {taken}")
    if fallback == "none" or (target is None and not fallback):
        return None
    return _solid(colour_of(fallback or stand_in, style["color"]) or colour_of(stand_in, stand_in))


def _solid(colour: RGBA | None) -> Colours | None:
    return None if colour is None else np.clip([colour], 0.0, 1.0)


def fraction(text: str) -> float:
    """Return an opacity, 0 to 1, from a number or a percentage."""
    return min(max(length_px(text, 1.0, 1.0), 0.0), 1.0)


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


def luminance_over(ground: float, colours: Colours, opacity: float) -> float:
    """Return the mean relative luminance of a paint on black or white, 0 black to 1 white.

    Args:
        ground: 0 for black, 1 for white.
        colours: Of the paint.
        opacity: Of the paint, beside its colours' own.

    Source: IEC 61966-2-1 (sRGB) and ITU-R BT.709 weights, as in WCAG 2; SVG 2 blends the values as
    they stand (Compositing and Blending 1, 5.1).
    """
    alpha = colours[:, 3:] * opacity
    seen = colours[:, :3] * alpha + ground * (1 - alpha)
    linear = np.where(seen <= 0.04045, seen / 12.92, ((seen + 0.055) / 1.055) ** 2.4)
    return float((linear @ _WEIGHTS).mean())


def mask_values(colours: Colours) -> NDArray[np.float64]:
    """Return how far paint lets through a mask, 0 to 1, by its values as they stand, not their light.

    Source: CSS Masking 1, 7.10: luminance of the non-linear values (color-interpolation sRGB).
    """
    values: NDArray[np.float64] = colours[:, :3] @ _WEIGHTS
    return values


_WEIGHTS = np.array([0.2126, 0.7152, 0.0722])
