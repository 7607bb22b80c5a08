"""proof.json has the members of the contract, and the same proof gives the same bytes."""

from __future__ import annotations

import hashlib
import json

from workers.values.cutter import EndMill
from workers.values.design import Board
from workers.values.machine import Machine
from workers.values.program import Program
from workers.verification.proof_file import proof_json
from workers.verification.verified import Verified
from workers.verification.verify import verify

MACHINE = Machine(
    name="bench", title="A bench router", travel_x_mm=400, travel_y_mm=300, travel_z_mm=60,
    max_feed_mm_per_min=2500, max_plunge_mm_per_min=1000, traverse_mm_per_min=5000,
    traverse_z_mm_per_min=1500, acceleration_mm_per_s2=400, junction_deviation_mm=0.02,
    min_spindle_rpm=8000, max_spindle_rpm=24000,
    spindle_commanded=True, clearance_mm=5, spin_up_s=3,
)  # fmt: skip
TEXT = "G21 G90\nG0 Z5\nS9000 M3\nG0 X10 Y10\nG1 Z-1 F200\nG1 X20\nG0 Z5\nM2\n"


def proven() -> Verified:
    """Return a small proof."""
    mill = EndMill(name="flat-3", diameter_mm=3, cutting_length_mm=15, flutes_count=2)
    board = Board(width_mm=30, height_mm=20, thickness_mm=6, material="pine")
    return verify([Program(name="a.ngc", cutter=mill, text=TEXT)], board, MACHINE)


def test_the_members_of_the_contract_are_there() -> None:
    """design.md, part 4."""
    record = json.loads(proof_json(proven(), 0.1, 0.001))
    assert record["passed"] is True
    assert record["findings"] == []
    assert record["overcut_mm"] is None
    assert record["depth_map"] == {"mm_per_px": 0.1, "mm_per_level": 0.001}
    (program,) = record["programs"]
    assert program["sha256"] == hashlib.sha256(TEXT.encode()).hexdigest()
    assert program["bounds_mm"] == {"low": [0, 0, -1], "high": [20, 10, 5]}
    assert set(program) == {
        "name", "sha256", "bit", "seconds", "feed_length_mm", "traverse_length_mm", "bounds_mm",
    }  # fmt: skip


def test_findings_tell_code_severity_message_remedy_and_place() -> None:
    """As the contract lists them."""
    verified = verify([], Board(width_mm=9, height_mm=9, thickness_mm=6, material="pine"), MACHINE)
    (finding,) = json.loads(proof_json(verified))["findings"]
    assert set(finding) == {"code", "severity", "message", "remedy", "at"}
    assert finding["severity"] == "error"


def test_the_same_proof_gives_the_same_bytes() -> None:
    """Determinism."""
    assert proof_json(proven()) == proof_json(proven())
