"""The words under the overlay: what each line means, how much of it there is, and the scale."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from shapely.geometry import box

from workers.resolvability.overlay_callouts import MOST_CALLOUTS, POINTED_AT, words_for
from workers.resolvability.overlay_canvas import Canvas
from workers.resolvability.overlay_style import (
    HATCHES,
    INK,
    PAPER,
    REPAIRED,
    RULE,
    STROKES,
    TEXT,
    WALLS,
    LineStyle,
)
from workers.values.examination import Examination, Judged, Verdict

_SIZE_PX = 19.0
_HEADLINE_PX = 30.0
_MARGIN_PX = 28.0
_SWATCH_PX = 52.0
_ROW_PX = 36.0
_HEADLINE_ROW_PX = 52.0
_END_PX = 20.0
_BAD_STROKES = (Verdict.FAINT, Verdict.LOST)


def legend_px(examination: Examination) -> int:
    """Return how high the key is: it has a row for each callout there may be."""
    bad = sum(run.verdict in POINTED_AT for run in (*examination.strokes, *examination.walls))
    kinds = {run.verdict for run in (*examination.strokes, *examination.walls)} | {Verdict.SHOWS}
    rows = len(kinds) + any(stroke.repaired for stroke in examination.strokes)
    rows = max(rows, min(bad, MOST_CALLOUTS))
    return round(_HEADLINE_ROW_PX + _ROW_PX * (rows + 1) + _END_PX)


def draw_legend(
    canvas: Canvas, examination: Examination, marked: Sequence[Judged], shows_from_mm: float | None
) -> None:
    """Write the key beneath the drawing: what it comes to, what each mark and each number means."""
    top_px = float(canvas.height_px)
    canvas.line_px(np.array([[0.0, top_px], [canvas.width_px, top_px]]), RULE, 1.0)
    size_px = min(_SIZE_PX, canvas.width_px / 66)
    y_px = top_px + _HEADLINE_ROW_PX * 0.62
    canvas.words(_MARGIN_PX, y_px, headline(examination), _HEADLINE_PX * size_px / _SIZE_PX, TEXT)
    y_px += _HEADLINE_ROW_PX * 0.8
    _callout_rows(canvas, y_px, size_px, marked, shows_from_mm)
    y_px = _rows(canvas, y_px, size_px, _entries(examination.strokes, STROKES, as_share=True))
    if any(stroke.repaired for stroke in examination.strokes):
        _repaired_row(canvas, y_px, size_px, examination.strokes)
        y_px += _ROW_PX
    _rows(canvas, y_px, size_px, _entries(examination.walls, WALLS, as_share=False))
    _scale_bar(canvas, canvas.height_px + legend_px(examination) - _END_PX - _ROW_PX / 2, size_px)


def headline(examination: Examination) -> str:
    """Return in one sentence what the verdicts come to."""
    total_mm = sum(run.length_mm for run in examination.strokes)
    bad_mm = sum(run.length_mm for run in examination.strokes if run.verdict in _BAD_STROKES)
    if not total_mm:
        return "There is no ink."
    if bad_mm:
        return f"{_percent(bad_mm, total_mm)} of the ink will not show: it is hatched."
    weak_mm = sum(run.length_mm for run in examination.walls if run.verdict is not Verdict.STANDS)
    return "All the ink will show." + (f" {weak_mm:.0f} mm of walls are weak." if weak_mm >= 1 else "")


def _callout_rows(
    canvas: Canvas, y_px: float, size_px: float, marked: Sequence[Judged], shows_from_mm: float | None
) -> None:
    """Write in the right half what each number points at."""
    x_px = canvas.width_px * 0.5
    for number, run in enumerate(marked, 1):
        badge = np.array([x_px, y_px])
        canvas.disc_px(badge, 13.0, (STROKES | WALLS)[run.verdict].colour)
        canvas.words(x_px, y_px, str(number), size_px, PAPER, anchor="mm")
        canvas.words(x_px + 24, y_px, words_for(run, shows_from_mm), size_px, TEXT)
        y_px += _ROW_PX


def _entries(
    runs: Sequence[Judged], styles: dict[Verdict, LineStyle], *, as_share: bool
) -> list[tuple[LineStyle, str]]:
    """Return style and words of each verdict."""
    total_mm = sum(run.length_mm for run in runs)
    entries = []
    for verdict, style in styles.items():
        length_mm = sum(run.length_mm for run in runs if run.verdict is verdict)
        if not length_mm and verdict is not Verdict.SHOWS:
            continue
        share = f"{_percent(length_mm, total_mm)}, " if as_share else ""
        entries.append((style, f"{style.words}, {share}{length_mm:.0f} mm"))
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


def _rows(canvas: Canvas, y_px: float, size_px: float, entries: list[tuple[LineStyle, str]]) -> float:
    """Write the meaning of each mark in a row of its own and return where the next one goes."""
    for style, text in entries:
        if hatch := HATCHES.get(style.verdict):
            left, top, right, bottom = canvas.box_mm(_MARGIN_PX, y_px - 9, _MARGIN_PX + _SWATCH_PX, y_px + 9)
            canvas.hatched(
                box(left, bottom, right, top), hatch.fill, hatch.colour, hatch.spacing_px, hatch.angle_deg
            )
        elif style.verdict in STROKES:
            canvas.line_px(np.array([[_MARGIN_PX, y_px], [_MARGIN_PX + _SWATCH_PX, y_px]]), INK, 18.0)
        swatch_px = np.array([[_MARGIN_PX, y_px], [_MARGIN_PX + _SWATCH_PX, y_px]])
        canvas.dashed_px(swatch_px, style.colour, style.width_px, style.dash_px)
        canvas.words(_MARGIN_PX + _SWATCH_PX + 12, y_px, text, size_px, TEXT)
        y_px += _ROW_PX
    return y_px


def _repaired_row(canvas: Canvas, y_px: float, size_px: float, strokes: Sequence[Judged]) -> None:
    length_mm = sum(stroke.length_mm for stroke in strokes if stroke.repaired)
    canvas.line_px(np.array([[_MARGIN_PX, y_px], [_MARGIN_PX + _SWATCH_PX, y_px]]), REPAIRED, 11.0)
    canvas.words(_MARGIN_PX + _SWATCH_PX + 12, y_px, f"repaired stroke: {length_mm:.0f} mm", size_px, TEXT)


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
