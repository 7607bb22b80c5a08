"""Text of an SVG that runs along a path: each letter stands on the path's line at its own middle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

import numpy as np
from numpy.typing import NDArray

from workers.intake.svg_area import transformed
from workers.intake.svg_lengths import length_px
from workers.intake.svg_path_data import PathBuilder, Subpath
from workers.intake.svg_path_painting import paint_path
from workers.intake.svg_place import Place
from workers.intake.svg_shapes import LENGTHS, shape_path
from workers.intake.svg_source import CHARACTERS
from workers.intake.svg_text import ANCHORS, GlyphPen, Shaped, shaped_run
from workers.intake.svg_text_layout import letters_of, runs_of
from workers.intake.svg_transforms import Matrix, read_transform
from workers.intake.svg_tree import link_of, local_name

if TYPE_CHECKING:
    from workers.intake.svg_walk import Walk

STEPS = 64  # chords for each piece of the path: a quarter circle's are 5e-5 of its radius off
OUTLINED = frozenset({"path", "polyline", "polygon", *LENGTHS})


def draw_texts_on_paths(walk: Walk, element: Element, place: Place) -> None:
    """Paint the parts of a text element that run along a path.

    Args:
        walk: The walk that comes to it.
        element: The text element.
        place: Its place.

    Source: SVG 2, 11.8.
    """
    for child in element:
        if local_name(child) != "textPath":
            continue
        style = walk.source.sheet.style_of(child, place.style)
        if style["display"] == "none":
            continue
        own = walk.placed(child, replace(place, level=place.level + 1), style)
        line = _line_of(walk, child, place)
        if line is None:
            walk.notes.add("svg-text-left-out", "along a path that is not there")
            continue
        letters = letters_of(walk, child, own)
        walk.source.spend(CHARACTERS, len(letters))
        runs = [found for run in runs_of(letters) if (found := shaped_run(walk, run)) is not None]
        _draw_along(walk, line, runs, _start(child, line, runs, own))


@dataclass(frozen=True, slots=True, eq=False)
class _Line:
    """A path as chords, with how far along each of its points lies, user units of the text."""

    points: NDArray[np.float64]
    ways: NDArray[np.float64]  # the direction at each point
    along: NDArray[np.float64]
    scale: float  # of its lengths against those that its pathLength counts in

    def frame(self, at: float) -> Matrix | None:
        """Return the matrix to a place on the line, x onwards; None beyond its ends."""
        if not 0 <= at <= self.along[-1]:
            return None
        index = min(int(np.searchsorted(self.along, at, side="right")), len(self.along) - 1)
        share = (at - self.along[index - 1]) / (self.along[index] - self.along[index - 1])
        x, y = self.points[index - 1] * (1 - share) + self.points[index] * share
        way = self.ways[index - 1] * (1 - share) + self.ways[index] * share
        cos, sin = way / max(float(np.hypot(*way)), 1e-12)
        return np.array([[cos, -sin, x], [sin, cos, y], [0.0, 0.0, 1.0]])


def _line_of(walk: Walk, element: Element, place: Place) -> _Line | None:
    """Return the line that a textPath element refers to, None if there is none of any length."""
    target = walk.source.target(link_of(element))
    if target is None or local_name(target) not in OUTLINED:
        return None
    path, _ = shape_path(local_name(target), target.attrib, place.viewport)
    step = read_transform(target.get("transform", ""))
    points = _chords(path, np.eye(3) if step is None else step)
    if element.get("side", "left").strip() == "right":
        points = points[::-1]
    steps = np.diff(points, axis=0)
    lengths = np.hypot(*steps.T)
    steps, lengths = steps[lengths > 0], lengths[lengths > 0]
    if not len(lengths) or not np.isfinite(lengths).all():
        return None
    points = np.concatenate([points[:1], points[:1] + np.cumsum(steps, axis=0)])
    along = np.concatenate([[0.0], np.cumsum(lengths)])
    chords = steps / lengths[:, None]
    ways = np.concatenate([chords[:1], (chords[1:] + chords[:-1]) / 2, chords[-1:]])
    counted = length_px(target.get("pathLength"), 1.0, 0.0)
    return _Line(points, ways, along, along[-1] / counted if counted > 0 else 1.0)


def _chords(path: Sequence[Subpath], matrix: Matrix) -> NDArray[np.float64]:
    """Return points along a path's first subpath.

    SVG 2 lets text run on over the next subpath; that is rare, and its letters are told as left out.
    """
    if not path:
        return np.zeros((0, 2))
    pieces = transformed(path[0].pieces, matrix)
    t = (np.arange(STEPS) / STEPS)[:, None, None]
    s = 1 - t
    points = (
        s**3 * pieces[:, 0]
        + 3 * s * s * t * pieces[:, 1]
        + 3 * s * t * t * pieces[:, 2]
        + t**3 * pieces[:, 3]
    )
    return np.concatenate([points.transpose(1, 0, 2).reshape(-1, 2), pieces[-1:, 3]])


def _start(element: Element, line: _Line, runs: Sequence[Shaped], place: Place) -> float:
    """Return where on the line the text begins."""
    offset = element.get("startOffset", "0").strip()
    scale = 1.0 if offset.endswith("%") else line.scale
    start = length_px(offset, float(line.along[-1]), 0.0, place.viewport.em) * scale
    length = sum(each.advance + each.run.dx for each in runs)
    return start - ANCHORS.get(place.style["text-anchor"], 0.0) * length


def _draw_along(walk: Walk, line: _Line, runs: Sequence[Shaped], at: float) -> None:
    beyond = 0
    down = 0.0
    for each in runs:
        at, down = at + each.run.dx, down + each.run.dy
        for entry in each.glyphs:
            half = each.font.get_glyph_h_advance(entry.glyph) * each.unit / 2
            frame = line.frame(at + entry.x * each.unit + half)
            if frame is None:
                beyond += 1
                continue
            path = PathBuilder()
            pen = GlyphPen(path, -half, down - entry.y * each.unit, each.unit)
            each.font.draw_glyph_with_pen(entry.glyph, pen)
            own = each.run.place
            paint_path(walk, path.finished(), replace(own, matrix=own.matrix @ frame))
        at += each.advance
    if beyond:
        walk.notes.add("svg-text-left-out", f"{beyond} letters beyond the end of their path")
