"""A proof and its file say the same."""

import numpy as np

from workers.values.finding import Finding, Severity
from workers.values.height_field import HeightField
from workers.values.proof import BitRecord, Deviation, ProgramRecord, Proof
from workers.verification.proof_file import proof_json
from workers.verification.proof_record import read_proof
from workers.verification.verified import Verified

PROOF = Proof(
    passed=False,
    findings=(
        Finding(code="overcut", severity=Severity.ERROR, message="too deep", remedy="less", at_mm=(1.5, 2.0)),
        Finding(code="note", severity=Severity.NOTE, message="well", remedy=""),
    ),
    overcut=Deviation(max_mm=0.3, p999_mm=0.25, area_mm2=4.0),
    undercut=None,
    carved_volume_mm3=12.5,
    programs=(
        ProgramRecord(
            name="01-incise-vee-90.ngc",
            sha256="0" * 64,
            bits=(BitRecord(number=None, bit="vee-90", seconds_s=12.0),),
            seconds_s=12.0,
            feed_length_mm=100.0,
            traverse_length_mm=50.0,
            low_mm=(0.0, 0.0, -2.5),
            high_mm=(10.0, 20.0, 5.0),
        ),
    ),
    seconds_s=12.0,
)


def test_a_proof_survives_its_file() -> None:
    """Written and read back, every member is what it was."""
    field = HeightField(depth_mm=np.zeros((2, 2), np.float32), cell_mm=0.1, left_mm=0, bottom_mm=0)
    verified = Verified(proof=PROOF, field=field, tolerance_mm=None, compared_cells=0, bridges_count=None)
    assert read_proof(proof_json(verified)) == PROOF
