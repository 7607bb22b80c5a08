"""proof.json: the record of a proof for programs and people."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from workers.values.proof import BackRecord, BitRecord, Deviation, ProgramRecord
from workers.verification.tolerances import RAPID_MM, USUAL_SHARE
from workers.verification.verified import Verified


def proof_json(
    verified: Verified,
    inputs: Mapping[str, Any] | None = None,
    mm_per_px: float | None = None,
    mm_per_level: float | None = None,
) -> bytes:
    """Return the proof as JSON; the same proof gives the same bytes.

    Args:
        verified: The proof and the field.
        inputs: What was asked, with the names of files beside the proof as links, so that it can be repeated.
        mm_per_px: Scale of the depth map that goes with it, if there is one.
        mm_per_level: Depth of one of its grey levels.
    """
    proof = verified.proof
    record: dict[str, Any] = {
        "passed": proof.passed,
        "findings": [finding.as_record() for finding in proof.findings],
        "overcut_mm": _deviation(proof.overcut),
        "undercut_mm": _deviation(proof.undercut),
        "carved_volume_mm3": round(proof.carved_volume_mm3, 3),
        **({"back": _back(proof.back)} if proof.back else {}),
        "programs": [_program(program) for program in proof.programs],
        "seconds": round(proof.seconds_s, 3),
        "cell_mm": verified.field.cell_mm,
        "tolerances_mm": {
            "surface": _rounded(verified.tolerance_mm),
            "surface_p999": _rounded(verified.tolerance_mm and USUAL_SHARE * verified.tolerance_mm),
            "rapid": RAPID_MM,
        },
        "counts": {
            "cells": verified.field.depth_mm.size,
            "compared_cells": verified.compared_cells,
            "bridges": verified.bridges_count,
        },
    }
    if mm_per_px is not None and mm_per_level is not None:
        record["depth_map"] = {"mm_per_px": mm_per_px, "mm_per_level": mm_per_level}
    if inputs is not None:
        record["inputs"] = dict(inputs)
    return (json.dumps(record, indent=2, ensure_ascii=False) + "\n").encode()


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)


def _back(record: BackRecord) -> dict[str, float | None]:
    return {
        "cut_volume_mm3": round(record.cut_volume_mm3, 3),
        "least_wood_mm": _rounded(record.least_wood_mm),
        "overcut_mm": _rounded(record.overcut_mm),
        "undercut_mm": _rounded(record.undercut_mm),
    }


def _deviation(deviation: Deviation | None) -> dict[str, float] | None:
    if deviation is None:
        return None
    return {
        "max": round(deviation.max_mm, 4),
        "p999": round(deviation.p999_mm, 4),
        "area_mm2": round(deviation.area_mm2, 3),
    }


def _program(record: ProgramRecord) -> dict[str, Any]:
    names = {one.bit for one in record.bits}
    return {
        "name": record.name,
        "sha256": record.sha256,
        **({"bit": record.bits[0].bit} if len(names) == 1 else {}),
        "bits": [_bit(one) for one in record.bits],
        "seconds": round(record.seconds_s, 3),
        "feed_length_mm": round(record.feed_length_mm, 3),
        "traverse_length_mm": round(record.traverse_length_mm, 3),
        "bounds_mm": {
            "low": [round(value, 4) for value in record.low_mm],
            "high": [round(value, 4) for value in record.high_mm],
        },
    }


def _bit(record: BitRecord) -> dict[str, Any]:
    number = {} if record.number is None else {"number": record.number}
    return {**number, "bit": record.bit, "seconds": round(record.seconds_s, 3)}
