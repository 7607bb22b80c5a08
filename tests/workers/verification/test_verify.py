"""Each fault that a program can have is found, by its name; a good program passes.

The board is 80 x 50 x 12 mm with one stroke of 40 x 6 mm. Its groove for a sharp
90 degree bit is known from its medial axis: a spine 3 mm deep and four spurs from the corners.
"""

from __future__ import annotations

import hashlib
import math
import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import pytest
from shapely.geometry import box

from tests.support.specimens import MACHINE, board, cutout, design, drill, mill, region, vee
from workers.errors import JobDismissed, ParameterOutOfRangeError
from workers.values.cuts import CutoutCut, DrillCut, InciseCut
from workers.values.cutter import Cutter
from workers.values.design import Design, Hole
from workers.values.finding import Finding, Severity
from workers.values.machine import Machine
from workers.values.program import Program
from workers.verification.verified import Verified
from workers.verification.verify import verify

VEE = vee(90, diameter_mm=12.7, length_mm=8)
MILL = mill(3, 15)
DRILL = drill(5, 40)
ROUTER = replace(
    MACHINE,
    travel_x_mm=400,
    travel_y_mm=300,
    travel_z_mm=60,
    max_feed_mm_per_min=2500,
    min_spindle_rpm=8000,
    max_spindle_rpm=24000,
)
SIGN = design(region(box(20, 20, 60, 26)), 80, 50, 12, corner_radius_mm=0)
INCISE = InciseCut(cutter=VEE, depth_limit_mm=5)
CUTOUT = replace(cutout(), cutter=MILL)

HEAD = ["G21", "G17", "G90", "G94", "G0 Z5", "S18000 M3", "G4 P3"]
TAIL = ["G0 Z5", "M5", "G0 X0 Y0", "M2"]
GROOVE = [
    "G0 X20 Y20", "G1 Z0 F400", "G1 X23 Y23 Z-3 F1000", "G1 X57 Y23", "G1 X60 Y20 Z0", "G0 Z5",
    "G0 X20 Y26", "G1 Z0 F400", "G1 X23 Y23 Z-3 F1000", "G0 Z5",
    "G0 X60 Y26", "G1 Z0 F400", "G1 X57 Y23 Z-3 F1000",
]  # fmt: skip


def text_of(*lines: str) -> str:
    """Return a program of these lines between the usual head and tail."""
    return "\n".join([*HEAD, *lines, *TAIL]) + "\n"


def round_the_board(bottom_mm: float = -12.3, tab_mm: float = 6, tab_height_mm: float = 2) -> Iterator[str]:
    """Yield the lines that cut the board free, with a tab in the middle of each side."""
    corners = [(-1.5, -1.5), (-1.5, 51.5), (81.5, 51.5), (81.5, -1.5), (-1.5, -1.5)]
    yield "G0 X-1.5 Y-1.5"
    for z in (-4, -8, bottom_mm):
        yield f"G1 Z{z} F300"
        for (x0, y0), (x1, y1) in pairwise(corners):
            if z == bottom_mm and tab_mm:
                length = math.hypot(x1 - x0, y1 - y0)
                half = (tab_mm + MILL.diameter_mm) / 2 / length
                for share, height in ((0.5 - half, -12 + tab_height_mm), (0.5 + half, z)):
                    yield f"G1 X{x0 + (x1 - x0) * share:.3f} Y{y0 + (y1 - y0) * share:.3f} F900"
                    yield f"G1 Z{height} F300"
            yield f"G1 X{x1} Y{y1} F900"


def program(cutter: Cutter, text: str, name: str = "program.ngc") -> Program:
    """Return a program."""
    return Program(name=name, cutter=cutter, text=text)


CARVE = program(VEE, text_of(*GROOVE), "01-incise.ngc")
FREE = program(MILL, text_of(*round_the_board()), "02-cutout.ngc")


def judged(
    *programs: Program,
    design: Design | None = SIGN,
    cutout: CutoutCut | None = CUTOUT,
    machine: Machine = ROUTER,
) -> Verified:
    """Verify programs for the usual board."""
    return verify(programs, design.board if design else SIGN.board, machine, design, INCISE, cutout)


def errors_of(verified: Verified) -> dict[str, Finding]:
    """Return the errors by code."""
    return {
        finding.code: finding for finding in verified.proof.findings if finding.severity is Severity.ERROR
    }


def test_the_right_programs_pass_without_a_word() -> None:
    """Overcut and undercut below 0.005 mm: the programs are exact to their rounding."""
    verified = judged(CARVE, FREE)
    assert verified.proof.passed
    assert verified.proof.findings == ()
    assert verified.proof.overcut is not None
    assert verified.proof.undercut is not None
    assert verified.proof.overcut.max_mm < 0.005
    assert verified.proof.undercut.max_mm < 0.005
    assert verified.bridges_count == 4


def test_a_record_tells_lengths_bounds_and_time() -> None:
    """By hand: three spurs and one more of 3 sqrt 3, the spine 34, and two plunges from 5 to 0 each mm."""
    record = judged(CARVE, FREE).proof.programs[0]
    assert record.feed_length_mm == pytest.approx(4 * 3 * math.sqrt(3) + 34 + 3 * 5, abs=1e-6)
    assert record.low_mm == (0, 0, -3)
    assert record.high_mm == (60, 26, 5)
    assert record.seconds_s > 3 + record.feed_length_mm / 1000 * 60
    assert [(one.number, one.bit, one.seconds_s) for one in record.bits] == [
        (None, "vee-90", record.seconds_s)
    ]


def test_a_groove_one_step_deeper_is_overcut() -> None:
    """A writer that lies by a fifth of a millimetre."""
    deeper = CARVE.text.replace("G1 X57 Y23\n", "G1 X57 Y23 Z-3.2\n")
    found = errors_of(judged(program(VEE, deeper), FREE))
    assert set(found) == {"overcut"}
    assert "0.200 mm too deep" in found["overcut"].message
    at_mm = found["overcut"].at_mm
    assert at_mm is not None
    assert 50 < at_mm[0] < 62
    assert 18 < at_mm[1] < 28


def test_a_groove_left_out_is_undercut() -> None:
    """The spine is missing."""
    missing = CARVE.text.replace("G1 X57 Y23\nG1 X60 Y20 Z0\n", "")
    assert set(errors_of(judged(program(VEE, missing), FREE))) == {"undercut"}


def test_a_slightly_shallow_groove_fails_by_the_usual_cell() -> None:
    """0.04 mm everywhere is within the worst cell's limit, and beyond what all but 0.1 % must keep."""
    shallow = CARVE.text.replace("Z-3 ", "Z-2.96 ")
    verified = judged(program(VEE, shallow), FREE)
    assert verified.proof.undercut is not None
    assert verified.proof.undercut.max_mm < 0.05
    assert set(errors_of(verified)) == {"undercut"}


def test_a_rapid_through_stock_is_found_with_its_line() -> None:
    """A lift is forgotten: G0 X20 Y26 leaves the groove at depth."""
    dragging = CARVE.text.replace("G0 Z5\nG0 X20 Y26", "G0 Z-1\nG0 X20 Y26")
    found = errors_of(judged(program(VEE, dragging), FREE))
    line = dragging.splitlines().index("G0 X20 Y26") + 1
    assert f"line {line}:" in found["rapid-through-stock"].message


def test_a_rapid_in_the_air_of_its_own_groove_is_let_pass() -> None:
    """Below the face, but nothing stands there any more."""
    back = CARVE.text.replace("G1 X57 Y23\n", "G1 X57 Y23\nG0 X30\nG0 X57\n")
    assert judged(program(VEE, back), FREE).proof.passed


def test_a_plunge_at_traverse_speed_is_found() -> None:
    """G0 straight down into the board."""
    diving = CARVE.text.replace("G0 X60 Y26\nG1 Z0 F400", "G0 X57 Y23\nG0 Z-2\nG0 Z5\nG0 X60 Y26\nG1 Z0 F400")
    assert judged(program(VEE, diving), FREE).proof.passed, "the groove is open there"
    diving = CARVE.text.replace("G0 X20 Y20\n", "G0 X40 Y23\nG0 Z-2\nG0 Z5\nG0 X20 Y20\n", 1)
    assert set(errors_of(judged(program(VEE, diving), FREE))) == {"plunge-through-stock"}


def test_a_spindle_that_never_starts_is_found() -> None:
    """M3 is missing."""
    still = CARVE.text.replace("S18000 M3", "S18000")
    assert set(errors_of(judged(program(VEE, still), FREE))) == {"spindle-off"}


@pytest.mark.parametrize(("spindle_commanded", "severity"), [(True, "error"), (False, "warning")])
def test_a_spindle_speed_that_the_machine_lacks_is_found(spindle_commanded: bool, severity: str) -> None:
    """Where a dial sets the speed the program only says it: worth a warning."""
    machine = replace(ROUTER, spindle_commanded=spindle_commanded)
    verified = judged(program(VEE, CARVE.text.replace("S18000", "S5000")), FREE, machine=machine)
    assert [(finding.code, finding.severity) for finding in verified.proof.findings] == [
        ("spindle-speed", severity)
    ]


def test_a_speed_that_a_wide_bit_does_not_bear_is_found() -> None:
    """A 2 in bit turns at most 18000 a minute (trade.md 2.4, seen), whatever the spindle can."""
    wide = mill(50.8, 15)
    surfacing = text_of("G0 X40 Y25", "G1 Z-1 F300", "G1 X50 F900").replace("S18000", "S19000")
    found = errors_of(judged(program(wide, surfacing), design=None, cutout=None))
    assert set(found) == {"bit-too-fast"}
    assert "bears 18000" in found["bit-too-fast"].message


@pytest.mark.parametrize(
    ("stated", "written", "severity"),
    [("G21", "inches", "error"), ("G20", "millimetres", "error")],
)
def test_a_program_in_the_other_unit_than_it_says_is_told_so(
    stated: str, written: str, severity: str
) -> None:
    """One wrong word explains all the other findings: what is cut is 25.4 times too small or too large."""
    metric = CARVE.text
    inch = re.sub(r"([XYZF])(-?[\d.]+)", lambda word: f"{word[1]}{float(word[2]) / 25.4:.5f}", CARVE.text)
    text = (inch if written == "inches" else metric).replace("G21", stated)
    verified = judged(program(VEE, text), cutout=None)
    found = {finding.code: finding for finding in verified.proof.findings}
    assert found["wrong-units"].severity == severity
    assert f"look like {written}" in found["wrong-units"].message
    right = judged(program(VEE, inch.replace("G21", "G20")), cutout=None)
    assert "wrong-units" not in {finding.code for finding in right.proof.findings}


def test_text_that_a_small_controller_may_not_take_is_a_warning() -> None:
    """Lines past 80 characters, and letters outside ASCII, with line and column."""
    text = CARVE.text.replace("G17", "G17\n(" + "a" * 90 + ")\n(caf\u00e9)", 1)
    verified = judged(program(VEE, text, "menu.ngc"), FREE)
    found = {finding.code: finding for finding in verified.proof.findings}
    assert verified.proof.passed
    assert "menu.ngc, line 3:" in found["long-lines"].message
    assert "menu.ngc, line 4, column 5" in found["characters-outside-ascii"].message


def test_a_digest_is_that_of_the_file_whatever_its_letters() -> None:
    """Anybody can check it with a tool of his own: a foreign program in Latin-1, lines ended by CR LF."""
    data = CARVE.text.replace("G17", "G17\n(caf\u00e9)", 1).replace("\n", "\r\n").encode("latin-1")
    record = judged(program(VEE, data.decode("latin-1")), FREE).proof.programs[0]
    assert record.sha256 == hashlib.sha256(data).hexdigest()


def test_a_feed_that_the_machine_lacks_is_found() -> None:
    """What the machine makes of it nobody knows: some hold their limit, some lose steps."""
    fast = CARVE.text.replace("G1 X57 Y23\n", "G1 X57 Y23 F9000\n")
    found = errors_of(judged(program(VEE, fast), FREE))
    assert set(found) == {"feed-above-machine"}
    assert "line 11: 9000 mm/min" in found["feed-above-machine"].message


def test_going_down_faster_than_the_machine_can_is_found() -> None:
    """Of a slope only its downward part counts: 3 mm down on 5.2 mm of way at F2400 is 1386 mm/min down."""
    steep = CARVE.text.replace("G1 X23 Y23 Z-3 F1000", "G1 X23 Y23 Z-3 F2400", 1)
    found = errors_of(judged(program(VEE, steep), FREE))
    assert set(found) == {"plunge-above-machine"}
    assert "1384 mm/min" in found["plunge-above-machine"].message


def test_a_cut_far_beside_the_board_is_found() -> None:
    """Clamps are there; going round the board takes the bit half its diameter aside."""
    astray = FREE.text.replace("G1 X-1.5 Y51.5 F900", "G1 X-1.5 Y51.5 F900\nG1 X-9 Y51.5\nG1 X-1.5 Y51.5", 1)
    found = errors_of(judged(CARVE, program(MILL, astray, "02-cutout.ngc")))
    assert set(found) == {"cuts-beside-board"}
    assert "9.12 mm" in found["cuts-beside-board"].message


def test_wood_left_along_the_edge_is_found() -> None:
    """A cutout that strays by 0.4 mm over half a side leaves the board too wide there."""
    astray = FREE.text.replace("X81.5 Y51.5", "X81.9 Y51.5")
    found = errors_of(judged(CARVE, program(MILL, astray, "02-cutout.ngc")))
    assert set(found) == {"edge-left-standing"}


def test_leaving_the_machine_is_found() -> None:
    """X900 on a machine that travels 400."""
    away = CARVE.text.replace("G0 X0 Y0", "G0 X900 Y0")
    found = errors_of(judged(program(VEE, away), FREE))
    assert set(found) == {"outside-envelope"}
    assert "900.000" in found["outside-envelope"].message


def test_rising_past_the_machine_is_found() -> None:
    """Z travels 60 mm; from -3 to 80 is more."""
    high = CARVE.text.replace("M5\n", "M5\nG0 Z80\n")
    assert set(errors_of(judged(program(VEE, high), FREE))) == {"outside-envelope"}


def test_cutting_into_the_bed_is_found() -> None:
    """14 mm in a board of 12 mm with 0.3 mm past it."""
    deep = program(MILL, text_of(*round_the_board(bottom_mm=-14)))
    assert set(errors_of(judged(CARVE, deep))) == {"into-the-bed"}


def test_a_v_bit_beyond_its_cone_is_found() -> None:
    """A cone of 5 mm at 90 degrees is 2.5 mm high; the groove is 3 mm deep."""
    small = program(vee(90, diameter_mm=5, length_mm=8), CARVE.text)
    found = errors_of(judged(small, FREE))
    assert "2.500 mm high" in found["past-cutting-length"].message
    assert found["past-cutting-length"].at_mm == (23, 23), "where it first reaches 3 mm"


def test_a_depth_at_which_a_program_begins_has_its_place_too() -> None:
    """A bit that comes up along a slope from where it was plunged is deepest at the slope's start."""
    diving = text_of("G0 X30 Y23", "G1 Z-9 F300", "G1 X40 Z0")
    found = errors_of(judged(program(VEE, diving), design=None, cutout=None))
    assert found["past-cutting-length"].at_mm == (30, 23)


def test_the_cutout_before_the_carving_is_found() -> None:
    """The board could shift."""
    found = errors_of(judged(FREE, CARVE))
    assert set(found) == {"freed-before-carving"}
    assert found["freed-before-carving"].remedy.startswith("run the cutout last")


def test_cutout_before_carving_in_one_program_is_found() -> None:
    """One bit, one file, wrong order within."""
    lines = [*round_the_board(tab_mm=0), "G0 Z5", "G0 X40 Y40", "G1 Z-1 F300", "G1 X50 F900"]
    found = errors_of(judged(program(MILL, text_of(*lines)), design=None))
    assert "freed-before-carving" in found


@pytest.mark.parametrize(
    ("line", "carves"),
    [
        ("G1 X90 Y25 F900", True),  # right across the board, both ends beside it
        ("G1 X-5 Y60 F900", False),  # beside it all the way
        ("G0 Z5\nG1 X40 Y25 Z5 F900\nG1 X90 Y25 Z-4", True),  # comes down through the face over the board
        ("G0 Z5\nG1 X40 Y25 Z5 F900\nG1 X200 Y25 Z-4", False),  # and beside it
    ],
)
def test_carving_between_two_places_beside_a_freed_board_is_found(line: str, carves: bool) -> None:
    """Neither end of such a motion is over the board."""
    lines = ["G0 X-5 Y25", "G1 Z-2 F300", *line.split("\n")]
    across = program(MILL, text_of(*lines), "03-across.ngc")
    found = errors_of(judged(program(MILL, text_of(*round_the_board(tab_mm=0))), across, design=None))
    assert ("freed-before-carving" in found) is carves


HOLE = ["G0 X40 Y40", "G1 Z-5 F300", "G0 Z0.5", "G0 Z-4.8", "G1 Z-9", "G0 Z0.5", "G0 Z-8.8", "G1 Z-12.3"]


def drilled(*lines: str, order: DrillCut | None = None) -> list[Finding]:
    """Return what the proof says of the pecks of one program for a drill of 5 mm."""
    made = program(DRILL, text_of(*lines), "drill.ngc")
    findings = verify([made], SIGN.board, ROUTER, drill=order).proof.findings
    return [found for found in findings if found.code == "peck-too-deep"]


@pytest.mark.parametrize(("peck_mm", "errors"), [(None, 0), (5.0, 0), (4.0, 1), (20.0, 0)])
def test_a_peck_deeper_than_the_orders_is_found(peck_mm: float | None, errors: int) -> None:
    """Strokes of 5, 4 and 3.3 mm; without a peck the drill's diameter is as deep as it goes at a time."""
    found = drilled(*HOLE, order=DrillCut(cutter=DRILL, peck_mm=peck_mm))
    assert len(found) == errors
    for finding in found:
        assert finding.severity is Severity.ERROR
        assert "line 9: " in finding.message
        assert "5.000 mm in one stroke, 4 mm is its peck" in finding.message
        assert finding.at_mm == (40, 40)


def test_a_swallowed_peck_is_found() -> None:
    """One lift is missing: the strokes before and after it are one of 9 mm."""
    [found] = drilled(HOLE[0], HOLE[1], *HOLE[4:], order=DrillCut(cutter=DRILL))
    assert "9.000 mm in one stroke" in found.message


def test_a_lift_within_the_hole_is_no_lift() -> None:
    """Chips come out only with the drill."""
    [found] = drilled(*(line.replace("Z0.5", "Z-1") for line in HOLE), order=DrillCut(cutter=DRILL))
    assert "12.300 mm in one stroke" in found.message


def test_without_an_order_a_deep_stroke_is_a_warning() -> None:
    """Somebody else's program may know its drill; G83 lifts it after each peck, G81 never (NISTIR 6556)."""
    [found] = drilled("F300", "G81 X40 Y40 Z-12 R1")
    assert found.severity is Severity.WARNING
    assert drilled("F300", "G83 X40 Y40 Z-12 R1 Q4.5") == []


def test_other_bits_have_no_peck() -> None:
    """An end mill ramps down, and its depth is another gate's matter."""
    made = program(MILL, text_of(*HOLE))
    findings = verify([made], SIGN.board, ROUTER, drill=DrillCut(cutter=MILL, peck_mm=1)).proof.findings
    assert "peck-too-deep" not in {finding.code for finding in findings}


def test_missing_tabs_are_found() -> None:
    """Cut free all round where four bridges were ordered."""
    loose = program(MILL, text_of(*round_the_board(tab_mm=0)))
    found = errors_of(judged(CARVE, loose))
    assert set(found) == {"tabs-too-weak"}
    assert "0 tabs hold" in found["tabs-too-weak"].message


@pytest.mark.parametrize(("width", "height"), [(4, 2), (6, 1.5)])
def test_tabs_narrower_or_lower_than_ordered_are_found(width: float, height: float) -> None:
    """Measured in the simulated board, not believed."""
    weak = program(MILL, text_of(*round_the_board(tab_mm=width, tab_height_mm=height)))
    found = errors_of(judged(CARVE, weak))
    assert set(found) == {"tabs-too-weak"}
    assert f"{height:.2f}" in found["tabs-too-weak"].message


def test_a_cutout_that_stops_short_is_found() -> None:
    """The board would not come free."""
    shallow = program(MILL, text_of(*round_the_board(bottom_mm=-11.5, tab_mm=0)))
    assert set(errors_of(judged(CARVE, shallow))) == {"not-cut-free"}


def test_a_cutout_that_eats_into_the_board_is_overcut() -> None:
    """Half a millimetre inside the outline, all along."""
    inside = FREE.text.replace("X-1.5 Y51.5", "X-1 Y51.5").replace("G0 X-1.5 Y-1.5", "G0 X-1 Y-1.5")
    assert "overcut" in errors_of(judged(CARVE, program(MILL, inside)))


def test_a_program_that_cuts_nothing_is_found() -> None:
    """All above the face."""
    air = program(VEE, text_of("G0 X20 Y20", "G1 X60 F900"))
    assert "nothing-cut" in errors_of(judged(air, CARVE, FREE))


def test_holes_must_go_through_and_stay_in_their_rim() -> None:
    """A 5 mm hole drilled through passes; half through is undercut; beside its place is overcut."""
    holed = replace(SIGN, holes=(Hole(x_mm=8, y_mm=8, diameter_mm=5),))
    good = program(DRILL, text_of("G0 X8 Y8", "G1 Z-12.3 F200"))
    assert judged(CARVE, good, FREE, design=holed).proof.passed
    half = program(DRILL, text_of("G0 X8 Y8", "G1 Z-6 F200"))
    assert set(errors_of(judged(CARVE, half, FREE, design=holed))) == {"undercut"}
    beside = program(DRILL, text_of("G0 X8.5 Y8", "G1 Z-12.3 F200"))
    assert set(errors_of(judged(CARVE, beside, FREE, design=holed))) == {"overcut", "undercut"}


def test_a_waived_error_stays_in_the_proof_and_no_longer_stops_it() -> None:
    """With its reason; a warning or a gate that may not be waived is left alone."""
    loose = program(MILL, text_of(*round_the_board(tab_mm=0)), "02-cutout.ngc")
    waivers = {"tabs-too-weak": "held by tape", "spindle-off": "never"}
    proof = verify([CARVE, loose], SIGN.board, ROUTER, SIGN, INCISE, CUTOUT, waivers=waivers).proof
    assert proof.passed
    assert [(finding.code, finding.waived) for finding in proof.findings] == [
        ("tabs-too-weak", "held by tape")
    ]
    still = program(VEE, CARVE.text.replace("S18000 M3", "S18000"))
    assert not verify([still, loose], SIGN.board, ROUTER, SIGN, INCISE, CUTOUT, waivers=waivers).proof.passed


def test_a_waiver_that_nothing_needs_is_told() -> None:
    """An order that waives too much hides the next fault."""
    proof = verify(
        [CARVE, FREE], SIGN.board, ROUTER, SIGN, INCISE, CUTOUT, waivers={"overcut": "rough"}
    ).proof
    assert [finding.code for finding in proof.findings] == ["waiver-not-needed"]


def test_an_unreadable_program_is_a_finding_and_no_exception() -> None:
    """The proof fails and says where."""
    found = errors_of(judged(program(VEE, "G21\nG0 X1 X2\nM2", "odd.ngc")))
    assert set(found) == {"unreadable-program"}
    assert 'odd.ngc, line 2, column 7, "G0 X1 X2"' in found["unreadable-program"].message


def test_an_arc_out_of_tolerance_has_its_own_code() -> None:
    """The commonest fault of foreign programs."""
    text = text_of("G1 Z-1 F100", "G2 X5 Y0 I1 J0")
    assert set(errors_of(judged(program(MILL, text)))) == {"arc-out-of-tolerance"}


def test_no_program_is_no_proof() -> None:
    """An empty list passes nothing."""
    assert not judged().proof.passed


def test_a_foreign_program_with_arcs_is_read_and_proven() -> None:
    """Inches, arcs both ways, a helix and a drilling cycle, without a design.

    A ring groove of radius 1/2 in by a 1/8 in mill, 0.1 in deep: 2 pi r w d = 0.12337 in3... in mm3.
    """
    text = "\n".join([
        "%", "(A RING AND A HOLE)", "N10 G20 G17 G90 G40 G80", "N20 S12000 M3", "N30 G0 Z.2", "N40 X1.5 Y1",
        "N50 G1 Z0 F10", "N60 G3 X1.5 Y1 Z-.1 I-.5 J0 F20", "N70 G3 X.5 Y1 R.5", "N80 X1.5 Y1 I.5",
        "N90 G0 Z.2",
        "N100 G81 X2.5 Y1 Z-.25 R.1 F5", "N110 G80 M5", "N120 M30", "%",
    ])  # fmt: skip
    verified = judged(program(mill(), text, "ring.nc"), design=None, cutout=None)
    assert verified.proof.passed
    assert verified.proof.overcut is None
    ring = 2 * math.pi * 12.7 * 3.175 * 2.54
    hole = math.pi * 3.175**2 / 4 * 6.35
    assert verified.proof.carved_volume_mm3 == pytest.approx(ring + hole, rel=0.005)
    assert verified.proof.programs[0].low_mm[2] == pytest.approx(-6.35)


def test_a_foreign_programs_faults_are_found_without_a_design() -> None:
    """Every gate but overcut and undercut."""
    text = text_of("G0 X10 Y10", "G0 Z-1", "G1 X20 F900", "G1 Z-14 F200").replace("S18000 M3", "S18000")
    found = errors_of(judged(program(MILL, text), design=None, cutout=None))
    assert set(found) == {"plunge-through-stock", "into-the-bed", "spindle-off"}


def test_doubts_of_the_reader_become_warnings() -> None:
    """A program without its unit passes with a remark."""
    text = CARVE.text.replace("G21\n", "")
    verified = judged(program(VEE, text), FREE)
    assert verified.proof.passed
    assert [finding.code for finding in verified.proof.findings] == ["program-remark"]


def test_a_large_board_gets_larger_cells_and_a_note() -> None:
    """Memory stays bounded."""
    verified = verify([program(MILL, text_of("G1 Z-1 F100"))], board(2400, 1200, 12), ROUTER)
    assert verified.field.depth_mm.size <= 41_000_000
    assert verified.field.cell_mm == pytest.approx(0.27)
    assert "coarser-cells" in [finding.code for finding in verified.proof.findings]


def test_cells_too_small_for_the_memory_are_refused() -> None:
    """With the smallest size that is taken."""
    with pytest.raises(ParameterOutOfRangeError, match=r"0\.001 mm"):
        verify([CARVE], SIGN.board, ROUTER, cell_mm=0.001)


def test_a_dismissed_job_ends_at_once() -> None:
    """The reporter's exception passes through."""

    def dismiss(fraction: float, message: str) -> None:
        raise JobDismissed

    with pytest.raises(JobDismissed):
        verify([CARVE, FREE], SIGN.board, ROUTER, report=dismiss)


def square_cut(left: float, bottom: float, side: float, depth: float = -12.3) -> list[str]:
    """The lines that run the mill's middle round a square at one depth."""
    right, top = left + side, bottom + side
    return [
        f"G0 X{left} Y{bottom}", f"G1 Z{depth} F300", f"G1 X{right} F900", f"G1 Y{top}", f"G1 X{left}",
        f"G1 Y{bottom}", "G0 Z5",
    ]  # fmt: skip


def test_a_piece_that_is_cut_free_is_found_where_it_lies() -> None:
    """The bit's middle runs round 10 mm: what it leaves is (10 - 3) mm square, 49 mm2 loose in the board."""
    inner = program(MILL, text_of(*square_cut(40, 35, 10)), "02-window.ngc")
    found = errors_of(verify([inner], SIGN.board, ROUTER))
    assert set(found) == {"loose-part"}
    assert "49.0 mm2" in found["loose-part"].message
    assert found["loose-part"].at_mm == pytest.approx((45, 40), abs=0.2)


@pytest.mark.parametrize(
    ("lines", "is_loose"),
    [
        (square_cut(40, 35, 10, depth=-11.5), False),  # not through
        ([*square_cut(40, 35, 10)[:5], "G0 Z5"], False),  # three sides only
        (square_cut(40, 35, 4), False),  # (4 - 3) mm square: a crumb
        (square_cut(40, 35, 10) + square_cut(58, 35, 8), True),
    ],
    ids=["a skin holds it", "one side holds it", "crumb", "two pieces"],
)
def test_only_pieces_that_nothing_holds_are_loose(lines: list[str], is_loose: bool) -> None:
    """A skin or one side holds a piece; what is smaller than a chip does no harm."""
    found = errors_of(verify([program(MILL, text_of(*lines), "02-window.ngc")], SIGN.board, ROUTER))
    assert ("loose-part" in found) == is_loose
    if is_loose:
        assert "and 1 smaller" in found["loose-part"].message


def test_a_piece_that_a_later_program_cuts_away_was_loose_before() -> None:
    """Its ring is cut through first; by the time its last cell is gone it has flown."""
    ring = ["G0 X40 Y35", "G1 Z-12.3 F300", "G1 X50 F900", "G1 Y45", "G1 X40", "G1 Y35"]
    rest = [
        "G0 X42 Y37",
        "G1 Z-12.3 F300",
        "G1 X48 F900",
        "G1 Y39",
        "G1 X42",
        "G1 Y41",
        "G1 X48",
        "G1 Y43",
        "G1 X42",
    ]
    made = [program(MILL, text_of(*lines), f"{name}.ngc") for name, lines in (("ring", ring), ("rest", rest))]

    found = errors_of(judged(*made, design=None, cutout=None))

    assert found["loose-part"].message.startswith("ring.ngc cuts a piece of 49.0 mm2 free")
    assert "loose-part" not in errors_of(judged(*reversed(made), design=None, cutout=None))


def test_a_board_cut_free_without_tabs_is_no_loose_part() -> None:
    """Whether it is held is another gate's question; here only pieces of it count."""
    free = program(MILL, text_of(*round_the_board(tab_mm=0)), "02-cutout.ngc")
    assert set(errors_of(judged(CARVE, free))) == {"tabs-too-weak"}
