"""Faults planted one by one in the program of a board's back: the proof finds each, and passes without them.

Source: what can go wrong is by definition wrong. A head under wood comes out only where it went in; the slot
is a disc and two rounded strips, told in plane coordinates; wood between both sides is what both depths leave
of the board's thickness.
"""

import math
import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest

from tests.support.hangers import DEPTH_MM, SIGN, errors, programs, proof
from tests.support.specimens import BASSWOOD, MACHINE, cutout, incise, mill
from workers.contracts.dialect import Dialect
from workers.dialects.inch_lines import INCH_LINES
from workers.dialects.inch_one_file import INCH_ONE_FILE
from workers.dialects.metric_arcs import METRIC_ARCS
from workers.dialects.metric_lines import METRIC_LINES
from workers.values.finding import Severity
from workers.values.program import Program
from workers.verification.proof_file import proof_json
from workers.verification.proof_record import read_proof
from workers.verification.verify import verify


@cache
def sound() -> tuple[Program, ...]:
    """The sign's programs, the back's first."""
    return tuple(programs())


def faulty(change: Callable[[str], str]) -> list[Program]:
    """The programs with that of the back changed."""
    back, *others = sound()
    text = change(back.text)
    assert text != back.text
    return [replace(back, text=text), *others]


def once(before: str, after: str) -> Callable[[str], str]:
    """A change of the first such place."""
    return lambda text: text.replace(before, after, 1)


def at_the_lift(after: str) -> Callable[[str], str]:
    """A change of the first way back to an entry, and the lift there, of which \\1 is the height."""
    return lambda text: re.sub(r"G1 Y50\.000\n(G0 Z\d\.\d+)\n", after, text, count=1)


def everywhere(before: str, after: str) -> Callable[[str], str]:
    """A change of every such place."""
    return lambda text: text.replace(before, after)


@pytest.mark.parametrize(
    "dialect", [METRIC_LINES, METRIC_ARCS, INCH_LINES, INCH_ONE_FILE], ids=lambda dialect: dialect.name
)
def test_without_a_fault_the_proof_passes(dialect: Dialect) -> None:
    """Nothing at all is found, and the figures are the design's: 19 - 9.525 - 0 to 2.5 mm of wood."""
    found = proof(programs(dialect=dialect))

    assert (found.passed, found.findings) == (True, ())
    assert found.back is not None
    assert found.back.least_wood_mm == pytest.approx(19 - DEPTH_MM - 1.5, abs=0.06)
    assert found.back.overcut_mm == pytest.approx(0, abs=0.003)
    assert found.back.undercut_mm == pytest.approx(0, abs=0.003)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (at_the_lift(r"\1\n"), "lifted-in-slot"),
        (at_the_lift(r"G1 Y50.400\n\1\n"), "lifted-in-slot"),
        (once("G1 Y50.000\n", "G1 Y50.000 Z-9.000\n"), "lifted-in-slot"),
        (once("G1 Y64.000", "G1 Y64.000 Z-9.300"), "lifted-in-slot"),
        (at_the_lift(""), "rapid-through-stock"),
        (everywhere("Z-9.525", "Z-9.635"), "hanger-overcut"),
        (everywhere("Z-9.525", "Z-9.415"), "hanger-undercut"),
        (once("Y64.000", "Y64.300"), "hanger-overcut"),
        (once("Y64.000", "Y63.700"), "hanger-undercut"),
        (once("X20.000", "X25.000"), "hanger-overcut"),
        (everywhere("Y50.000", "Y49.000"), "hanger-undercut"),
        (once("G1 Y64.000 F1370.0\nG1 Y50.000\n", ""), "hanger-undercut"),
        (once("G1 Z-9.525 F450.0", "G0 Z-9.525"), "plunge-through-stock"),
        (once("G1 Y64.000", "G0 Y64.000"), "rapid-through-stock"),
        (once("F450", "F1450"), "plunge-above-machine"),
        (once("F1370", "F4370"), "feed-above-machine"),
        (everywhere("F1370", "F130"), "chip-too-thin"),
        (once("M3\n", ""), "spindle-off"),
        (once("S18000", "S31000"), "spindle-speed"),
        (everywhere("Z-9.525", "Z-12.900"), "past-cutting-length"),
        (everywhere("G21", "G20"), "outside-envelope"),
        (once("X20.000", "X-20.000"), "cuts-beside-board"),
        (once("X20.000", "X900.000"), "outside-envelope"),
        (lambda text: re.sub(r"G1 Z-\S+", "G1 Z1.000", text), "nothing-cut"),
        (lambda text: text.replace("X20.000", "X25.000").replace("X85.000", "X90.000"), "hanger-undercut"),
    ],
)
def test_a_fault_in_the_program_of_the_back(change: Callable[[str], str], code: str) -> None:
    """Each by its name, the last is a program that nobody mirrored."""
    assert code in errors(faulty(change))


def test_a_lift_is_told_with_its_line_and_its_place_in_the_front() -> None:
    """The slot at x 20 behind is the one at x 90; a lip of 4.7625 mm is broken."""
    [found] = [
        finding
        for finding in proof(faulty(at_the_lift(r"\1\n"))).findings
        if finding.code == "lifted-in-slot"
    ]
    assert re.search(r"01-back-keyhole-3-8in.ngc, line \d+: .* lifted 4\.762 mm into the wood", found.message)
    assert found.at_mm == (90, 64)


def test_no_program_of_the_back_is_found() -> None:
    """Hangers are ordered, and nothing cuts them."""
    assert errors(list(sound())[1:]) == {"hanger-undercut"}


def test_a_program_of_the_back_run_on_the_face_is_found() -> None:
    """Nobody turned the board over."""
    back, *others = sound()
    assert errors([replace(back, from_behind=False), *others]) >= {"overcut", "hanger-undercut"}


def test_a_cut_behind_that_no_design_asks_for_is_found() -> None:
    """A design without hangers wants its back whole."""
    assert errors(list(sound()), replace(SIGN, hangers=())) == {"hanger-overcut"}


def test_the_back_after_the_cutout_is_an_error_and_after_carving_a_warning() -> None:
    """A board that hangs by its tabs is not turned over."""
    back, clear, grooves, free = sound()
    for order, severity in (
        ([clear, grooves, free, back], Severity.ERROR),
        ([clear, back, grooves, free], Severity.WARNING),
    ):
        found = [finding for finding in proof(order).findings if finding.code == "back-not-first"]
        assert [finding.severity for finding in found] == [severity]


@pytest.mark.parametrize(("thickness_mm", "left_mm"), [(12.8, 1.775), (10.0, -1.025)])
def test_too_little_wood_to_the_carving_is_found_where_both_meet_mirrored(
    thickness_mm: float, left_mm: float
) -> None:
    """9.525 mm of slot, 1.5 mm of stroke before the hanger on the face's left alone; no design is known."""
    board = replace(SIGN.board, thickness_mm=thickness_mm)
    [found] = [
        finding
        for finding in verify(sound(), board, MACHINE).proof.findings
        if finding.code == "hanger-breaks-through"
    ]

    told_mm = re.match(r"(\d\.\d+) mm of wood are left", found.message)
    assert (told_mm is None) == (left_mm < 0)
    assert told_mm is None or float(told_mm[1]) == pytest.approx(left_mm, abs=0.06)
    assert found.at_mm is not None
    assert abs(found.at_mm[0] - 25) < 5
    assert abs(found.at_mm[1] - 59.5) < 0.2


def test_two_millimetres_of_wood_are_enough() -> None:
    """13.03 mm of board leave 2.005 mm."""
    board = replace(SIGN.board, thickness_mm=13.03)
    codes = {finding.code for finding in verify(sound(), board, MACHINE).proof.findings}
    assert "hanger-breaks-through" not in codes


def test_programs_of_others_may_cut_a_back_without_a_design() -> None:
    """A pocket with an end mill: proven for what it does, and its figures told."""
    text = "G21 G90\nG0 Z5\nS18000 M3\nG0 X30 Y30\nG1 Z-3 F300\nG1 X60 F1500\nG0 Z5\nM2\n"
    made = Program(name="pocket", text=text, cutter=mill(6.0), from_behind=True)
    found = verify([made], SIGN.board, MACHINE).proof

    assert found.passed, found.findings
    assert found.carved_volume_mm3 == 0
    assert found.back is not None
    assert found.back.overcut_mm is None
    assert found.back.least_wood_mm == pytest.approx(16, abs=1e-4)
    assert found.back.cut_volume_mm3 == pytest.approx(3 * (30 * 6 + math.pi * 9), rel=0.005)


def test_a_mill_that_goes_too_deep_in_one_go_is_warned_of_from_behind_too() -> None:
    """12 mm with 3 mm of bit, four times its diameter, in one pass."""
    text = "G21 G90\nG0 Z5\nS18000 M3\nG0 X30 Y30\nG1 Z-12 F300\nG1 X60 F1500\nG0 Z5\nM2\n"
    made = Program(name="pocket", text=text, cutter=mill(3.0), from_behind=True)
    codes = {found.code for found in verify([made], SIGN.board, MACHINE, material=BASSWOOD).proof.findings}

    assert "pass-too-deep" in codes


def test_without_a_back_a_proof_does_not_speak_of_it() -> None:
    """Nor does its file."""
    found = proof(list(sound())[1:], replace(SIGN, hangers=()))
    assert found.passed
    assert found.back is None


def test_a_program_that_cannot_be_read_is_told_and_the_back_is_not_compared() -> None:
    """As with the face."""
    assert errors(faulty(once("G1 Z-9.525", "G1 Z-9.5Q25"))) == {"unreadable-program"}


def test_the_proof_of_a_back_comes_back_from_its_file() -> None:
    """To the digits it has."""
    found = verify(sound(), SIGN.board, MACHINE, SIGN, incise(), cutout())
    read = read_proof(proof_json(found))

    assert read.back is not None
    assert found.proof.back is not None
    assert read.back.least_wood_mm == pytest.approx(found.proof.back.least_wood_mm, abs=1e-4)


def test_the_back_is_seen_mirrored_with_its_slots_open_and_the_outline_cut_through() -> None:
    """The entry at x 20 and its neck are open, its lip is not; beside the board the cutout shows."""
    field = verify(sound(), SIGN.board, MACHINE, SIGN, incise(), cutout()).field_behind
    assert field is not None

    def depth_mm(x_mm: float, y_mm: float) -> float:
        row, column = (y_mm - field.bottom_mm) / field.cell_mm, (x_mm - field.left_mm) / field.cell_mm
        return float(field.depth_mm[int(row), int(column)])

    assert depth_mm(20, 50) == depth_mm(20, 62) == depth_mm(85, 62) == pytest.approx(DEPTH_MM)
    assert depth_mm(23.5, 62) == depth_mm(50, 30) == 0
    assert depth_mm(-1.5, 25) > 19


def test_a_window_at_the_grids_rim_and_a_program_far_away_do_no_harm() -> None:
    """Cut far beside the board: told, not crashed."""
    assert "cuts-beside-board" in errors(faulty(everywhere("Y50.000", "Y300.000")))
    assert "cuts-beside-board" in errors(faulty(everywhere("X85.000", "X-300.000")))
