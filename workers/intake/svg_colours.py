"""Colours of SVG, how light they are, and what a paint counts as."""

from __future__ import annotations

from enum import Enum

from tinycss2.color3 import RGBA, parse_color

from workers.intake.svg_lengths import length_px
from workers.intake.svg_notes import Notes
from workers.intake.svg_style import Style

INK_BELOW_LUMINANCE = 0.5
VISIBLE_OPACITY = 0.5


class Reading(Enum):
    """What the elements are read for."""

    INK = "ink"  # dark is ink, light covers it
    CLIP = "clip"  # whatever has an area lets through
    LIGHT = "light"  # a mask: light lets through
    OPAQUE = "opaque"  # a mask: any paint lets through
    EXTENT = "extent"  # how large the shapes are, painted or not


def tone_of(style: Style, kind: str, opacity: float, reading: Reading, notes: Notes) -> bool | None:
    """Return whether a paint adds to what is read (True), takes away (False), or does not show (None).

    Args:
        style: Of the element.
        kind: fill or stroke.
        opacity: That of the element and all around it.
        reading: What is read.
        notes: Told what is not understood.
    """
    if reading in (Reading.CLIP, Reading.EXTENT):
        return True if kind == "fill" else None
    colour = _paint_of(style, kind, reading, notes)
    if colour is None:
        return None
    alpha = colour.alpha * opacity * fraction(style[f"{kind}-opacity"])
    if alpha == 0:
        return None
    if alpha < VISIBLE_OPACITY:
        notes.add("svg-pale-paint", f"{kind} of {alpha:.0%} opacity")
        return None
    if reading is Reading.INK:
        return luminance(colour) < INK_BELOW_LUMINANCE
    return reading is Reading.OPAQUE or mask_value(colour, alpha) >= INK_BELOW_LUMINANCE


def _paint_of(style: Style, kind: str, reading: Reading, notes: Notes) -> RGBA | None:
    """Return the colour of a paint, a stand-in for what has none of its own, or None for no paint."""
    value = style[kind]
    value = style.get(value, value) if value.startswith("context-") else value
    if value in ("none", "transparent"):
        return None
    stand_in = "black" if reading is Reading.INK else "white"
    if value.startswith("url("):
        notes.add("svg-effect-ignored", f"a gradient or pattern, taken as solid {stand_in}")
        _, _, rest = value.partition(")")
        value = rest.strip() if rest.strip() not in ("", "none") else stand_in
    colour = colour_of(value, style["color"])
    if colour is None:
        notes.add("svg-style-ignored", f"{kind} {value[:40]}")
    return colour or colour_of(stand_in, stand_in)


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


def luminance(colour: RGBA) -> float:
    """Return the relative luminance of an opaque colour, 0 black to 1 white.

    Source: IEC 61966-2-1 (sRGB) and ITU-R BT.709 weights, as in WCAG 2.
    """
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in (min(max(part, 0.0), 1.0) for part in colour[:3])
    )
    return float(0.2126 * red + 0.7152 * green + 0.0722 * blue)


def mask_value(colour: RGBA, alpha: float) -> float:
    """Return how far a mask's paint lets through, 0 to 1: its values as they stand, not their light.

    Source: CSS Masking 1, 7.10: luminance of the non-linear values (color-interpolation sRGB) times alpha.
    """
    red, green, blue = (min(max(part, 0.0), 1.0) for part in colour[:3])
    return float(0.2126 * red + 0.7152 * green + 0.0722 * blue) * alpha
