"""verdicts.json: every stroke and wall with its verdict, the shares, and advice."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

from workers.resolvability.advice import Advice, advise
from workers.resolvability.limits import Limits, limits_of
from workers.values.cuts import InciseCut
from workers.values.cutter import Cutter
from workers.values.examination import Examination, Judged, Verdict
from workers.values.finding import Finding
from workers.values.material import Material
from workers.values.region import Region

_WORST_FIRST = (Verdict.GONE, Verdict.LOST, Verdict.FRAGILE, Verdict.FAINT, Verdict.STANDS, Verdict.SHOWS)
_STROKE_VERDICTS = (Verdict.SHOWS, Verdict.FAINT, Verdict.LOST)


def verdicts_json(
    before: Examination | None,
    after: Examination,
    *,
    region: Region,
    cut: InciseCut,
    material: Material,
    bits: Sequence[Cutter] = (),
    notes: Sequence[Finding] = (),
) -> bytes:
    """Return the verdicts as a JSON file, the worst and longest first.

    Args:
        before: The examination before a repair; None where nothing was repaired.
        after: The examination of what will be cut.
        region: What will be cut.
        cut: The bit and the depth limit.
        material: The board's material.
        bits: The bits on hand, for the advice.
        notes: Findings of the repair.
    """
    record = {
        "strokes": [_run(stroke) for stroke in _ordered(after.strokes)],
        "walls": [_run(wall) for wall in _ordered(after.walls)],
        "summary": {
            "before": shares(before or after),
            "after": shares(after),
            "ink_length_mm": _number(sum(stroke.length_mm for stroke in after.strokes)),
            "limits_mm": _limits(limits_of(cut, material)),
        },
        "advice": _advice(advise(region, cut, material, bits)),
        "findings": [note.as_record() for note in notes],
    }
    return (json.dumps(record, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def shares(examination: Examination) -> dict[str, float]:
    """Return the share of the ink's length by verdict."""
    lengths_mm = dict.fromkeys(_STROKE_VERDICTS, 0.0)
    for stroke in examination.strokes:
        lengths_mm[stroke.verdict] += stroke.length_mm
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


def _limits(limits: Limits) -> dict[str, float | None]:
    return {
        "cuts_from": _number(limits.cuts_from_mm),
        "shows_from": _number(limits.shows_from_mm) if limits.shows_from_mm < float("inf") else None,
        "wall_stands_from": _number(limits.stands_from_mm),
    }


def _advice(advice: Advice) -> dict[str, Any]:
    return {
        "sentences": list(advice.sentences),
        "smallest_scale": None if advice.smallest_scale is None else _number(advice.smallest_scale),
        "smallest_width_mm": None if advice.smallest_width_mm is None else _number(advice.smallest_width_mm),
        "bits": [{"bit": share.bit, "shows": round(share.shows_fraction, 4)} for share in advice.bits],
    }


def _number(value: float) -> float:
    """Return a micrometre's worth of a figure."""
    return round(float(value), 3) + 0.0
