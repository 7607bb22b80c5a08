"""Numbers beside the places that matter most, and a line of words for each in the key."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from workers.resolvability.overlay_canvas import Canvas
from workers.resolvability.overlay_style import PAPER, STROKES, TEXT, WALLS, LineStyle
from workers.values.examination import Examination, Judged, Verdict
from workers.values.region import Region

Places = NDArray[np.float64]

MOST_CALLOUTS = 6  # more would hide the drawing
POINTED_AT = (Verdict.LOST, Verdict.GONE, Verdict.FAINT, Verdict.FRAGILE)
_APART_PX = 90.0
_BADGE_PX = 15.0
_LEADERS_PX = (44.0, 70.0, 100.0)
_FAR_PX = 200.0
_DIRECTIONS = 8  # that a leader is tried in


def callouts(canvas: Canvas, examination: Examination) -> list[Judged]:
    """Return the runs to point at: lost and gone ones first, then faint and fragile ones, the longest first.

    Of runs that lie close together only the first is taken.
    """
    bad = [run for run in (*examination.strokes, *examination.walls) if run.verdict in POINTED_AT]
    found: list[Judged] = []
    for run in sorted(bad, key=lambda run: (POINTED_AT.index(run.verdict), -run.length_mm, run.at_mm)):
        if len(found) < MOST_CALLOUTS and all(
            _distance_px(canvas, run, other) > _APART_PX for other in found
        ):
            found.append(run)
    return found


def draw_badges(canvas: Canvas, runs: Sequence[Judged], region: Region) -> None:
    """Draw a number beside each run, with a leader to it; beside ink and other numbers if it can be."""
    taken: list[Places] = []
    places = [canvas.px(_middle(run))[0] for run in runs]
    for number, (run, place) in enumerate(zip(runs, places, strict=True), 1):
        others = [*taken, *(other for other in places if other is not place)]
        badge = _free_place(canvas, place, others, region)
        taken.append(badge)
        colour = _style(run).colour
        canvas.line_px(np.array([place, badge]), PAPER, 5.0)
        canvas.line_px(np.array([place, badge]), TEXT, 2.0)
        canvas.disc_px(badge, _BADGE_PX + 2, PAPER)
        canvas.disc_px(badge, _BADGE_PX, colour)
        canvas.words(float(badge[0]), float(badge[1]), str(number), 19.0, PAPER, anchor="mm")


def words_for(run: Judged, shows_from_mm: float | None) -> str:
    """Return what a callout says.

    >>> faint = Judged(verdict=Verdict.FAINT, width_mm=0.46, narrowest_mm=0.4, length_mm=57.2,
    ...                at_mm=(0.0, 0.0), line_mm=np.array([[0.0, 0.0], [57.2, 0.0]]))
    >>> words_for(faint, 1.2)
    'faint stroke: 0.46 mm wide, 57 mm long; shows from 1.20 mm'
    """
    kind = "stroke" if run.verdict in STROKES else "wall"
    said = f"{run.verdict.value} {kind}: {run.width_mm:.2f} mm wide, {max(1, round(run.length_mm))} mm long"
    if kind == "stroke" and shows_from_mm is not None and math.isfinite(shows_from_mm):
        said += f"; shows from {shows_from_mm:.2f} mm"
    return said


def _style(run: Judged) -> LineStyle:
    return (STROKES | WALLS)[run.verdict]


def _middle(run: Judged) -> Places:
    return run.line_mm[len(run.line_mm) // 2 :][:1]


def _distance_px(canvas: Canvas, one: Judged, other: Judged) -> float:
    step_px = canvas.px(_middle(one))[0] - canvas.px(_middle(other))[0]
    return float(np.hypot(*step_px))


def _free_place(canvas: Canvas, place: Places, taken: Sequence[Places], region: Region) -> Places:
    """Return where a badge goes: as near as can be to where it covers neither ink nor another badge."""
    spots = np.array(list(_round(canvas, place)))
    others_px = np.array(
        [min([_FAR_PX, *(float(np.hypot(*(spot - other))) for other in taken)]) for spot in spots]
    )
    left_mm, top_mm, _, _ = canvas.box_mm(0, 0, 0, 0)
    spots_mm = (left_mm, top_mm) + spots * (1, -1) / canvas.px_per_mm
    ink_px = shapely.distance(shapely.points(spots_mm), region.polygons) * canvas.px_per_mm
    clear = np.minimum(others_px / (2.5 * _BADGE_PX), 1) + np.minimum(ink_px / _BADGE_PX, 1)
    return np.asarray(spots[int(clear.argmax())])


def _round(canvas: Canvas, place: Places) -> Iterator[Places]:
    """Yield places round one, the near ones and the upper right first, moved inside the picture."""
    low = np.array([_BADGE_PX + 4, _BADGE_PX + 4])
    high = np.array([canvas.width_px, canvas.height_px]) - low
    for leader_px in _LEADERS_PX:
        for step in range(_DIRECTIONS):
            angle_rad = math.radians(-45 + 360 * step / _DIRECTIONS)
            spot = place + leader_px * np.array([math.cos(angle_rad), math.sin(angle_rad)])
            yield np.clip(spot, low, high)
