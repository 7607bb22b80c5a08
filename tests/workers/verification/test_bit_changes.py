"""Programs that change their bit: each stretch is cut with its own, and what is wrong with a change is found.

The board is 60 x 40 x 10 mm. Bit 1 is a V-bit of 90 degrees, bit 2 an end mill of 3 mm; the source of what T
and M6 do is NISTIR 6556, 3.6.3 and table 8 (the spindle stops at the change, the axes stay: memory).
"""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from tests.support.specimens import MACHINE, board, mill, vee
from workers.values.cutter import Cutter
from workers.values.finding import Finding
from workers.values.keep_out import KeepOut
from workers.values.program import Program
from workers.verification.proof_file import proof_json
from workers.verification.verified import Verified
from workers.verification.verify import verify

VEE, MILL = vee(90, diameter_mm=12.7, length_mm=8), mill(3, 12)
BITS: dict[int, Cutter] = {1: VEE, 2: MILL}
LINES = [
    "G21 G17 G90 G94", "T1 M6", "G0 Z5", "S18000 M3", "G0 X10 Y10", "G1 Z-2 F300", "G1 X40 F900", "G0 Z5",
    "M5", "T2 M6", "G0 Z5", "S12000 M3", "G0 X10 Y30", "G1 Z-4 F300", "G1 X40 F900", "G0 Z5", "M5", "M2",
]  # fmt: skip
TEXT = "\n".join(LINES) + "\n"


def proven(text: str = TEXT, *, one: Cutter | None = None, keep_outs: tuple[KeepOut, ...] = ()) -> Verified:
    """Verify one program with both bits, or with just the one."""
    program = Program(name="both.ngc", text=text, cutter=one, bits={} if one else BITS)
    return verify([program], board(60, 40, 10), MACHINE, keep_outs=keep_outs)


def found(text: str, **how: Cutter) -> dict[str, Finding]:
    """Return the findings by code."""
    return {finding.code: finding for finding in proven(text, **how).proof.findings}


def changed(before: str, after: str) -> str:
    """Return the program with one piece exchanged, the last one where it stands more than once."""
    head, piece, tail = TEXT.rpartition(before)
    assert piece
    return head + after + tail


def test_each_stretch_is_cut_with_its_own_bit() -> None:
    """By hand: a V 2 mm deep and 30 long, its ends half cones; a slot 3 wide, 4 deep, 30 long."""
    groove_mm3 = 2 * 2 * 30 + 3.14159265 * 2**2 * 2 / 3
    slot_mm3 = 3 * 4 * 30 + 3.14159265 * 1.5**2 * 4
    verified = proven()
    assert verified.proof.findings == ()
    assert verified.proof.carved_volume_mm3 == pytest.approx(groove_mm3 + slot_mm3, rel=0.003)


def test_the_record_tells_each_bit_with_its_seconds() -> None:
    """In the order in which they cut; together they are the program's time, and no bit is the only one."""
    verified = proven()
    (record,) = json.loads(proof_json(verified))["programs"]
    assert [(one["number"], one["bit"]) for one in record["bits"]] == [(1, "vee-90"), (2, "flat-1/8in")]
    assert sum(one["seconds"] for one in record["bits"]) == pytest.approx(record["seconds"], abs=0.002)
    assert "bit" not in record
    alone = proven(TEXT.replace("T1 M6", "M5"), one=VEE)
    assert alone.proof.programs == ()


def test_a_bit_that_comes_back_is_told_twice() -> None:
    """Bit 1, bit 2, and bit 1 again."""
    again = LINES[1:8]
    verified = proven("\n".join([*LINES[:-1], *again[:3], "G0 X10 Y20", *again[4:], "M5", "M2"]))
    assert [one.number for one in verified.proof.programs[0].bits] == [1, 2, 1]
    assert verified.proof.passed


def test_a_missing_change_is_found() -> None:
    """T2 alone leaves the V-bit in the spindle: bit 2 idles, and the reader remarks the T."""
    findings = found(changed("T2 M6", "T2"))
    assert "both.ngc takes nothing off the board with bit 2 (flat-1/8in)" in findings["nothing-cut"].message
    assert "no M6 takes it" in findings["program-remark"].message


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (changed("T2 M6", "T3 M6"), "line 10: changes to bit T3; given are 1, 2"),
        (changed("T2 M6", "T0 M6"), "line 10: cuts after a change to an empty spindle (T0)"),
        (TEXT.replace("T1 M6", "M6"), "line 2: cuts after a change to a bit without a number (no T)"),
        (TEXT.replace("T1 M6", "M5"), "line 6: cuts before its first change of bit"),
    ],
)
def test_a_bit_that_nobody_gave_is_an_error_with_its_line(text: str, said: str) -> None:
    """What it would cut is not known, so the program is not cut at all."""
    finding = found(text)["bit-not-given"]
    assert finding.stops
    assert said in finding.message
    assert finding.remedy


def test_an_empty_spindle_in_the_air_is_let_pass() -> None:
    """Some shops put the last bit away."""
    assert proven(changed("M2", "T0 M6\nG0 X0 Y0\nM2")).proof.passed


def test_a_program_for_one_bit_that_changes_to_another_is_refused_with_the_remedy() -> None:
    """Before it cuts a change is let pass, whatever the number; after it cut nobody knows the bit."""
    finding = found(TEXT, one=VEE)["bit-not-given"]
    assert "line 10: changes to bit T2 after cutting with another" in finding.message
    assert "bits: {1: vee-60, 2: flat-1/8in}" in finding.remedy
    one_bit = "\n".join([*LINES[:9], "M2"])
    assert proven(one_bit.replace("T1", "T7"), one=VEE).proof.passed
    assert proven(one_bit.replace("G1 X40", "T7 M6 S9000 M3\nG1 X40"), one=VEE).proof.passed is False


@pytest.mark.parametrize(
    ("text", "code", "said"),
    [
        (changed("M5\nT2", "T2"), "spindle-on-at-change", "line 9: the bit is changed while the spindle"),
        (changed("G0 Z5\nM5\nT2", "M5\nT2"), "change-in-the-work", "line 9: the bit is changed 2.000 mm"),
        (changed("S12000 M3\n", ""), "spindle-off", "line 13: feeds below the face"),
        (changed("S12000", "S60000"), "spindle-speed", "line 14: S 60000 rpm"),
        (changed("F300", "F9000"), "feed-above-machine", "line 14: 9000 mm/min"),
        (changed("G0 X10 Y30", "G0 X10 Y30 Z-3"), "rapid-through-stock", "line 13"),
        (changed("G1 Z-4 F300", "G0 Z-4"), "plunge-through-stock", "line 14"),
        (changed("M5\nT2 M6", "M5\nG0 X900 Y0\nT2 M6"), "outside-envelope", "line 10: X goes from"),
    ],
)  # fmt: skip
def test_what_is_wrong_at_or_after_a_change_is_found(text: str, code: str, said: str) -> None:
    """M6 stops the spindle, so it has to be started again; all else is judged by the bit in the spindle."""
    findings = found(text)
    assert findings[code].stops
    assert said in findings[code].message


def test_a_depth_is_held_against_the_bit_that_makes_it() -> None:
    """9.9 mm are within the mill's 12 mm, and past the V-bit's cone of 6.35 mm."""
    assert "past-cutting-length" not in found(changed("Z-4 F", "Z-9.9 F"))
    swapped = changed("Z-4 F", "Z-9.9 F").replace("T1", "T9").replace("T2", "T1").replace("T9", "T2")
    assert "cone of vee-90 is 6.350 mm high" in found(swapped)["past-cutting-length"].message


def test_before_the_first_change_clamps_are_held_against_the_widest_bit() -> None:
    """Nobody knows what is in the spindle then: 5 mm beside the clamp is too near for a bit of 12.7 mm."""
    early = TEXT.replace("T1 M6", "G0 Z5\nG0 X50 Y0\nT1 M6\nG0 Z25")
    near = KeepOut(left_mm=54, bottom_mm=-5, right_mm=70, top_mm=5, height_mm=18)
    messages = [finding.message for finding in proven(early, keep_outs=(near,)).proof.findings]
    assert "line 3: runs into keep-out zone 1" in messages[0]
    assert proven(early, keep_outs=(replace(near, left_mm=58),)).proof.findings == ()


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        ("G43 H1", "G43 H2", None),
        ("G43 H1", "G43 H1", "line 16: bit 2 cuts with the length of number 1 (G43 H1)"),
        ("G43 H1", "", "bit 2 cuts with the length of number 1 (G43 H1)"),
        ("G43 H21", "G43 H21", "bit 2 cuts with the length of number 21 (G43 H21)"),
        ("G43 H1", "G49", "bit 2 cuts with no bit's length, others with theirs"),
        ("G49", "G49", None),
    ],
)
def test_a_bit_that_cuts_with_anothers_length_is_found(first: str, second: str, said: str | None) -> None:
    """The plunge would be off by as much as the bits differ (G43, section 3.5.10 of the report: memory)."""
    text = TEXT.replace("T1 M6\n", f"T1 M6\n{first}\n").replace("T2 M6\n", f"T2 M6\n{second}\n")
    errors = [finding for finding in proven(text).proof.findings if finding.code == "other-bits-length"]
    assert bool(errors) is (said is not None)
    assert all(finding.stops for finding in errors)
    if said:
        assert said in errors[-1].message


def test_lengths_of_their_own_by_other_numbers_are_a_warning() -> None:
    """Some machines keep the length of bit 1 as H21; nobody else uses it."""
    text = TEXT.replace("T1 M6\n", "T1 M6\nG43 H21\n").replace("T2 M6\n", "T2 M6\nG43 H22\n")
    verified = proven(text)
    assert verified.proof.passed
    assert sum(finding.code == "other-bits-length" for finding in verified.proof.findings) == 2
