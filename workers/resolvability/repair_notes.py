"""What a repair did and could not do, in words."""

from __future__ import annotations

import math
from collections.abc import Iterable

from workers.resolvability.limits import limits_of, showing_width_mm
from workers.values.cuts import InciseCut
from workers.values.examination import Examination, Judged, Verdict
from workers.values.finding import Finding, Severity
from workers.values.material import Material


def notes_on(
    before: Examination, after: Examination, cut: InciseCut, material: Material, moved_mm: float
) -> tuple[Finding, ...]:
    """Return the findings of a repair: what was thickened, and what is still too thin or too weak."""
    notes = []
    if math.isinf(limits_of(cut, material).shows_from_mm):
        notes.append(_too_shallow(cut, material))
    changed = [stroke for stroke in after.strokes if stroke.repaired]
    if changed:
        notes.append(_thickened(changed, showing_width_mm(cut, material), moved_mm))
    thin = [stroke for stroke in after.strokes if stroke.verdict is not Verdict.SHOWS]
    if thin and not math.isinf(limits_of(cut, material).shows_from_mm):
        notes.append(_still_thin(thin))
    weak_before, weak = (_weak(examination) for examination in (before, after))
    if _length_mm(weak) > _length_mm(weak_before) + material.thinnest_wall_mm:
        notes.append(_weaker(weak, _length_mm(weak) - _length_mm(weak_before)))
    return tuple(notes)


def notes_unrepaired(examination: Examination, cut: InciseCut, material: Material) -> tuple[Finding, ...]:
    """Return the findings on a drawing that is cut as it is: what will not show."""
    thin = [stroke for stroke in examination.strokes if stroke.verdict is not Verdict.SHOWS]
    if math.isinf(limits_of(cut, material).shows_from_mm):
        return (_too_shallow(cut, material),)
    if not thin:
        return ()
    return (
        Finding(
            code="strokes-thin",
            severity=Severity.WARNING,
            message=f"{_length_mm(thin):.0f} mm of strokes are too thin {_for_what(thin)}",
            remedy="order with repair, make the art larger, or use a bit with a smaller tip or angle",
            at_mm=max(thin, key=_length_of).at_mm,
        ),
    )


def _too_shallow(cut: InciseCut, material: Material) -> Finding:
    return Finding(
        code="depth-limit-hides",
        severity=Severity.WARNING,
        message=f"the depth limit is {cut.depth_limit_mm:.2f} mm, but in {material.title} a groove shows "
        f"from {material.shows_depth_mm:.2f} mm",
        remedy=f"raise the depth limit to {material.shows_depth_mm:.2f} mm or more",
    )


def _thickened(changed: list[Judged], width_mm: float, moved_mm: float) -> Finding:
    return Finding(
        code="strokes-thickened",
        severity=Severity.NOTE,
        message=f"{_length_mm(changed):.0f} mm of strokes were thickened towards {width_mm:.2f} mm; "
        f"no outline moved by more than {moved_mm:.2f} mm",
        remedy="compare the repaired art with the drawing; order without repair to keep the drawing as it is",
        at_mm=max(changed, key=_length_of).at_mm,
    )


def _still_thin(thin: list[Judged]) -> Finding:
    return Finding(
        code="strokes-still-thin",
        severity=Severity.WARNING,
        message=f"{_length_mm(thin):.0f} mm of strokes stay too thin {_for_what(thin)}: "
        "there is no room beside them",
        remedy="make the art larger, use a bit with a smaller tip or angle, or draw them farther apart",
        at_mm=max(thin, key=_length_of).at_mm,
    )


def _for_what(thin: list[Judged]) -> str:
    return "to be cut" if any(stroke.verdict is Verdict.LOST for stroke in thin) else "to show well"


def _weaker(weak: list[Judged], more_mm: float) -> Finding:
    return Finding(
        code="walls-weaker",
        severity=Severity.WARNING,
        message=f"thicker strokes leave {more_mm:.0f} mm more of thin walls between them",
        remedy="make the art larger, or order without repair",
        at_mm=max(weak, key=_length_of).at_mm,
    )


def _weak(examination: Examination) -> list[Judged]:
    return [wall for wall in examination.walls if wall.verdict is not Verdict.STANDS]


def _length_mm(runs: Iterable[Judged]) -> float:
    return sum(run.length_mm for run in runs)


def _length_of(run: Judged) -> float:
    return run.length_mm
