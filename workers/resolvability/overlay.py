"""overlay.png: the ink with its strokes and walls marked by verdict, the worst places numbered and told."""

from __future__ import annotations

import io
from collections.abc import Sequence

import shapely

from workers.resolvability.overlay_callouts import callouts, draw_badges
from workers.resolvability.overlay_canvas import Canvas
from workers.resolvability.overlay_legend import draw_legend, legend_px
from workers.resolvability.overlay_style import (
    HATCHES,
    INK,
    INK_EDGE,
    PAPER,
    REPAIRED,
    STROKES,
    WALLS,
    LineStyle,
)
from workers.resolvability.thin_parts import line_of
from workers.values.examination import Examination, Judged
from workers.values.region import Region

_LONGEST_PX = 1600
_BAND_PX = 11.0
_RING_PX = 7.0
_ROUND_LINE = 1.15  # of half a stroke's width: a little more, to be cut to the ink


def draw_overlay(
    region: Region,
    examination: Examination,
    frame_mm: tuple[float, float, float, float],
    shows_from_mm: float | None = None,
) -> bytes:
    """Return a picture of the ink: solid where it shows, hatched where it does not, with a key and callouts.

    Args:
        region: The ink.
        examination: Its verdicts.
        frame_mm: Left, bottom, right and top of what to show.
        shows_from_mm: The width from which a stroke shows, for the words.

    Returns:
        A PNG; its longest side, without the key, has 1600 pixels.
    """
    canvas = Canvas(frame_mm, _LONGEST_PX, legend_px(examination), PAPER)
    draw_verdicts(canvas, region, examination)
    marked = callouts(canvas, examination)
    draw_badges(canvas, marked, region)
    draw_legend(canvas, examination, marked, shows_from_mm)
    written = io.BytesIO()
    canvas.finished().save(written, "PNG")
    return written.getvalue()


def draw_verdicts(canvas: Canvas, region: Region, examination: Examination) -> None:
    """Draw the ink, and its strokes and walls as their verdicts look."""
    for polygon in sorted(region.polygons.geoms, key=lambda part: -part.area):
        canvas.area(polygon, INK, PAPER, INK_EDGE)
    _hatch(canvas, region, examination.strokes)
    for stroke in examination.strokes:
        if stroke.repaired:
            canvas.line(stroke.line_mm, REPAIRED, _BAND_PX)
    for runs, styles in ((examination.walls, WALLS), (examination.strokes, STROKES)):
        for verdict, style in styles.items():  # worst last, so that nothing covers it
            for run in runs:
                if run.verdict is verdict:
                    _draw_run(canvas, run, style)


def _hatch(canvas: Canvas, region: Region, strokes: Sequence[Judged]) -> None:
    """Fill strokes that do not show with the pattern of their verdict."""
    for verdict, hatch in HATCHES.items():
        runs = [run for run in strokes if run.verdict is verdict]
        if not runs:
            continue
        reach_mm = [_ROUND_LINE * run.width_mm / 2 for run in runs]
        around = shapely.buffer([line_of(run) for run in runs], reach_mm, cap_style="flat", quad_segs=4)
        within = shapely.intersection(shapely.union_all(around), region.polygons)
        if not within.is_empty:
            canvas.hatched(within, hatch.fill, hatch.colour, hatch.spacing_px, hatch.angle_deg)


def _draw_run(canvas: Canvas, run: Judged, style: LineStyle) -> None:
    canvas.line(run.line_mm, style.colour, style.width_px, style.dash_px)
    if style.ringed:
        canvas.ring(run.at_mm, style.colour, _RING_PX)
