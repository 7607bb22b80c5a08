"""proof.json has the members of the contract, and the same proof gives the same bytes."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace

from tests.support.specimens import MACHINE, board, mill
from workers.values.program import Program
from workers.verification.proof_file import proof_json
from workers.verification.verified import Verified
from workers.verification.verify import verify

ROUTER = replace(MACHINE, min_spindle_rpm=8000)
TEXT = "G21 G90\nG0 Z5\nS9000 M3\nG0 X10 Y10\nG1 Z-1 F200\nG1 X20\nG0 Z5\nM2\n"


def proven() -> Verified:
    """Return a small proof."""
    return verify([Program(name="a.ngc", cutter=mill(3, 15), text=TEXT)], board(30, 20, 6), ROUTER)


def test_the_members_of_the_contract_are_there() -> None:
    """design.md, part 4."""
    record = json.loads(proof_json(proven(), {"machine": "bench-600"}, 0.1, 0.001))
    assert record["passed"] is True
    assert record["findings"] == []
    assert record["overcut_mm"] is None
    assert record["depth_map"] == {"mm_per_px": 0.1, "mm_per_level": 0.001}
    assert record["inputs"] == {"machine": "bench-600"}
    (program,) = record["programs"]
    assert program["sha256"] == hashlib.sha256(TEXT.encode()).hexdigest()
    assert program["bounds_mm"] == {"low": [0, 0, -1], "high": [20, 10, 5]}
    assert program["bits"] == [{"bit": program["bit"], "seconds": program["seconds"]}]
    assert set(program) == {
        "name", "sha256", "bit", "bits", "seconds", "feed_length_mm", "traverse_length_mm", "bounds_mm",
    }  # fmt: skip


def test_findings_tell_code_severity_message_remedy_and_place() -> None:
    """As the contract lists them."""
    verified = verify([], board(9, 9, 6), ROUTER)
    (finding,) = json.loads(proof_json(verified))["findings"]
    assert set(finding) == {"code", "severity", "message", "remedy", "at"}
    assert finding["severity"] == "error"


def test_the_same_proof_gives_the_same_bytes() -> None:
    """Determinism."""
    assert proof_json(proven()) == proof_json(proven())
