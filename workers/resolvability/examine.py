"""What each stroke, and each wall between strokes, will be like once cut."""

from __future__ import annotations

from workers.resolvability.centre_lines import CentreLine, Measured, centre_lines, measured, narrower_than
from workers.resolvability.limits import Limits, limits_of
from workers.resolvability.runs import Changed, judged_runs, unchanged
from workers.values.cuts import InciseCut
from workers.values.examination import Examination, Judged, Verdict
from workers.values.material import Material
from workers.values.medial_axis import MedialAxis
from workers.values.progress import Reporter, silent
from workers.values.region import Region

_STROKE_VERDICTS = (Verdict.LOST, Verdict.FAINT, Verdict.SHOWS)
_WALL_VERDICTS = (Verdict.GONE, Verdict.FRAGILE, Verdict.STANDS)
_WALL_REACH = 2.0  # times the thinnest wall that stands: what is wider is open field


def examine(region: Region, cut: InciseCut, material: Material, report: Reporter = silent) -> Examination:
    """Judge every stroke and every wall by its width.

    A stroke narrower than the tip is lost; one whose groove is shallower than shows in the
    material is faint. A wall is where two edges of ink face each other nearer than twice the
    thinnest wall that stands; ink is cut exactly to its outline, so the wall is as thick at
    the face as the paper is wide between them.

    Args:
        region: The ink.
        cut: The bit and the depth limit.
        material: Gives the depth that shows and the thinnest wall that stands.
        report: Told how far it is.
    """
    report(0.1, "measuring the strokes")
    found = measured(region)
    report(0.8, "judging the strokes")
    return judged(found, limits_of(cut, material))


def judged(found: Measured, limits: Limits, is_changed: Changed = unchanged) -> Examination:
    """Return the verdicts on centre lines already measured; ``is_changed`` marks what a repair has moved."""
    return Examination(
        strokes=tuple(run for line in found.strokes for run in _stroke(line, limits, is_changed)),
        walls=tuple(
            run
            for line in _between(found.paper, limits)
            for run in _wall(line, limits, is_changed)
            if run.verdict is not Verdict.STANDS or run.length_mm >= limits.stands_from_mm
        ),
    )


def _stroke(line: CentreLine, limits: Limits, is_changed: Changed) -> list[Judged]:
    return judged_runs(
        line, (limits.cuts_from_mm, limits.shows_from_mm), _STROKE_VERDICTS, limits.least_run_mm, is_changed
    )


def _between(paper: MedialAxis, limits: Limits) -> tuple[CentreLine, ...]:
    return centre_lines(narrower_than(paper, _WALL_REACH * limits.stands_from_mm))


def _wall(line: CentreLine, limits: Limits, is_changed: Changed) -> list[Judged]:
    return judged_runs(
        line,
        (limits.is_there_from_mm, limits.stands_from_mm),
        _WALL_VERDICTS,
        limits.stands_from_mm,
        is_changed,
    )
