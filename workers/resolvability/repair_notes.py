"""What a repair did and could not do, in words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from workers.geometry.vee import flank_slope
from workers.resolvability.limits import limits_of, showing_width_mm
from workers.resolvability.moves import Move
from workers.resolvability.sensitivity import Sensitivity, sensitivity_of
from workers.resolvability.topology import parts_and_holes
from workers.resolvability.wishes import Walls
from workers.values.cuts import InciseCut
from workers.values.cutter import Cutter, VeeCutter
from workers.values.examination import Examination, Judged, Verdict
from workers.values.finding import Finding, Severity
from workers.values.material import Material
from workers.values.region import Region

_TOLD_FROM = 0.02  # of the ink's length: less is not worth a word
_STEADIER = 0.8  # of the chosen bit's slope: a bit that changes hardly less is not advised


def notes_on(
    before: Examination,
    after: Examination,
    cut: InciseCut,
    material: Material,
    moved_mm: float,
    at_most_mm: float = math.inf,
) -> tuple[Finding, ...]:
    """Return the findings of a repair: what was thickened, and what is still too thin or too weak."""
    notes = []
    if math.isinf(limits_of(cut, material).shows_from_mm):
        notes.append(_too_shallow(cut, material))
    changed = [stroke for stroke in after.strokes if stroke.repaired]
    if changed and any(stroke.verdict is not Verdict.SHOWS for stroke in before.strokes):
        notes.append(_thickened(changed, showing_width_mm(cut, material), moved_mm))
    thin = [stroke for stroke in after.strokes if stroke.verdict is not Verdict.SHOWS]
    if thin and not math.isinf(limits_of(cut, material).shows_from_mm):
        notes.append(_still_thin(thin, at_most_mm))
    weak_before, weak = (_weak(examination) for examination in (before, after))
    if _length_mm(weak) > _length_mm(weak_before) + material.thinnest_wall_mm:
        notes.append(_weaker(weak, _length_mm(weak) - _length_mm(weak_before)))
    return tuple(notes)


def notes_on_walls(
    before: Region, after: Region, walls: Walls, moves: tuple[Move, ...]
) -> tuple[Finding, ...]:
    """Return the findings of opening or fusing walls; what fusing joined or filled is named."""
    if walls is Walls.OPEN and (taken := [move for move in moves if not move.added]):
        return (
            Finding(
                code="walls-opened",
                severity=Severity.NOTE,
                message=f"walls too thin to stand were cut wider in {_places(taken)}; "
                f"no outline gave way by more than {taken[0].moved_mm:.2f} mm",
                remedy="compare the repaired art with the drawing; leave 'walls' out to keep them",
                at_mm=taken[0].at_mm,
            ),
        )
    was, now = parts_and_holes(before), parts_and_holes(after)
    if walls is Walls.FUSE and was != now:
        return (
            Finding(
                code="walls-fused",
                severity=Severity.WARNING,
                message=f"walls too thin to stand were filled: {_shape(was)} became {_shape(now)}",
                remedy="compare the repaired art with the drawing; 'keep' or 'open' would join nothing",
                at_mm=moves[0].at_mm if moves else None,
            ),
        )
    return ()


def note_on_height(
    examination: Examination, cut: InciseCut, material: Material, bits: Sequence[Cutter]
) -> tuple[Finding, ...]:
    """Return what an error of height would do to the strokes that show, and what helps; nothing if little."""
    error = sensitivity_of(cut, material)
    showing = [run for run in examination.strokes if run.verdict is Verdict.SHOWS]
    fading = [run for run in showing if error.verdict_when_low(run.width_mm) is not Verdict.SHOWS]
    if _length_mm(fading) < _TOLD_FROM * _length_mm(examination.strokes):
        return ()
    vanishing = [run for run in showing if error.verdict_when_low(run.width_mm) is Verdict.LOST]
    worst = "no longer be cut" if vanishing else "be too shallow to show"
    return (
        Finding(
            code="height-matters",
            severity=Severity.WARNING if vanishing else Severity.NOTE,
            message=f"where the board lies {error.height_error_mm:g} mm low, or zero is as much too high, "
            f"grooves are {error.width_change_mm:.2f} mm narrower and "
            f"{_length_mm(vanishing or fading):.0f} mm of strokes would {worst}",
            remedy=f"plane or surface the board, hold it down flat, set zero beside the ink"
            f"{_steadier(cut, bits, error)}",
            at_mm=max(vanishing or fading, key=_length_of).at_mm,
        ),
    )


def _steadier(cut: InciseCut, bits: Sequence[Cutter], error: Sensitivity) -> str:
    """Return a word on the bit on hand that changes least with height, where that helps much."""
    slopes = {bit.name: flank_slope(bit) for bit in bits if isinstance(bit, VeeCutter)}
    if not slopes:
        return ""
    name = min(sorted(slopes), key=slopes.__getitem__)
    if slopes[name] > _STEADIER * flank_slope(cut.cutter):
        return ""
    return f", or take {name}: {2 * slopes[name] * error.height_error_mm:.2f} mm"


def _places(moves: Sequence[Move]) -> str:
    return _counted(len(moves), "place")


def _shape(parts_holes: tuple[int, int]) -> str:
    return f"{_counted(parts_holes[0], 'part')} and {_counted(parts_holes[1], 'hole')}"


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


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


def _still_thin(thin: list[Judged], at_most_mm: float) -> Finding:
    why = "there is no room beside them"
    if not math.isinf(at_most_mm):
        why += f", or an outline would move farther than the {at_most_mm:.2f} mm allowed"
    return Finding(
        code="strokes-still-thin",
        severity=Severity.WARNING,
        message=f"{_length_mm(thin):.0f} mm of strokes stay too thin {_for_what(thin)}: {why}",
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
