"""The words under the overlay: what each line means, how much of it there is, and the scale."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from workers.resolvability.overlay_canvas import Canvas
from workers.resolvability.overlay_style import FAINT_TEXT, REPAIRED, RULE, STROKES, TEXT, WALLS, LineStyle
from workers.values.examination import Examination, Judged, Verdict

LEGEND_PX = 148
_SIZE_PX = 19.0
_MARGIN_PX = 28.0
_SWATCH_PX = 52.0
_ROWS_PX = (34.0, 70.0, 112.0)  # below the drawing


def draw_legend(canvas: Canvas, examination: Examination) -> None:
    """Write the legend beneath the drawing: a row of strokes, a row of walls, a row for the scale."""
    top_px = float(canvas.height_px)
    canvas.line_px(np.array([[0.0, top_px], [canvas.width_px, top_px]]), RULE, 1.0)
    strokes_px, walls_px, scale_px = (top_px + row for row in _ROWS_PX)
    size_px = min(_SIZE_PX, canvas.width_px / 66)
    x_px = _row(canvas, strokes_px, size_px, "strokes", _entries(examination.strokes, STROKES, as_share=True))
    if any(stroke.repaired for stroke in examination.strokes):
        _repaired_entry(canvas, x_px, strokes_px, size_px, examination.strokes)
    _row(canvas, walls_px, size_px, "walls", _entries(examination.walls, WALLS, as_share=False))
    _scale_bar(canvas, scale_px, size_px)


def _entries(
    runs: Sequence[Judged], styles: dict[Verdict, LineStyle], *, as_share: bool
) -> list[tuple[LineStyle, str]]:
    """Return style and words of each verdict."""
    total_mm = sum(run.length_mm for run in runs)
    entries = []
    for verdict, style in styles.items():
        length_mm = sum(run.length_mm for run in runs if run.verdict is verdict)
        share = f"{_percent(length_mm, total_mm)}, " if as_share else ""
        entries.append((style, f"{style.words}: {share}{length_mm:.0f} mm"))
    return entries


def _percent(part: float, whole: float) -> str:
    """Return a share in words; what is there at all is never called 0 %, nor what is not all 100 %.

    >>> _percent(1, 1000), _percent(1, 2), _percent(999, 1000), _percent(3, 3), _percent(0, 0)
    ('under 1 %', '50 %', '99 %', '100 %', '0 %')
    """
    if not 0 < part < whole:
        return "100 %" if part else "0 %"
    share = 100 * part / whole
    return "under 1 %" if share < 1 else f"{min(99, round(share))} %"


def _row(
    canvas: Canvas, y_px: float, size_px: float, title: str, entries: list[tuple[LineStyle, str]]
) -> float:
    """Write one row and return where it ends."""
    canvas.words(_MARGIN_PX, y_px, title, size_px, FAINT_TEXT)
    x_px = _MARGIN_PX + 4.6 * size_px
    for style, text in entries:
        swatch_px = np.array([[x_px, y_px], [x_px + _SWATCH_PX, y_px]])
        canvas.dashed_px(swatch_px, style.colour, style.width_px, style.dash_px)
        canvas.words(x_px + _SWATCH_PX + 10, y_px, text, size_px, TEXT)
        x_px += _SWATCH_PX + 10 + canvas.words_width_px(text, size_px) + 1.6 * size_px
    return x_px


def _repaired_entry(
    canvas: Canvas, x_px: float, y_px: float, size_px: float, strokes: Sequence[Judged]
) -> None:
    length_mm = sum(stroke.length_mm for stroke in strokes if stroke.repaired)
    canvas.line_px(np.array([[x_px, y_px], [x_px + _SWATCH_PX, y_px]]), REPAIRED, 11.0)
    canvas.words(x_px + _SWATCH_PX + 10, y_px, f"repaired: {length_mm:.0f} mm", size_px, TEXT)


def _scale_bar(canvas: Canvas, y_px: float, size_px: float) -> None:
    """Draw a bar of a round length, about a sixth of the width."""
    length_mm = _round_length_mm(canvas.width_px / 6 / canvas.px_per_mm)
    x_px, end_px = _MARGIN_PX, _MARGIN_PX + length_mm * canvas.px_per_mm
    canvas.line_px(np.array([[x_px, y_px], [end_px, y_px]]), TEXT, 2.0)
    for tick_px in (x_px, end_px):
        canvas.line_px(np.array([[tick_px, y_px - 6], [tick_px, y_px + 6]]), TEXT, 2.0)
    canvas.words(end_px + 12, y_px, f"{length_mm:g} mm", size_px, TEXT)


def _round_length_mm(about_mm: float) -> float:
    """Return the largest of 1, 2, 5, 10, ... that is not longer.

    >>> _round_length_mm(34.9), _round_length_mm(0.07)
    (20.0, 0.05)
    """
    power = 10.0 ** math.floor(math.log10(about_mm))
    return float(round(max(step for step in (1, 2, 5) if step * power <= about_mm) * power, 9))
