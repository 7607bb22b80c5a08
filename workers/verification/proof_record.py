"""A proof read back from its file."""

from __future__ import annotations

import json
from typing import Any

from workers.values.finding import Finding
from workers.values.proof import BackRecord, BitRecord, Deviation, ProgramRecord, Proof


def read_proof(data: bytes) -> Proof:
    """Return the proof that ``proof_json`` wrote, to the digits it has.

    Raises:
        KeyError, ValueError: The file is no proof of ours.
    """
    record: dict[str, Any] = json.loads(data)
    return Proof(
        passed=record["passed"],
        findings=tuple(Finding.from_record(found) for found in record["findings"]),
        overcut=_deviation(record["overcut_mm"]),
        undercut=_deviation(record["undercut_mm"]),
        carved_volume_mm3=record["carved_volume_mm3"],
        programs=tuple(_program(program) for program in record["programs"]),
        seconds_s=record["seconds"],
        back=BackRecord(**record["back"]) if "back" in record else None,
    )


def _deviation(record: dict[str, float] | None) -> Deviation | None:
    if record is None:
        return None
    return Deviation(max_mm=record["max"], p999_mm=record["p999"], area_mm2=record["area_mm2"])


def _program(record: dict[str, Any]) -> ProgramRecord:
    low, high = record["bounds_mm"]["low"], record["bounds_mm"]["high"]
    return ProgramRecord(
        name=record["name"],
        sha256=record["sha256"],
        bits=tuple(
            BitRecord(number=one.get("number"), bit=one["bit"], seconds_s=one["seconds"])
            for one in record["bits"]
        ),
        seconds_s=record["seconds"],
        feed_length_mm=record["feed_length_mm"],
        traverse_length_mm=record["traverse_length_mm"],
        low_mm=(low[0], low[1], low[2]),
        high_mm=(high[0], high[1], high[2]),
    )
