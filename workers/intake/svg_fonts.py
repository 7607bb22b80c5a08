"""Fonts that an SVG asks for, found among those shipped with this installation."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from workers.cutting_data.tables import FONTS
from workers.intake.svg_lengths import length_px

SIZES = {"xx-small": 9, "x-small": 10, "small": 13, "medium": 16, "large": 18, "x-large": 24, "xx-large": 32}
STEP = 1.2  # of smaller and larger: CSS Fonts 3, 3.5
WEIGHTS = {
    "thin": 100,
    "extralight": 200,
    "light": 300,
    "regular": 400,
    "book": 400,
    "medium": 500,
    "semibold": 600,
    "bold": 700,
    "extrabold": 800,
    "black": 900,
}
GENERIC = {
    "serif": "source serif",
    "sans-serif": "source sans",
    "system-ui": "source sans",
    "ui-serif": "source serif",
    "ui-sans-serif": "source sans",
}
LONGEST_SHORTHAND = 300  # characters
DEFAULT_FAMILY = "sans-serif"  # CSS leaves the choice to the reader; even strokes carve best
_EDITION = frozenset(
    {"pro", "3", "4", "variable", "vf", "roman", *WEIGHTS}
)  # of a family, not another family


@dataclass(frozen=True, slots=True)
class FoundFont:
    """A font at hand, and what was asked for if it is not quite that."""

    name: str
    title: str
    instead_of: str = ""


def font_size_px(value: str, parent_px: float) -> float:
    """Return a font's size in user units; that of the parent for what is no size."""
    word = value.lower()
    if word in SIZES:
        return float(SIZES[word])
    if word in ("smaller", "larger"):
        return parent_px * STEP if word == "larger" else parent_px / STEP
    size = length_px(value, parent_px, parent_px, em=parent_px)
    return size if size >= 0 else parent_px


def font_shorthand(value: str) -> Iterable[tuple[str, str]]:
    """Return the properties that the short form of CSS sets; none if it is not one."""
    found = len(value) < LONGEST_SHORTHAND and re.fullmatch(
        r"((?:[\w-]+\s+)*?)([\d.][\w.%]*|[a-z]+(?:-[a-z]+)?)(?:\s*/\s*[\w.%]+)?\s+(\D.*)", value
    )
    if not found:
        return []
    words = found[1].split()
    weight = next((word for word in words if word.isdigit() or word in ("bold", "bolder", "lighter")), "400")
    slant = next((word for word in words if word in ("italic", "oblique")), "normal")
    return [
        ("font-style", slant),
        ("font-weight", weight),
        ("font-size", found[2]),
        ("font-family", found[3]),
    ]


def find_font(families: str, weight: str) -> FoundFont | None:
    """Return the font at hand for a list of families, None if not one of them is at hand.

    Args:
        families: As CSS writes them, best first.
        weight: 100 to 900.
    """
    asked = [name.strip().strip("'\"").strip() for name in families.split(",") if name.strip()]
    heavy = int(weight) if weight.isdigit() else 400
    for name in asked or [DEFAULT_FAMILY]:
        plain, named_weight = _family(name)
        found = _nearest(GENERIC.get(name.lower(), plain), named_weight or heavy)
        if found is not None:
            title = FONTS[found].title
            is_other = name != asked[0] if asked else True
            wanted = asked[0] if asked else "a font that is not named"
            if not is_other and abs(_weight(found) - (named_weight or heavy)) > 100:
                is_other, wanted = True, f"{wanted} in weight {named_weight or heavy}"
            return FoundFont(found, title, wanted if is_other else "")
    return None


def _family(name: str) -> tuple[str, int]:
    """Return a family's plain name, and the weight that its name states, 0 for none."""
    words = re.sub(r"(semi|extra)[ -](bold|light)", r"\1\2", name.lower().replace("_", " ")).split()
    weight = next((WEIGHTS[word] for word in reversed(words[1:]) if word in WEIGHTS), 0)
    while len(words) > 1 and words[-1] in _EDITION:
        words.pop()
    return " ".join(words), weight


def _weight(name: str) -> int:
    return _family(FONTS[name].title)[1] or 400


@cache
def _nearest(family: str, weight: int) -> str | None:
    """Return the font of a family whose weight is nearest; of two as near the heavier."""
    fitting = [name for name in FONTS if _family(FONTS[name].title)[0] == family]
    return min(fitting, key=lambda name: (abs(_weight(name) - weight), -_weight(name)), default=None)
