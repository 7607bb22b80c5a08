"""Paths painted: their fill, their stroke and their markers, in the order that is asked for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from workers.intake.svg_area import Loops, Paint, fill_area, transformed
from workers.intake.svg_colours import Reading, Tone, tone_of
from workers.intake.svg_lengths import MM_PER_PX
from workers.intake.svg_markers import MARKED, draw_markers
from workers.intake.svg_path_data import Subpath
from workers.intake.svg_patterns import Pattern, pattern_of, tiled
from workers.intake.svg_place import Place
from workers.intake.svg_repairs import mended, tell_of_no_length
from workers.intake.svg_source import DRAWN as ELEMENTS
from workers.intake.svg_source import SEGMENTS
from workers.intake.svg_stroke import stroke_area

if TYPE_CHECKING:
    from workers.intake.svg_walk import Walk

FARTHEST_MM = 1e5  # ten times the largest page


def paint_path(walk: Walk, path: Sequence[Subpath], place: Place, shape: str = "") -> None:
    """Paint a path: its fill, its stroke and its markers.

    Args:
        walk: The walk that comes to it.
        path: User units.
        place: Its place.
        shape: The element that it is the outline of; none for letters.
    """
    walk.source.spend(SEGMENTS, sum(len(part.pieces) for part in path))
    is_hidden = place.style["visibility"] != "visible" and walk.reading is not Reading.EXTENT
    if (
        is_hidden
        or not path
        or not _is_near(walk, tuple(transformed(part.pieces, place.matrix) for part in path))
    ):
        return
    is_dotted = place.style["stroke"] != "none" and place.style["stroke-linecap"] != "butt"
    if shape and not is_dotted and walk.reading is Reading.INK:
        tell_of_no_length(path, place.matrix, shape, walk.notes)
    for layer in _layers(place.style["paint-order"]):
        if layer == "fill" and shape != "line":
            _fill(walk, path, place, shape)
        elif layer == "stroke":
            _stroke(walk, path, place)
        elif layer == "markers" and shape in MARKED and walk.reading not in (Reading.CLIP, Reading.EXTENT):
            draw_markers(walk, path, place)


def _fill(walk: Walk, path: Sequence[Subpath], place: Place, shape: str) -> None:
    pattern, tone = _paint(walk, place, "fill")
    if pattern is None and tone is None:
        return
    rule = place.style["clip-rule" if walk.reading is Reading.CLIP else "fill-rule"]
    area = fill_area(path, place.matrix, rule == "evenodd")
    if shape and walk.reading is not Reading.EXTENT:
        area = mended(path, area, shape, place.style["stroke"] != "none", walk.notes)
    if not area.loops:
        return
    if pattern is not None:
        walk.paints += tiled(walk, pattern, area, path, place, "fill")
    elif tone is not None:
        number = walk.source.spent[ELEMENTS]
        walk.paints.append(Paint(area, tone, place.clips, number, is_outline=bool(shape)))


def _stroke(walk: Walk, path: Sequence[Subpath], place: Place) -> None:
    pattern, tone = _paint(walk, place, "stroke")
    if pattern is None and tone is None:
        return
    if place.style["vector-effect"] not in ("none", "non-scaling-stroke"):
        walk.notes.add("svg-effect-ignored", f"vector-effect {place.style['vector-effect'][:40]}")
    area = stroke_area(path, place, MM_PER_PX * walk.source.enlargement, walk.notes)
    if area is None or not area.loops or not _is_near(walk, area.loops):
        return
    if pattern is not None:
        walk.paints += tiled(walk, pattern, area, path, place, "stroke")
    elif tone is not None:
        walk.paints.append(Paint(area, tone, place.clips, walk.source.spent[ELEMENTS]))


def _paint(walk: Walk, place: Place, kind: str) -> tuple[Pattern | None, Tone | None]:
    """Return the pattern of a paint, or else what its tone does."""
    if walk.reading is Reading.INK and (pattern := pattern_of(walk.source, place.style[kind])):
        return pattern, None
    return None, tone_of(walk.source, place.style, kind, place.opacity, walk.reading, walk.notes)


def _is_near(walk: Walk, loops: Loops) -> bool:
    """Return whether something lies where a drawing can; note it if not."""
    farthest = max(float(np.abs(loop).max()) for loop in loops) / walk.source.enlargement
    if farthest > FARTHEST_MM:
        walk.notes.add("svg-element-left-out", f"a shape that reaches {farthest / 1000:.3g} m away")
    return farthest <= FARTHEST_MM


def _layers(paint_order: str) -> Iterable[str]:
    """Return the layers of a shape from the lowest up; those not named follow in their usual order."""
    usual = ("fill", "stroke", "markers")
    named = [word for word in paint_order.split() if word in usual]
    return dict.fromkeys([*named, *usual])
