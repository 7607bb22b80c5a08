"""Strokes of SVG paths as the areas that they paint."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

import numpy as np
import pathops

from workers.intake.svg_area import Area, transformed
from workers.intake.svg_curves import PATH_UNITS_PER_MM, append_pieces, from_path
from workers.intake.svg_lengths import Viewport, length_px
from workers.intake.svg_notes import Notes
from workers.intake.svg_path_data import Subpath
from workers.intake.svg_place import Place
from workers.intake.svg_style import Style
from workers.intake.svg_transforms import scaled

CAPS = {
    "butt": pathops.LineCap.BUTT_CAP,
    "round": pathops.LineCap.ROUND_CAP,
    "square": pathops.LineCap.SQUARE_CAP,
}
JOINS = {
    "miter": pathops.LineJoin.MITER_JOIN,
    "round": pathops.LineJoin.ROUND_JOIN,
    "bevel": pathops.LineJoin.BEVEL_JOIN,
}
MOST_DASHES = 20_000


def stroke_area(subpaths: Sequence[Subpath], place: Place, mm_per_px: float, notes: Notes) -> Area | None:
    """Return the area that stroking a path paints, or None if its width is nothing.

    The outline is made in the path's own user space, where the width is even all
    round, and then carried over to mm; a stroke that does not scale is made on the page.

    Args:
        subpaths: The path, user units.
        place: Its place, with its style: width, caps, joins and dashes.
        mm_per_px: Of the page, for strokes that do not scale.
        notes: Told of dashes that are not drawn.

    Source: SVG 2, 13.4 (trade.md X-12, X-13).
    """
    style, viewport, matrix = place.style, place.viewport, place.matrix
    width = viewport.along(style["stroke-width"], 1.0)
    if style["vector-effect"] == "non-scaling-stroke":
        scale, own_mm = mm_per_px, matrix
    else:
        scale = math.sqrt(abs(np.linalg.det(matrix[:2, :2])))
        own_mm = scaled(scale, scale)
    if width <= 0 or abs(np.linalg.det(own_mm)) < 1e-18:
        return None
    if style["stroke-linejoin"] not in JOINS:
        notes.add("svg-effect-ignored", f"stroke-linejoin {style['stroke-linejoin'][:20]}, drawn as a miter")
    path = pathops.Path(fillType=pathops.FillType.WINDING)
    for subpath in subpaths:
        append_pieces(path, transformed(subpath.pieces, own_mm) * PATH_UNITS_PER_MM)
        if subpath.is_closed:
            path.close()
    unit = scale * PATH_UNITS_PER_MM
    path.stroke(
        width * unit,
        CAPS.get(style["stroke-linecap"], CAPS["butt"]),
        JOINS.get(style["stroke-linejoin"], JOINS["miter"]),
        max(length_px(style["stroke-miterlimit"], 1.0, 4.0), 1.0),
        [dash * unit for dash in _dashes(subpaths, style, viewport, notes)] or None,
        viewport.along(style["stroke-dashoffset"]) * unit,
    )
    rest = matrix @ np.linalg.inv(own_mm)
    return Area(tuple(transformed(loop, rest) for loop in from_path(path)), is_even_odd=False)


def _dashes(subpaths: Sequence[Subpath], style: Style, viewport: Viewport, notes: Notes) -> list[float]:
    """Return the lengths of dashes and gaps in turn, user units; none for a stroke without gaps."""
    words = re.split(r"[\s,]+", style["stroke-dasharray"].strip())
    dashes = [viewport.along(word, -1.0) for word in words]
    period = sum(dashes)
    if min(dashes) < 0 or period <= 0:
        return []
    length = sum(float(np.hypot(*np.diff(part.pieces, axis=1).T).sum()) for part in subpaths)
    if length / period * len(dashes) > MOST_DASHES:
        notes.add("svg-effect-ignored", f"more than {MOST_DASHES} dashes of a line")
        return []
    return dashes * 2 if len(dashes) % 2 else dashes
