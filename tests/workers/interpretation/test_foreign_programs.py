"""Programs as others write them: each is read as the standard says, or refused by name, line and column.

The programs are invented, in habits that are common practice: numbers on lines, no spaces, small letters,
leading zeros or none, arcs by R, sections in incremental distance, shifted origins, cycles with repeats. What
they come to is worked by hand from NISTIR 6556, section 3; ids (G-01 ...) are rows of trade.md 1.1 to 1.5.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from workers.errors import UnreadableProgramError
from workers.interpretation.interpreter import Interpreter, read_program
from workers.values.program import Motion, Trace

PROGRAMS: dict[str, tuple[str, list[list[float]]]] = {
    "numbered lines without spaces, leading zeros, trailing points": (
        "%\nN0010G21G17G90\nN0020G00X0.Y0.Z5.\nN0030S9000M03\nN0040G01Z-1.F100.\nN0050X010.Y-02.5\nM30\n%\n",
        [[0, 0, 5], [0, 0, -1], [10, -2.5, -1]],
    ),
    "small letters, no leading zeros, codes on one line": (
        "g21g90g94g0z5\ng1x.5y-.25z-.1f60\nx+.75\nm2\n",
        [[0, 0, 5], [0.5, -0.25, -0.1], [0.75, -0.25, -0.1]],
    ),
    "motion codes and axes left out while they stay": (
        "G21 G90\nG0 Z5\nX1 Y2\nG1 Z-1 F50\nX3\nY4\nG0 Z5\nM2\n",
        [[0, 0, 5], [1, 2, 5], [1, 2, -1], [3, 2, -1], [3, 4, -1], [3, 4, 5]],
    ),
    "inches, with the spindle and the feed on a line of motion": (
        "G20 G90 G40 G49 G80\nG0 Z.2\nG1 X1 Z-.05 F10 S9000 M3\nM5\nM30\n",
        [[0, 0, 5.08], [25.4, 0, -1.27]],
    ),
    "a section in incremental distance": (
        "G21 G90\nG0 X10 Y10 Z2\nG91 F60\nG1 Z-3\nX5\nY5\nG0 Z3\nG90\nG0 X0\nM2\n",
        [[10, 10, 2], [10, 10, -1], [15, 10, -1], [15, 15, -1], [15, 15, 2], [0, 15, 2]],
    ),
    "an origin shifted for each of two pieces": (
        "G21 G90\nG0 X20 Y0 Z5\nG92 X0 Y0\nG0 X1 Y1\nG92.1\nG0 X1 Y1\nM2\n",
        [[20, 0, 5], [21, 1, 5], [1, 1, 5]],
    ),
    "an origin set in another work system": (
        "G21 G90\nG10 L2 P2 X100 Y50 Z0\nG55 G0 Z5\nX1 Y1\nG54 X1 Y1\nM2\n",
        [[0, 0, 5], [101, 51, 5], [1, 1, 5]],
    ),
    "a cycle with repeats, then more holes, then its end": (
        "G21 G90 F60\nG0 X0 Y0 Z5\nG91 G99 G81 X10 Z-3 R-4 L2\nG90\nG80\nG0 Z5\nM2\n",
        [
            [0, 0, 5],
            [10, 0, 5], [10, 0, 1], [10, 0, -2], [10, 0, 1],
            [20, 0, 1], [20, 0, -2], [20, 0, 1],
            [20, 0, 5],
        ],
    ),
    "pecks by Q, holes by places alone": (
        "G21 G90 F60\nG0 Z5\nG98 G83 X1 Y1 Z-2 R1 Q2\nX2\nG80\nM2\n",
        [
            [0, 0, 5],
            [1, 1, 5], [1, 1, 1], [1, 1, -1], [1, 1, 1], [1, 1, -0.746], [1, 1, -2], [1, 1, 5],
            [2, 1, 5], [2, 1, 1], [2, 1, -1], [2, 1, 1], [2, 1, -0.746], [2, 1, -2], [2, 1, 5],
        ],
    ),
    "a deleted block, remarks in every place, a line of nothing": (
        "G21 (metric) G90\n\n(up) G0 (really) Z5 (mm)\n/G0 X99\n/ N5 (never)\n(to)X 3\n   \nM2 (end)\n",
        [[0, 0, 5], [3, 0, 5]],
    ),
    "parameters and expressions": (
        "#1=10\n#2=[#1/4]\nG21 G90\nG0 Z[#1/2]\n#1=[#1+1]\nX#1 Y[sqrt[#2*#2]] (MSG)\nM2\n",
        [[0, 0, 5], [11, 2.5, 5]],
    ),
    "path control, overrides, coolant and optional stops": (
        "G21 G90 G61\nM8 M48\nG0 Z5\nM1\nG64\nG1 X1 F9\nM9\nM0\nX2\nM2\n",
        [[0, 0, 5], [1, 0, 5], [2, 0, 5]],
    ),
    "home between bits, lengths from the table": (
        "G21 G90\nT01M06\nG0G43H01Z15.\nG0X5\nG91G28Z0\nG90\nM6T2\nG43H2Z15.\nG0X7\nG30\nM30\n",
        [[0, 0, 15], [5, 0, 15], [5, 0, 15], [5, 0, 15], [7, 0, 15]],
    ),
}  # fmt: skip


@pytest.mark.parametrize("habit", PROGRAMS)
@pytest.mark.parametrize("quick", [True, False], ids=["quick", "full"])
def test_a_foreign_program_goes_where_it_says(habit: str, quick: bool) -> None:
    """Every end of every straight motion, by hand; the compiled way and the full one."""
    text, ends = PROGRAMS[habit]
    trace = Interpreter(text, "theirs.nc", quick=quick).trace()
    assert [[round(value, 6) for value in end] for end in trace.ends_mm.tolist()] == ends


def read(*lines: str) -> Trace:
    """Read lines after a usual head, with the end behind them."""
    return read_program("\n".join(["G21 G90 F60", "G0 X0 Y0 Z5", *lines, "M2"]), "theirs.nc")


@pytest.mark.parametrize(
    ("line", "passes", "length_mm"),
    [
        ("G2X10Y0R5", (5, 5), 5 * math.pi),  # half a circle, clockwise over the top
        ("G3 X10 R5", (5, -5), 5 * math.pi),
        ("G02 X5 Y5 R5", (1.464466, 3.535534), 2.5 * math.pi),  # a quarter round 5, 0
        ("G02 X5 Y5 R-5", (-3.535534, 8.535534), 7.5 * math.pi),  # R below 0: the rest, round 0, 5 (G-27)
        ("g3 x0 y0 i-5 j0", (-10, 0), 10 * math.pi),  # end on start: a full circle (G-23)
        ("G2 X4 Y0 Z3 I2", (2, 2), math.hypot(2 * math.pi, 2)),  # a helix
        ("G1 X0 Y-5\nG17 G3 Y0 J2.5", (2.5, -2.5), 2.5 * math.pi),  # an axis and an offset left out
    ],
)
def test_an_arc_passes_where_it_should_and_is_as_long(
    line: str, passes: tuple[float, float], length_mm: float
) -> None:
    """By hand: chords within 0.001 mm of an arc of radius R are short of it by less than 0.02 %."""
    trace = read(*line.split("\n"))
    arc = trace.lines == trace.lines[-1]
    steps_mm = np.linalg.norm((trace.ends_mm - trace.starts_mm)[arc], axis=1)
    assert steps_mm.sum() == pytest.approx(length_mm, rel=0.0004)
    off_mm = np.linalg.norm(trace.ends_mm[arc, :2] - np.array(passes), axis=1).min()
    assert off_mm < steps_mm.max()


@pytest.mark.parametrize(
    ("line", "column", "said", "remedy"),
    [
        ("G1 X1 ; to one", 7, "a comment after a semicolon", "put comments in ( )"),
        ("  O0100", 3, "a program number or a subprogram (O)", "take out program numbers"),
        ("o<lift> sub", 1, "a program number or a subprogram (O)", "the motions of subprograms"),
        ("G0 X1 M98 P100", 7, "a subprogram call or its end (M98)", "write its motions themselves"),
        ("M97 P2", 1, "a subprogram call or its end (M97)", "write its motions themselves"),
        ("M99", 1, "a subprogram call or its end (M99)", "write its motions themselves"),
        ("G1 G41 D1 X1", 4, "cutter radius compensation (G41)", "of the bit's centre"),
        ("N5 G42", 4, "cutter radius compensation (G42)", "of the bit's centre"),
        ("G38.2 Z-1", 1, "probing (G38.2)", "write the motions"),
        ("G10 L1 P1 Z3", 1, "G10 L1, which sets the machine's tables,", "leave tables to the operator"),
        ("G90.1", 1, "there is no G90.1", "offsets from the arc's start"),
        ("G0 G91.1 X1", 4, "there is no G91.1", "leave it out"),
        ("G73 X1 Z-1 R1 Q1", 1, "there is no G73", "write G83"),
        ("G76", 1, "there is no G76", "use a G code of RS-274"),
        ("M66 P1", 1, "there is no M66", "use an M code of RS-274"),
        ("G0 X1 A90", 7, "a rotary axis (A)", "three axes"),
        ("G0 W1", 4, "an axis beside X, Y and Z (W)", "three axes"),
        ("G1 X1E2", 6, "an exponent", "write numbers in full"),
        ("G0 X1,5", 6, "',' has no meaning here", "a letter and a number each"),
        ("G0 X1 %", 7, "'%' has no meaning here", "let % stand alone"),
        ("G0 X1 (left", 7, "a comment that does not end on its line", "close the comment"),
        ("G0 X1 X2", 7, "X stands twice", "keep one X a line"),
        ("G02 X5 R2", 1, "R 2.0000 mm is less than half the 5.0000 mm", "with its centre"),
        ("G02 X5 I2.4", 1, "the end of the arc is 0.2000 mm off its circle", "one more decimal"),
        ("G4", 1, "G4 without P", "give the seconds as P"),
        ("G0 X1 /Y2", 7, "a slash that is not at the start", "first on the line"),
    ],
)
def test_what_cannot_be_read_is_refused_by_name_line_and_column(
    line: str, column: int, said: str, remedy: str
) -> None:
    """At the first character of the word at fault, counted as an editor does."""
    with pytest.raises(UnreadableProgramError) as caught:
        read("(their program)", line)
    assert caught.value.message.startswith(f"theirs.nc, line 4, column {column}, ")
    assert said in caught.value.message
    assert remedy in str(caught.value.remedy)


@pytest.mark.parametrize(
    ("text", "place", "said"),
    [
        ("", "line 1, column 1", "empty"),
        ("\n  \n", "line 1, column 1", "empty"),
        ("G21\nG0 Z5\n\n", "line 2, column 5", "neither M2 nor M30"),
        ("%\nG21\nG0 Z5", "line 3, column 5", "never closes"),
        ("\u00ef\u00bb\u00bfG21\nM2", "line 1, column 1", "a byte-order mark"),
    ],
)
def test_a_file_as_a_whole_is_refused_with_a_place_too(text: str, place: str, said: str) -> None:
    """Where it ends, if it does not end; where it begins, if there is nothing in it."""
    with pytest.raises(UnreadableProgramError) as caught:
        read_program(text, "theirs.nc")
    assert f"theirs.nc, {place}, " in caught.value.message
    assert said in caught.value.message


def test_a_dwell_that_looks_like_milliseconds_is_remarked() -> None:
    """G-30: the standard counts seconds; P3000 is three seconds on some small controllers (memory)."""
    trace = read("G4 P3000", "G4 P3")
    assert trace.dwell_s == 3003
    assert [text for _, text in trace.notes] == [
        "waits for 3000 seconds (G4 P); some controllers count milliseconds"
    ]


def test_feeds_and_speeds_of_a_foreign_program() -> None:
    """F and S stay until said again, whatever the line; G93 gives each move its own (G-29)."""
    trace = read("G1X1S8000M3", "X2F90", "G93 X12 F3", "G94 X13 F60")
    feeds = trace.feeds_mm_per_min[trace.motions == Motion.FEED]
    assert feeds.tolist() == pytest.approx([60, 90, 30, 60])
    assert trace.spindle_rpm[1:].tolist() == [8000] * 4
