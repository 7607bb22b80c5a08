"""overlay.png: the ink with its strokes and walls coloured by verdict."""

from __future__ import annotations

import io
from collections.abc import Sequence

from workers.resolvability.overlay_canvas import Canvas
from workers.resolvability.overlay_legend import LEGEND_PX, draw_legend
from workers.resolvability.overlay_style import INK, INK_EDGE, PAPER, REPAIRED, STROKES, WALLS, LineStyle
from workers.values.examination import Examination, Judged, Verdict
from workers.values.region import Region

_LONGEST_PX = 1600
_LABELS = 8  # of the narrowest widths; more would hide the drawing
_LABEL_PX = 17.0
_BAND_PX = 11.0
_RING_PX = 7.0


def draw_overlay(
    region: Region, examination: Examination, frame_mm: tuple[float, float, float, float]
) -> bytes:
    """Return a picture of the ink, the centre lines of its strokes and walls coloured by verdict.

    Args:
        region: The ink.
        examination: Its verdicts.
        frame_mm: Left, bottom, right and top of what to show.

    Returns:
        A PNG; its longest side, without the legend, has 1600 pixels.
    """
    canvas = Canvas(frame_mm, _LONGEST_PX, LEGEND_PX, PAPER)
    for polygon in sorted(region.polygons.geoms, key=lambda part: -part.area):
        canvas.area(polygon, INK, PAPER, INK_EDGE)
    for stroke in examination.strokes:
        if stroke.repaired:
            canvas.line(stroke.line_mm, REPAIRED, _BAND_PX)
    for runs, styles in ((examination.walls, WALLS), (examination.strokes, STROKES)):
        for verdict, style in styles.items():  # worst last, so that nothing covers it
            for run in runs:
                if run.verdict is verdict:
                    _draw_run(canvas, run, style)
    _label_narrowest(canvas, examination)
    draw_legend(canvas, examination)
    written = io.BytesIO()
    canvas.finished().save(written, "PNG")
    return written.getvalue()


def _draw_run(canvas: Canvas, run: Judged, style: LineStyle) -> None:
    canvas.line(run.line_mm, style.colour, style.width_px, style.dash_px)
    if style.ringed:
        canvas.ring(run.at_mm, style.colour, _RING_PX)


def _label_narrowest(canvas: Canvas, examination: Examination) -> None:
    """Write the width beside the narrowest strokes that do not show, where there is room."""
    thin = [run for run in examination.strokes if run.verdict is not Verdict.SHOWS]
    placed: list[tuple[float, float]] = []
    for run in sorted(thin, key=lambda run: (run.width_mm, run.at_mm)):
        x_px, y_px = canvas.px(run.line_mm[len(run.line_mm) // 2 :][:1])[0]
        if len(placed) == _LABELS or not _is_clear(placed, x_px, y_px):
            continue
        placed.append((x_px, y_px))
        colour = STROKES[run.verdict].colour
        canvas.words(x_px + 11, y_px - 13, f"{run.width_mm:.2f}", _LABEL_PX, colour, halo=PAPER)


def _is_clear(placed: Sequence[tuple[float, float]], x_px: float, y_px: float) -> bool:
    return all(abs(x_px - x) > 60 or abs(y_px - y) > 26 for x, y in placed)
