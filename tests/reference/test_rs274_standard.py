"""The reader against the standard.

Source: T. R. Kramer, F. M. Proctor, E. Messina, The NIST RS274NGC Interpreter - Version 3,
NISTIR 6556, August 2000: section 3, tables 4 and 8, appendix E. Known answers marked "run"
were observed on a public copy of NIST's own interpreter. Ids (G-01 ...) number the rules; the
programs are written here.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from workers.errors import UnreadableProgramError
from workers.interpretation.arcs import Arc, arc_of
from workers.interpretation.blocks import read_block
from workers.interpretation.fault import ArcOutOfToleranceError
from workers.interpretation.interpreter import read_program
from workers.interpretation.state import ControllerState, end_program
from workers.values.program import Motion, Trace


def run(*lines: str, start: tuple[float, float, float] = (0, 0, 0), head: str = "G21 G90") -> Trace:
    """Read lines after a traverse to the start, with M2 behind them."""
    x, y, z = start
    return read_program("\n".join([head, f"G0 X{x} Y{y} Z{z}", *lines, "M2"]), "test.ngc")


def ends_of(trace: Trace) -> list[list[float]]:
    """Return the ends of all motions after the one to the start."""
    return [[round(value, 6) for value in end] for end in trace.ends_mm[1:].tolist()]


def value_of(text: str) -> float:
    """Return what the reader makes of an expression."""
    return read_block(f"x{text}", {}, lambda _: None).words["x"]


def arc_from(words: dict[str, float], start: list[float], end: list[float], *, clockwise: bool = True) -> Arc:
    """Return an arc in the plane G17, millimetres."""
    return arc_of(words, start, end, clockwise=clockwise, plane=170, mm_per_unit=1.0)


def test_an_arc_in_centre_format_has_the_reports_centre_sweep_and_length() -> None:
    """G17 G2 X10 Y16 I3 J4 Z9 from 7,7,9: centre 10,11, r 5, -143.130102 deg, 12.490458 mm (run)."""
    arc = arc_from({"x": 10, "y": 16, "z": 9, "i": 3, "j": 4}, [7, 7, 9], [10, 16, 9])
    assert arc.centre_mm == (10, 11)
    assert arc.radius_mm == 5
    assert math.degrees(arc.sweep_rad) == pytest.approx(-143.130102, abs=1e-6)
    assert arc.length_mm == pytest.approx(12.490458, abs=1e-6)


def test_a_helix_has_the_length_along_itself() -> None:
    """G-28, the same arc to Z5: 13.115317 mm; a radius-format one from 0,0,5: 18.701701 mm (run)."""
    assert arc_from(
        {"x": 10, "y": 16, "z": 5, "i": 3, "j": 4}, [7, 7, 9], [10, 16, 5]
    ).length_mm == pytest.approx(13.115317, abs=1e-6)
    by_radius = arc_from({"x": 10, "y": 15, "z": 5, "r": 20}, [0, 0, 5], [10, 15, 5])
    assert by_radius.centre_mm == pytest.approx((19.8551, -2.4034), abs=1e-4)
    assert by_radius.length_mm == pytest.approx(18.701701, abs=1e-6)


def test_an_arc_by_radius_with_an_expression_for_its_end() -> None:
    """G2 X[6-[4*3/2]] R7.01 Z0.5 from 3,1,0 ends at 0,1,0.5 round 1.5, 7.847635 (run)."""
    trace = run("F100 G2 X[6-[4*3/2]] R7.01 Z0.5", start=(3, 1, 0))
    assert ends_of(trace)[-1] == [0, 1, 0.5]
    from_centre = np.hypot(trace.ends_mm[1:, 0] - 1.5, trace.ends_mm[1:, 1] - 7.847635)
    assert np.allclose(from_centre, 7.01, atol=1e-6)


def test_drilling_in_absolute_distance_returns_to_the_initial_height() -> None:
    """G90 G81 G98 X4 Y5 Z1.5 R2.8 from 1,2,3: over, down to R, drill, back to 3 (report's example)."""
    trace = run("F100", "G90 G81 G98 X4 Y5 Z1.5 R2.8", start=(1, 2, 3))
    assert ends_of(trace) == [[4, 5, 3], [4, 5, 2.8], [4, 5, 1.5], [4, 5, 3]]
    assert trace.motions[1:].tolist() == [Motion.TRAVERSE, Motion.TRAVERSE, Motion.FEED, Motion.TRAVERSE]


def test_drilling_in_incremental_distance_repeats_across() -> None:
    """G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3 from 1,2,3: holes at 5,7 / 9,12 / 13,17 to 4.2 (report's example)."""
    trace = run("F100", "G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3", start=(1, 2, 3))
    holes = trace.ends_mm[trace.motions == Motion.FEED].round(6).tolist()
    assert holes == [[5, 7, 4.2], [9, 12, 4.2], [13, 17, 4.2]]
    assert ends_of(trace)[0] == [1, 2, 4.8]


@pytest.mark.parametrize(
    ("cycle", "heights", "fed", "turning", "dwell_s"),
    [
        ("G84", [2, -4, 5], [0, 1, 1], [1, 1, 1], 0),  # tapping goes out by feed
        ("G85", [2, -4, 5], [0, 1, 1], [1, 1, 1], 0),
        ("G86 P0.5", [2, -4, 5], [0, 1, 0], [1, 1, 0], 0.5),  # out fast, the spindle stopped
        ("G88 P0.5", [2, -4, 5], [0, 1, 0], [1, 1, 0], 0.5),
        ("G89 P0.5", [2, -4, 5], [0, 1, 1], [1, 1, 1], 0.5),
    ],
)
def test_boring_and_tapping_cycles_leave_the_hole_as_the_report_says(
    cycle: str, heights: list[float], fed: list[int], turning: list[int], dwell_s: float
) -> None:
    """Sections 3.5.16.5 to 3.5.16.10: what G84, G85, G86, G88 and G89 do at the bottom (memory)."""
    trace = run("F100 S900 M3", f"{cycle} X1 Y1 Z-4 R2", start=(1, 1, 5))
    assert trace.ends_mm[-3:, 2].tolist() == heights
    assert (trace.motions[-3:] == Motion.FEED).tolist() == fed
    assert (trace.spindle_rpm[-3:] > 0).tolist() == turning
    assert trace.dwell_s == dwell_s


def test_boring_from_behind_enters_beside_the_axis_and_cuts_upwards() -> None:
    """G87, section 3.5.16.8 (memory): in beside the axis with the spindle stopped, up to K, and out again."""
    trace = run("F100 S900 M3", "G87 X1 Y1 Z-4 R2 I3 J0 K-1", "G0 Z9", start=(1, 1, 5))
    turning = trace.spindle_rpm[1:] > 0
    assert ends_of(trace) == [
        [1, 1, 5], [4, 1, 5], [4, 1, -4], [1, 1, -4], [1, 1, -1], [1, 1, -4],
        [4, 1, -4], [4, 1, 5], [1, 1, 5], [1, 1, 9],
    ]  # fmt: skip
    assert turning.tolist() == [True, False, False, False, True, True, False, False, False, True]
    assert (trace.motions[1:] == Motion.FEED).nonzero()[0].tolist() == [4, 5]


@pytest.mark.parametrize(
    ("plane", "words", "bottom"),
    [("G18", "X4 Z5 Y-2 R3", [4, -2, 5]), ("G19", "Y4 Z5 X-2 R3", [-2, 4, 5])],
)
def test_a_cycle_drills_along_the_planes_normal(plane: str, words: str, bottom: list[float]) -> None:
    """Appendix C.3 of the report has the cycles in all three planes: along Y in G18, along X in G19."""
    trace = run("F100", f"{plane} G81 {words}", "G80", start=(6, 6, 6))
    assert trace.ends_mm[trace.motions == Motion.FEED].tolist() == [bottom]
    assert trace.ends_mm[-1].max() == 6


@pytest.mark.parametrize("cycle", ["G84", "G86 P1", "G87 I1 J0 K-1", "G88 P1"])
def test_a_cycle_that_stops_the_spindle_wants_it_turning(cycle: str) -> None:
    """Sections 3.5.16.5 to 3.5.16.9: an error when the spindle stands (memory)."""
    with pytest.raises(UnreadableProgramError, match="spindle"):
        run("F100", f"{cycle} X1 Y1 Z-4 R2", start=(1, 1, 5))


@pytest.mark.parametrize(
    ("expression", "value"),
    [
        ("[2**3**2]", 64),  # G-15, run: equals go left to right
        ("[2.0/3*1.5-5.5/11.0]", 0.5),  # G-15, run
        ("[-1 mod 3]", 2),  # G-15, run
        ("[1 or 0 and 0]", 0),  # G-15: OR and AND rank alike
        ("[1 + 2 * 3 ** 2]", 19),
        ("fix[-2.8]", -3),  # G-16, run
        ("fup[-2.8]", -2),  # G-16, run
        ("round[-2.5]", -3),
        ("atan[1]/[1]", 45),  # degrees
        ("sin[30]", 0.5),
        ("acos[0.5]", 60),
        ("sqrt[2]", math.sqrt(2)),
        ("ln[exp[1.5]]", 1.5),
        ("+10", 10),  # G-07
        ("007", 7),
        (".5", 0.5),
        ("5.", 5),
        ("+0. 12 34", 0.1234),  # G-03, run
    ],
)
def test_values_are_those_of_the_standard(expression: str, value: float) -> None:
    """G-03, G-07, G-15, G-16: numbers, operators and functions of sections 3.3.2.1 to 3.3.2.4."""
    assert value_of(expression) == pytest.approx(value, abs=1e-12)


def test_a_setting_takes_effect_after_its_line() -> None:
    """G-14, run: with #3 = 15, "#3=6 G1 X#3" moves to 15 and leaves 6; ##2 reads through a parameter."""
    trace = run("#3=15 #2=3 F100", "#3=6 G1 X#3", "G1 X##2")
    assert [end[0] for end in ends_of(trace)] == [15, 6]


def test_words_may_stand_in_any_order() -> None:
    """G-12, G-37 (run): the mode counts before the move, so X1 G91 is incremental."""
    trace = run("X1 G91 G0", start=(5, 0, 0))
    assert ends_of(trace) == [[6, 0, 0]]


def test_one_line_is_carried_out_in_the_order_of_table_8() -> None:
    """S1000 M3 G0 X1 F5 G4 P2 M8: feed, speed, spindle and dwell before the move (run)."""
    trace = run("M8 S1000 M3 G0 X1 F5 G4 P2", "G1 X2")
    assert trace.spindle_rpm.tolist() == [0, 1000, 1000]
    assert trace.feeds_mm_per_min[-1] == 5
    assert trace.dwell_s == 2


def test_units_convert_the_position_and_do_not_move() -> None:
    """G-31, run: after G21 G0 X25.4, G20 makes X read 1; a step to X2 ends at 50.8 mm."""
    trace = run("G0 X25.4", "G20", "G91 G0 X0", "G90 G0 X2")
    assert [end[0] for end in ends_of(trace)] == [25.4, 25.4, 50.8]


def test_offsets_of_g92_add_up() -> None:
    """G-38, run: at X4 G92 X7 gives -3; then at X7 G92 X9 gives -5, so X0 lies at -5 mm."""
    trace = run("G0 X4", "G92 X7", "G92 X9", "G0 X0", "G92.1", "G0 X0")
    assert [end[0] for end in ends_of(trace)] == [4, -5, 0]


def test_g92_2_suspends_and_g92_3_restores() -> None:
    """G92.2 lifts the offset and keeps it; G92.3 brings it back (section 3.5.18)."""
    trace = run("G0 X4", "G92 X7", "G92.2", "G0 X1", "G92.3", "G0 X1")
    assert [end[0] for end in ends_of(trace)] == [4, 1, -2]


def test_g10_sets_the_origin_of_a_work_system() -> None:
    """G-35, run: G10 L2 P1 X3.5 Y17.2 puts the G54 origin there; G53 ignores it for one line."""
    trace = run("G10 L2 P1 X3.5 Y17.2", "G0 X0 Y0", "G53 G0 X1 Y1", "G0 X1 Y1", "G55 G0 X1 Y1")
    assert [end[:2] for end in ends_of(trace)] == [[3.5, 17.2], [1, 1], [4.5, 18.2], [1, 1]]


def test_inverse_time_feed_is_the_moves_own() -> None:
    """G-29, run: F2 is half a minute for the move, so 10 mm run at 20 mm/min."""
    assert run("G93 G1 X10 F2").feeds_mm_per_min[-1] == pytest.approx(20)


def test_end_on_start_is_a_full_circle() -> None:
    """G-23, run: G2 with the end on the start turns once, within 0.001 mm of the circle."""
    trace = run("F100", "G2 X0 Y0 I5")
    turned = trace.ends_mm[1:, :2] - (5, 0)
    middles = (trace.ends_mm[1:, :2] + trace.starts_mm[1:, :2]) / 2 - (5, 0)
    assert np.allclose(np.hypot(*turned.T), 5, atol=1e-9)
    assert 5 - np.hypot(*middles.T).min() <= 0.001
    assert ends_of(trace)[-1] == [0, 0, 0]


@pytest.mark.parametrize(
    ("plane", "words", "middle"),
    [("G17", "X2 Y0 I1", (1, 1, 0)), ("G18", "X0 Z2 K1", (1, 0, 1)), ("G19", "Y2 Z0 J1", (0, 1, 1))],
)
def test_clockwise_is_seen_from_the_normals_positive_end(
    plane: str, words: str, middle: tuple[float, float, float]
) -> None:
    """G-22: a clockwise half circle from 0 passes the place on its left as seen along the normal."""
    trace = run("F100", f"{plane} G2 {words}")
    assert np.linalg.norm(trace.ends_mm - np.array(middle), axis=1).min() < 0.05


@pytest.mark.parametrize(("unit", "off", "passes"), [
    ("G21", 0.0019, True), ("G21", 0.0021, False), ("G20", 0.00019, True), ("G20", 0.00021, False),
])  # fmt: skip
def test_the_centre_tolerance_is_absolute(unit: str, off: float, passes: bool) -> None:
    """G-24, run: 0.002 mm or 0.0002 inch between the two radii."""
    program = f"{unit} G90\nG0 X0 Y0 Z0\nF10 G2 X{2 + off:.5f} Y0 I1 J0\nM2"
    if passes:
        assert len(read_program(program, "arc").lines) > 1
    else:
        with pytest.raises(ArcOutOfToleranceError, match="line 3"):
            read_program(program, "arc")


def test_a_tiny_arc_that_is_hardly_one_gets_a_remark() -> None:
    """G-26, run: radius 0.0005 mm, ending 0.001 mm away, passes the absolute tolerance."""
    trace = run("F100", "G2 X0.0015 Y0 I0.0005 J0")
    assert "hardly an arc" in trace.notes[-1][1]


@pytest.mark.parametrize(
    "lines",
    [
        ["G1 X1 G0 F1"], ["G17 G18"], ["G20 G21"], ["G93 G94"],  # two G codes of one group
        ["M3 M4"], ["M48 M49"], ["M7 M8"], ["M3 M6 M8 M48 M0"],  # two M codes of one group, five in all
        ["X1 X2"], ["F1 F2"],  # a word repeated
        ["G1 X1"], ["F0 G1 X1"], ["G2 X1 Y0 I0.5"],  # feed zero
        ["G0"], ["F1 G1"],  # axis words missing
        ["F1 G2 X10"], ["F1 G2 X1 I0.5 R1"],  # arc formats
        ["F1 G2 Z1 I1"], ["F1 G17 G2 X1 I0.5 K1"], ["F1 G2 X0 Y0 I0 J0"],  # G-22, G-23, G-25
        ["F1 G2 X0 Y0 R5"], ["F1 G2 X10 R4.9999"],  # G-27
        ["G99.5"], ["G5"], ["G90.1"], ["G91.1"], ["G54.1"], ["G100"],  # unknown G
        ["M97"], ["M100"], ["M3.5"],  # unknown M; G-08
        ["P3"], ["G1 X1 F1 I2"], ["G0 X1 R2"], ["H1"], ["L1"], ["Q1"], ["D1"],  # letters nothing uses
        ["F-1"], ["S-1"], ["T-1"], ["G4 P-1"], ["G4"],  # negative or missing values
        ["G0 X[1/0]"], ["G0 XSQRT[-1]"], ["G0 XASIN[2]"], ["G0 XLN[0]"], ["G0 X[[-2]**0.5]"],  # arithmetic
        ["G0 X[1+2"], ["(abc"], ["(a (b) c)"],  # brackets and comments
        ["G0 X1 /Y2"], ["N10 /G0 X1"],  # slash out of place
        ["N100000 G0 X1"], ["N1.5 G0 X1"], ["N-1 G0 X1"], ["G0 X1 N5"],  # G-05
        ["E1"], ["O100"], ["G0 U1"], ["G0 X1 ; to one"],  # G-06, G-09
        ["G0 X."], ["G0 X+"], ["G0 X--1"], ["G0 X1e3"], ["G0 X"],  # G-07
        ["#0=1"], ["#5400=1"], ["G0 X#5400"],  # G-14
        ["G0 X-[1]"], ["#1=1 G0 X-#1"],  # G-17
        ["G80", "X1"], ["G1 G92 X1 F1"], ["G0 G10 L2 P1 X1"],  # G-36, G-18
        ["G53 G80"], ["G91", "G53 G0 X1"],  # G-34
        ["G43"],  # G-33
        ["G93", "F1 G1 X1", "G1 X2"],  # G-29: each line its own F
        ["G81 X1 Z-1 F1"], ["G81 X1 Z2 R1 F1"],  # cycles without R, bottom above R
    ],
    ids=lambda lines: " / ".join(lines),
)  # fmt: skip
def test_what_the_standard_calls_an_error_is_refused(lines: list[str]) -> None:
    """Error list of the report and its appendix E; the message names the line and what stands there.

    Of the rows G-05, G-06, G-07, G-08, G-09, G-11, G-14, G-17, G-18, G-21, G-22, G-23, G-25, G-27, G-29,
    G-30, G-33, G-34, G-36, G-40, G-41.
    """
    with pytest.raises(UnreadableProgramError, match=r"line \d+") as caught:
        run(*lines)
    assert lines[-1][:10] in caught.value.message
    assert caught.value.remedy


def test_without_a_motion_code_in_force_an_axis_word_is_an_error() -> None:
    """G-19: the machine starts in G80."""
    with pytest.raises(UnreadableProgramError, match="no motion code"):
        read_program("G21\nX1\nM2", "bare")


@pytest.mark.parametrize("text", ["G21 G0 X1", "%\nG21 G0 X1", ""])
def test_a_file_that_is_not_ended_is_refused(text: str) -> None:
    """G-13, run: M2 or M30 must occur, or a second percent line when the file opens with one."""
    with pytest.raises(UnreadableProgramError):
        read_program(text, "cut short")


@pytest.mark.parametrize("end", ["M2", "M30", "%"])
def test_nothing_after_the_end_is_read(end: str) -> None:
    """G-13, G-39, run: lines after M2, M30 or the second percent line may be anything."""
    frame = "%\n" if end == "%" else ""
    trace = read_program(f"{frame}G21 G0 X1\n{end}\nthis is not machine code", "ended")
    assert len(trace.lines) == 1


def test_a_percent_file_ended_by_m2_only_draws_a_remark() -> None:
    """The tested code is content with % ... M2 and no closing %."""
    trace = read_program("%\nG21 G0 X1\nM2", "half framed")
    assert any("%" in text for _, text in trace.notes)


def test_letters_spaces_and_line_ends_do_not_matter() -> None:
    """G-01, G-03, G-04: case, white space, blank lines, CR, LF or both."""
    tidy = read_program("G21 G90\nG0 X0.1234 Y7\nM2", "tidy")
    loose = read_program("g21g90\r\n\r\n N5 g0x +0. 12 34y 7 (there)\rm2", "loose")
    assert np.array_equal(tidy.ends_mm, loose.ends_mm)


def test_a_line_may_be_as_long_as_the_report_says() -> None:
    """G-02: 256 characters; the tested code stops at 253 already, so what lies between is tested nowhere."""
    assert ends_of(run("G0 X1 (" + "a" * 245 + ")")) == [[1, 0, 0]]
    with pytest.raises(UnreadableProgramError, match="257 characters"):
        run("G0 X1 (" + "a" * 249 + ")")


@pytest.mark.parametrize("comment", ["(MSG, turn it over)", "( msg,turn it over )", "(M s G ,turn it over)"])
def test_a_message_is_told_in_any_spelling(comment: str) -> None:
    """G-10, section 3.3.4."""
    assert any("turn it over" in text for _, text in run(comment).notes)


def test_one_line_holds_a_code_of_every_group() -> None:
    """G-11: any number of G words if no two are of one group, and four M words."""
    line = "G0 G17 G90 G94 G21 G40 G49 G98 G54 G64 G4 P1 M3 M7 M49 M6 S900 X1"
    trace = run(line)
    assert ends_of(trace) == [[1, 0, 0]]
    assert trace.dwell_s == 1
    assert trace.spindle_rpm[-1] == 900


GROUPS = [
    "G0 G1 G2 G3 G38.2 G80 G81 G82 G83 G84 G85 G86 G87 G88 G89", "G17 G18 G19", "G90 G91", "G93 G94",
    "G20 G21", "G40 G41 G42", "G43 G49", "G98 G99", "G54 G55 G56 G57 G58 G59 G59.1 G59.2 G59.3",
    "G61 G61.1 G64", "G4 G10 G28 G30 G53 G92 G92.1 G92.2 G92.3",
    "M0 M1 M2 M30 M60", "M3 M4 M5", "M7 M8 M9", "M48 M49",
]  # fmt: skip


@pytest.mark.parametrize("group", GROUPS)
def test_two_codes_of_one_group_exclude_each_other(group: str) -> None:
    """Table 4 of the report, every pair; mist with flood is allowed there and was refused when run."""
    codes = group.split()
    for place, one in enumerate(codes):
        for other in codes[place + 1 :]:
            with pytest.raises(UnreadableProgramError, match=r"exclude each other|depends on the machine"):
                run(f"{one} {other}")


def test_the_end_of_a_program_resets_what_the_report_says() -> None:
    """G-20, 3.6.1: offsets of G92 gone, G54, G17, G90, G94, spindle off, motion G1."""
    state = ControllerState(
        motion=20,
        plane=190,
        absolute=False,
        inverse_time=True,
        spindle_on=True,
        work_system=3,
        shift_mm=[1, 2, 3],
    )
    end_program(state)
    assert (state.motion, state.plane, state.absolute, state.inverse_time) == (10, 170, True, False)
    assert (state.spindle_on, state.work_system, state.shift_mm) == (False, 0, [0, 0, 0])


def test_all_axes_start_and_finish_together() -> None:
    """G-21: one straight motion, at any number of axis words."""
    assert ends_of(run("F9 G1 X3 Y4 Z5", "G0 Y1", "G1 X0 Z0")) == [[3, 4, 5], [3, 1, 5], [0, 1, 0]]


def test_a_dwell_is_in_seconds() -> None:
    """G-30, section 3.5.4; with a part of a second."""
    assert run("G4 P2.5", "G4 P0").dwell_s == 2.5


def test_a_trip_home_goes_through_its_point_first() -> None:
    """G-32, section 3.5.8: at traverse rate; home itself is the machine's, so a remark stands for it."""
    trace = run("G28 X4 Y5 Z6", start=(1, 1, 3))
    assert ends_of(trace) == [[4, 5, 6]]
    assert trace.motions[-1] == Motion.TRAVERSE
    assert any("home" in text for _, text in trace.notes)


def test_the_spindle_turns_as_fast_as_s_says_while_it_is_on() -> None:
    """G-40: S alone starts nothing, S0 is allowed, M5 stops, M4 is the other way."""
    trace = run("F9 S900 G1 X1", "M3 G1 X2", "S0 G1 X3", "S800 G1 X4", "M5 G1 X5", "M4 G1 X6")
    assert trace.spindle_rpm[1:].tolist() == [0, 900, 0, 800, 0, 800]


@pytest.mark.parametrize("lines", [["M6"], ["T3 M6"], ["M6 T3"], ["T3", "M6"], ["T0"]])
def test_a_bit_is_chosen_before_or_on_the_line_of_its_change(lines: list[str]) -> None:
    """G-41: T acts first on its line; bare M6 is legal; the change stops the spindle (3.6.3)."""
    trace = run("S900 M3", *lines, "G0 X1")
    assert (trace.spindle_rpm[-1] > 0) == (lines == ["T0"])


def test_coolant_moves_nothing() -> None:
    """G-42: mist, flood, both off; mist and flood on lines of their own may both be on."""
    assert ends_of(run("M7", "M8", "M9")) == []
