"""Gradients of SVG as the colours of their equal parts, by which they count as one tone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

import numpy as np
from numpy.typing import NDArray
from tinycss2.color3 import RGBA, parse_color

from workers.intake.svg_lengths import length_px
from workers.intake.svg_tree import link_of, local_name

if TYPE_CHECKING:
    from workers.intake.svg_source import Source

GRADIENTS = frozenset({"linearGradient", "radialGradient"})
PARTS_COUNT = 64
_OPAQUE_BLACK = (0.0, 0.0, 0.0, 1.0)


def gradient_stops(source: Source, gradient: Element) -> NDArray[np.float64] | None:
    """Return the stops of a gradient: offset, red, green, blue, alpha; one stop as its colour alone.

    Args:
        source: The file.
        gradient: The element; stops that it lacks are those of the gradient that it refers to.

    Returns:
        Rows of five, or one row of four for a gradient of one colour; None without stops, which is no paint.

    Source: SVG 2, 14.2.4 (stops) and 14.1.1 (templates).
    """
    stops = next((own for each in _templates(source, gradient) if (own := _own_stops(each))), [])
    rows: list[tuple[float, ...]] = []
    for stop in stops:
        style = source.sheet.style_in_place(stop)
        offset = min(max(length_px(stop.get("offset"), 1.0), 0.0), 1.0)
        offset = max(offset, rows[-1][0]) if rows else offset
        colour = parse_color(style["stop-color"])
        if colour == "currentColor":
            colour = parse_color(style["color"])
        red, green, blue, alpha = colour if isinstance(colour, RGBA) else _OPAQUE_BLACK
        opacity = min(max(length_px(style["stop-opacity"], 1.0, 1.0), 0.0), 1.0)
        rows.append((offset, red, green, blue, alpha * opacity))
    if not rows:
        return None
    return np.clip([rows[0][1:]] if len(rows) == 1 else rows, 0.0, 1.0)


def mixed(stops: NDArray[np.float64], is_radial: bool) -> NDArray[np.float64]:
    """Return the colours in the middles of equal parts of a gradient's extent.

    Args:
        stops: Rows of offset, red, green, blue, alpha.
        is_radial: Its parts are rings of equal area, else strips of equal width.
    """
    middles = (np.arange(PARTS_COUNT) + 0.5) / PARTS_COUNT
    at = np.sqrt(middles) if is_radial else middles
    return np.stack([np.interp(at, stops[:, 0], stops[:, part]) for part in range(1, 5)], axis=1)


def _templates(source: Source, gradient: Element) -> Iterator[Element]:
    """Yield a gradient and those that it refers to, each once."""
    seen: list[Element] = []
    found: Element | None = gradient
    while found is not None and found not in seen and local_name(found) in GRADIENTS:
        seen.append(found)
        yield found
        found = source.target(link_of(found))


def _own_stops(gradient: Element) -> list[Element]:
    return [child for child in gradient if local_name(child) == "stop"]
