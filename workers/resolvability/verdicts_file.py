"""verdicts.json: every stroke and wall with its verdict, the shares, every move of a repair, and advice."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

from workers.resolvability.advice import Advice
from workers.resolvability.legibility import Legibility
from workers.resolvability.limits import Limits, limits_of
from workers.resolvability.moves import Move
from workers.resolvability.repair import Repaired
from workers.resolvability.sensitivity import Sensitivity, sensitivity_of
from workers.resolvability.topology import parts_and_holes
from workers.values.cuts import InciseCut
from workers.values.examination import Examination, Judged, Verdict
from workers.values.finding import Finding
from workers.values.material import Material
from workers.values.region import Region

_WORST_FIRST = (Verdict.GONE, Verdict.LOST, Verdict.FRAGILE, Verdict.FAINT, Verdict.STANDS, Verdict.SHOWS)
_STROKE_VERDICTS = (Verdict.SHOWS, Verdict.FAINT, Verdict.LOST)


def verdicts_json(
    done: Repaired,
    *,
    cut: InciseCut,
    material: Material,
    advice: Advice,
    lettering: Sequence[Legibility] = (),
    notes: Sequence[Finding] = (),
) -> bytes:
    """Return the verdicts as a JSON file, the worst and longest first.

    Args:
        done: The drawing before and after its repair.
        cut: The bit and the depth limit.
        material: The board's material.
        advice: What would show more.
        lettering: How far off lettering is read.
        notes: Findings of the repair and the examination.
    """
    error = sensitivity_of(cut, material)
    after = done.examination
    record = {
        "strokes": [_run(stroke) | _when_low(stroke, error) for stroke in _ordered(after.strokes)],
        "walls": [_run(wall) for wall in _ordered(after.walls)],
        "summary": {
            "before": shares(done.examination_before),
            "after": shares(after),
            "ink_length_mm": _number(sum(stroke.length_mm for stroke in after.strokes)),
            "limits_mm": _limits(limits_of(cut, material)),
            "height_error": _height_error(after, error),
            "shape": {"before": _shape(done.region_before), "after": _shape(done.region)},
            "moved_mm": _number(done.moved_mm),
        },
        "moves": [_move(move) for move in done.moves],
        "advice": _advice(advice) | {"lettering": [_legibility(line) for line in lettering]},
        "findings": [note.as_record() for note in notes],
    }
    return (json.dumps(record, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def shares(examination: Examination) -> dict[str, float]:
    """Return the share of the ink's length by verdict."""
    lengths_mm = dict.fromkeys(_STROKE_VERDICTS, 0.0)
    for stroke in examination.strokes:
        lengths_mm[stroke.verdict] += stroke.length_mm
    return _fractions(lengths_mm)


def _fractions(lengths_mm: dict[Verdict, float]) -> dict[str, float]:
    total_mm = sum(lengths_mm.values())
    return {
        verdict.value: round(length_mm / total_mm, 4) if total_mm else 0.0
        for verdict, length_mm in lengths_mm.items()
    }


def _ordered(runs: Iterable[Judged]) -> list[Judged]:
    return sorted(runs, key=lambda run: (_WORST_FIRST.index(run.verdict), -run.length_mm, run.at_mm))


def _run(run: Judged) -> dict[str, Any]:
    return {
        "verdict": run.verdict.value,
        "width_mm": _number(run.width_mm),
        "narrowest_mm": _number(run.narrowest_mm),
        "length_mm": _number(run.length_mm),
        "at": [_number(value) for value in run.at_mm],
        "repaired": run.repaired,
    }


def _when_low(stroke: Judged, error: Sensitivity) -> dict[str, Any]:
    """Return what a stroke would be where the board lies low."""
    return {
        "low_width_mm": _number(error.width_when_low_mm(stroke.width_mm)),
        "low_verdict": error.verdict_when_low(stroke.width_mm).value,
    }


def _height_error(examination: Examination, error: Sensitivity) -> dict[str, Any]:
    """Return what an error of height changes, and the shares of ink length it would leave on low stock."""
    lengths_mm = dict.fromkeys(_STROKE_VERDICTS, 0.0)
    for stroke in examination.strokes:
        lengths_mm[error.verdict_when_low(stroke.width_mm)] += stroke.length_mm
    return {
        "height_error_mm": error.height_error_mm,
        "width_change_mm": _number(error.width_change_mm),
        "when_low": _fractions(lengths_mm),
        "weak_walls_when_high_mm": _number(
            sum(wall.length_mm for wall in examination.walls if wall.width_mm < error.high.stands_from_mm)
        ),
    }


def _shape(region: Region) -> dict[str, int]:
    parts, holes = parts_and_holes(region)
    return {"parts": parts, "holes": holes}


def _move(move: Move) -> dict[str, Any]:
    return {
        "at": [_number(value) for value in move.at_mm],
        "moved_mm": _number(move.moved_mm),
        "area_mm2": _number(move.area_mm2),
        "ink": "added" if move.added else "taken",
    }


def _legibility(line: Legibility) -> dict[str, Any]:
    return {
        "text": line.text,
        "cap_height_mm": _number(line.cap_height_mm),
        "stroke_mm": _number(line.stroke_mm),
        "stroke_to_height": round(line.stroke_fraction, 3),
        "reads_to_m": round(line.reads_to_m, 1),
        "reads_with_ease_to_m": round(line.reads_with_ease_to_m, 1),
    }


def _limits(limits: Limits) -> dict[str, float | None]:
    return {
        "cuts_from": _number(limits.cuts_from_mm),
        "shows_from": _number(limits.shows_from_mm) if limits.shows_from_mm < float("inf") else None,
        "wall_stands_from": _number(limits.stands_from_mm),
    }


def _advice(advice: Advice) -> dict[str, Any]:
    return {
        "sentences": list(advice.sentences),
        "smallest_scale": _known(advice.smallest_scale),
        "smallest_width_mm": _known(advice.smallest_width_mm),
        "smallest_minutes": _known(advice.smallest_minutes),
        "bits": [
            {"bit": share.bit, "shows": round(share.shows_fraction, 4), "minutes": round(share.minutes, 1)}
            for share in advice.bits
        ],
        "depth_limits": [
            {
                "depth_limit_mm": _number(share.depth_limit_mm),
                "shows": round(share.shows_fraction, 4),
                "minutes": round(share.minutes, 1),
            }
            for share in advice.depth_limits
        ],
    }


def _known(value: float | None) -> float | None:
    return None if value is None else _number(value)


def _number(value: float) -> float:
    """Return a micrometre's worth of a figure."""
    return round(float(value), 3) + 0.0
