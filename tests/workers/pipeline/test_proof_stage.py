"""Verification as a stage: programs with their bits as they come over the wire, and the proof repeated."""

from __future__ import annotations

import json
from typing import Any

import pytest

from schemas.requests import VerificationInputs
from workers.errors import UnknownNameError
from workers.pipeline.outcome import RefusedWithReports
from workers.pipeline.proof_stage import verification

BOARD = {"width": 60, "height": 40, "thickness": 10, "material": "basswood"}
BOTH = b"""G21 G90
T1 M6
G0 Z5
S18000 M3
G0 X10 Y10
G1 Z-2 F300
G1 X40 F900
G0 Z5
M5
T2 M6
G0 Z5
S12000 M3
G0 X10 Y30
G1 Z-4 F300
G1 X40 F900
G0 Z5
M5
M2
"""
BITS = {"1": "vee-90", "2": {"kind": "flat", "diameter": "1/8 in", "cutting_length": "12 mm"}}


def proven(programs: list[dict[str, Any]], text: bytes = BOTH) -> dict[str, Any]:
    """The proof of programs, passed or not."""
    inputs = VerificationInputs.model_validate({"programs": programs, "board": BOARD})
    try:
        files = verification(inputs, lambda _href: text, lambda *_: None)
    except RefusedWithReports as refused:
        files = refused.files
    proof: dict[str, Any] = json.loads(files["proof"])
    return proof


def test_bits_by_number_are_told_with_their_seconds_and_asked_again() -> None:
    """The proof names each bit; what it was asked is in it, so that it repeats itself."""
    proof = proven([{"href": "theirs.nc", "bits": BITS, "name": "theirs.nc"}])
    [program] = proof["programs"]
    assert proof["passed"]
    assert [(one["number"], one["bit"]) for one in program["bits"]] == [(1, "vee-90"), (2, "flat-3.175mm")]
    again = proven(proof["inputs"]["programs"])
    assert again == proof


def test_a_bit_of_the_wrong_number_is_a_finding_with_the_remedy() -> None:
    """T2, and only 1 and 3 are given."""
    proof = proven([{"href": "theirs.nc", "bits": {"1": "vee-90", "3": "flat-1/8in"}}])
    [finding] = [one for one in proof["findings"] if one["severity"] == "error"]
    assert finding["code"] == "bit-not-given"
    assert "line 10: changes to bit T2; given are 1, 3" in finding["message"]
    assert "give bit 2 in 'bits'" in finding["remedy"]


def test_an_unknown_bit_is_refused_at_its_number() -> None:
    """With the pointer to it."""
    with pytest.raises(UnknownNameError) as caught:
        proven([{"href": "theirs.nc", "bits": {"1": "vee-90", "2": "flat-9in"}}])
    assert caught.value.field == "/inputs/programs/0/bits/2"


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({}, "give 'bit', or 'bits' by their numbers"),
        ({"bit": "vee-90", "bits": BITS}, "keep 'bits' if the program changes them"),
        ({"bits": {}}, "at least 1 item"),
        ({"bits": {"0": "vee-90"}}, "T0 is an empty spindle"),
        ({"bits": {"first": "vee-90"}}, "valid integer"),
    ],
)
def test_a_program_says_its_bit_or_its_bits(said: dict[str, Any], words: str) -> None:
    """One of the two, numbers from 1."""
    with pytest.raises(ValueError, match=words):
        proven([{"href": "theirs.nc", **said}])
