"""The reader of programs: the quick way and the full way agree, and doubts are told."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workers.errors import UnreadableProgramError
from workers.interpretation.interpreter import Interpreter, read_program
from workers.values.program import Motion, Trace

ARRAYS = ("starts_mm", "ends_mm", "motions", "feeds_mm_per_min", "lines", "spindle_rpm")
HEAD = "G21\nG90\nG0 Z5\n"

numbers = st.one_of(
    st.floats(-999, 999).map(lambda value: f"{value:.3f}"),
    st.integers(-99, 99).map(str),
    st.sampled_from(["+1.5", ".25", "7.", "-0", "0.123456789012345678", "--1", "", "1e3", "[1+1]", "#1"]),
)
words = st.tuples(st.sampled_from("XYZFxyzfIN"), numbers).map("".join)
codes = st.sampled_from(
    ["G0", "G1", "G00", "g01", "G 1", "G1.0", "G2", "G20", "G21", "G90", "G91", "G54", "M3", ""]
)
comments = st.sampled_from(["", "", "", "(a)", "(MSG,b)", "(msgs)", "(a) ", "(", "\t", "/"])
lines = st.tuples(comments, codes, st.lists(words, max_size=4).map(" ".join), comments).map(" ".join)


def outcome(text: str, *, quick: bool) -> Trace | str:
    """Return the trace of a program or the message with which it was refused."""
    try:
        return Interpreter(text, "any.ngc", quick=quick).trace()
    except UnreadableProgramError as error:
        return error.message


@settings(deadline=None, max_examples=300)
@given(st.lists(lines, max_size=8))
def test_both_ways_agree_on_any_lines(body: list[str]) -> None:
    """Same motions to the last bit, same remarks, same refusals, with and without the compiled way."""
    text = HEAD + "\n".join(["F100", *body]) + "\nM2\n"
    quick, full = outcome(text, quick=True), outcome(text, quick=False)
    if isinstance(quick, str) or isinstance(full, str):
        assert quick == full
        return
    for name in ARRAYS:
        assert np.array_equal(getattr(quick, name), getattr(full, name)), name
    assert quick.notes == full.notes
    assert quick.dwell_s == full.dwell_s


def test_both_ways_agree_on_a_long_plain_program() -> None:
    """2000 lines of straight feeds in inches with an offset origin, comments between."""
    random = np.random.default_rng(7)
    body = [f"G1 X{x:.4f} Y{y:.4f} Z{z:.4f} F{f:.1f}" for x, y, z, f in random.uniform(0.1, 9, (2000, 4))]
    body[500:500] = ["(the second half)", "", "G10 L2 P1 X1 Y2 Z3", "S9000 M3"]
    text = "G20\nG90\nG0 Z0.2\n" + "\n".join(body) + "\nM2\n"
    quick, full = Interpreter(text, "long").trace(), Interpreter(text, "long", quick=False).trace()
    assert len(quick.lines) == 2001
    for name in ARRAYS:
        assert np.array_equal(getattr(quick, name), getattr(full, name)), name


def test_a_message_names_program_line_and_text() -> None:
    """What a sign maker needs to find the place, with a remedy."""
    with pytest.raises(
        UnreadableProgramError, match=r'sign\.ngc, line 4, column 1, "G1 X2": .*feed'
    ) as caught:
        read_program(HEAD + "G1 X2\nM2", "sign.ngc")
    assert caught.value.remedy == "set the feed with F first"


@pytest.mark.parametrize(
    ("text", "column"),
    [
        ("  G0 X1 X2", 9),  # a word that stands twice
        ("g0 (one ( two) x1", 4),  # a comment in a comment
        ("g0 x1 ) (a)", 7),
        ("g 0 (there) x 1 e5", 17),  # a letter that means nothing, behind white space and a comment
        ("G1 X1 G 0 F1", 7),  # the second of two that exclude each other
        ("G0 X1 Q3", 7),  # a letter nothing uses
        ("M3 S1 M4", 7),
        ("X1 G4", 4),  # what lacks its P
        ("G0 X1 F-2", 7),
        ("G0 X[1+", 4),  # the word whose value does not end
        ("\tG0", 2),
        ("G92", 1),
    ],
)
def test_a_message_names_the_column(text: str, column: int) -> None:
    """Counted from 1 in the line as it stands, at the first letter of the word at fault."""
    with pytest.raises(UnreadableProgramError, match=rf"line 4, column {column}, "):
        read_program(HEAD + text + "\nM2", "sign.ngc")


def test_a_long_line_is_quoted_short() -> None:
    """Nobody wants 300 characters in a message."""
    with pytest.raises(UnreadableProgramError) as caught:
        read_program(HEAD + "(" + "x" * 300 + ")\nM2", "sign.ngc")
    assert len(caught.value.message) < 150


def test_the_first_height_is_where_the_machine_stood() -> None:
    """A program that begins by rising starts over the work origin at that height."""
    trace = read_program("G21 G90\nG0 Z5\nG0 X3\nM2", "p")
    assert trace.starts_mm[0].tolist() == [0, 0, 5]


def test_a_first_plunge_starts_on_the_face() -> None:
    """Below the face nothing is known of how the bit got there, so it came from the face."""
    trace = read_program("G21 G90 F100\nG1 Z-2\nM2", "p")
    assert trace.starts_mm[0].tolist() == [0, 0, 0]
    assert trace.ends_mm[0].tolist() == [0, 0, -2]


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ("G0 X1", "does not say its unit"),
        ("G21 G0 X1", "before a height is set"),
        ("G21 G0 Z5\n/G0 X3", "block delete"),
        ("G21 G0 Z5\nG92 X0", "moves the work origin"),
        ("G21 G0 Z5\nG43 H1", "tool length"),
        ("G21 G0 Z5\nG28", "machine's home"),
        ("G21 G0 Z5\nM0", "stops here"),
        ("G21 G0 Z5\nM1", "may stop"),
        ("G21 G0 Z5\nS1 M4", "anticlockwise"),
        ("G21 G0 X#7 Z5", "parameter #7"),
        ("G21 G0 Z5\nG53 G0 X1", "own frame"),
        ("G21 F9 G0 Z5\nF9 G20", "one line"),
        ("G21 G0 Z5\nG0 X1 ( m sG ,  clamp the left side)", 'tells the operator: "clamp the left side"'),
        ("G21 G0 Z5\n(MSG,first) G0 X1 (MSG,last)", '"last"'),  # of several comments only the last
    ],
)
def test_doubts_become_notes(lines: str, words: str) -> None:
    """What only the operator knows is read in the likeliest sense and said."""
    trace = read_program(lines + "\nM2", "p")
    assert any(words in text for _, text in trace.notes)


def test_a_plain_program_has_no_notes() -> None:
    """Remarks are for doubtful programs only."""
    text = "(a sign)\nG21\nG17\nG90\nG94\nG40\nG49\nG80\nG0 Z5\nS9000 M3\nG4 P3\nG1 X1 F9\nG0 Z5\nM5\nM30"
    assert read_program(text, "p").notes == ()


def test_a_trip_home_is_left_out_and_the_way_back_starts_above_its_end() -> None:
    """Home is known to the machine alone; nothing may be cut on the way."""
    trace = read_program("G21 G90\nG0 X9 Y9 Z5\nG28 Z20\nG0 X1 Y1 Z3\nM2", "p")
    assert trace.ends_mm.tolist() == [[9, 9, 5], [9, 9, 20], [1, 1, 3]]
    assert trace.starts_mm[2].tolist() == [1, 1, 3]


@pytest.mark.parametrize("line", ["G28", "G28 X1"])
def test_a_trip_home_from_below_the_face_is_refused(line: str) -> None:
    """It would drag the bit through the board."""
    with pytest.raises(UnreadableProgramError, match="below the face"):
        read_program(f"G21 G90 F9\nG0 Z5\nG1 Z-1\n{line}\nM2", "p")


def test_pecks_go_down_by_q_and_come_back_to_r() -> None:
    """G83 of the standard: feed by Q, traverse to R, back to 0.254 mm above, and on."""
    trace = read_program("G21 G90 F60\nG0 Z5\nG83 X1 Y1 Z-4 R1 Q2\nM2", "p")
    feeds = trace.ends_mm[trace.motions == Motion.FEED, 2].tolist()
    assert feeds == [-1, -3, -4]


def test_a_dwelling_cycle_waits_at_the_bottom() -> None:
    """G82 dwells P seconds, once a hole."""
    assert read_program("G21 G90 F60\nG0 Z5\nG82 X1 Z-4 R1 P0.5\nX2\nM2", "p").dwell_s == 1.0


def test_each_change_of_bit_is_told_with_where_it_stands() -> None:
    """M6 takes the bit of the last T word; what turned, how high the bit was and the dwells until then."""
    trace = read_program("G21 G90 T1 M6 F60\nG0 Z5\nS9 M3 G4 P2\nG1 X1\nT2\nM6\nX2 G4 P1\nM6\nM2", "p")
    first, second, third = trace.changes
    assert (first.motion, first.line, first.number, first.height_mm) == (0, 1, 1, None)
    assert (second.motion, second.line, second.number, second.height_mm) == (2, 6, 2, 5.0)
    assert (second.spindle_rpm, second.dwell_s) == (9.0, 2.0)
    assert (third.motion, third.number, third.spindle_rpm, third.dwell_s) == (3, 2, 0.0, 3.0)


def test_what_lies_between_changes_is_a_trace_of_its_own() -> None:
    """Its motions and dwells are those of the whole in turn; before the first change there is nothing."""
    trace = read_program("G21 G90 T1 M6 F60\nG0 Z5\nG1 X1 G4 P2\nT2 M6\nG1 X2\nG4 P1\nM2", "p")
    before, one, other = trace.between_changes()
    assert (len(before.lines), before.dwell_s) == (0, 0.0)
    assert (one.ends_mm[:, 0].tolist(), one.dwell_s) == ([0, 1], 2.0)
    assert (other.starts_mm[:, 0].tolist(), other.ends_mm[:, 0].tolist(), other.dwell_s) == ([1], [2], 1.0)


def test_length_offsets_are_told_where_they_change() -> None:
    """G43 H takes a number's length, G49 none; saying the same again changes nothing."""
    trace = read_program("G21 G49\nG0 Z5\nG43 H2\nX1\nG43 H2\nX2\nG49\nM2", "p")
    assert [(one.motion, one.line, one.number) for one in trace.lengths] == [(1, 3, 2), (3, 7, 0)]


def test_a_stop_or_message_at_a_change_is_part_of_it() -> None:
    """After M6 and before anything moves the operator fits the bit; later it is worth a remark."""
    quiet = "G21 G90 T1 M6\n(MSG, fit bit 1)\nM0\nG0 Z5\n"
    assert read_program(quiet + "M2", "p").notes == ()
    assert len(read_program(quiet + "M0\n(MSG, look)\nM2", "p").notes) == 2


def test_a_bit_that_is_chosen_and_never_taken_is_remarked() -> None:
    """T without its M6: was it forgotten?"""
    assert "T2" in read_program("G21 T1 M6\nG0 Z5\nT2\nM2", "p").notes[-1][1]
    assert read_program("G21 T1 M6\nG0 Z5\nM2", "p").notes == ()


@pytest.mark.parametrize("line", ["M6", "G43 H1\nG0 X1\nG49\nG0 X2"])
def test_changes_without_end_are_refused(line: str) -> None:
    """No shop has hundreds of bits; each costs a pass over the board."""
    with pytest.raises(UnreadableProgramError, match="more than 200 changes"):
        read_program("G21 G90\nG0 Z5\n" + f"{line}\n" * 201 + "M2", "p")


@pytest.mark.parametrize("line", ["G41 D1", "G38.2 Z-1", "G86 X1 Z-1 R1 P1", "G0 A90"])
def test_what_a_sign_needs_not_is_refused_with_a_remedy(line: str) -> None:
    """Codes of the standard that depend on the machine, and a fourth axis."""
    with pytest.raises(UnreadableProgramError) as caught:
        read_program(f"G21 F9\nG0 Z5\n{line}\nM2", "p")
    assert caught.value.remedy


@pytest.mark.parametrize(
    "line",
    [
        "G0 X" + "[" * 200 + "1" + "]" * 50,
        "G0 X[10**300*10**300]",
        "G0 X" + "9" * 40,
        "G0 X1 Z5\nG81 X1 Z-1 R1 F1 L999999999",
        "G0 X1 Z5\nG83 X1 Z-1 R1 F1 Q0.0000001",
    ],
    ids=["brackets", "overflow", "far", "repeats", "pecks"],
)
def test_hostile_numbers_are_refused(line: str) -> None:
    """No line may take the reader's memory, stack or time."""
    with pytest.raises(UnreadableProgramError):
        read_program(f"G21\n{line}\nM2", "p")
