"""Slots in the back: planned first, mirrored, in and out at the entry, clear of the carving before them."""

import math
from dataclasses import replace

import pytest
from shapely.geometry import box

from tests.support.hangers import DEPTH_MM, HANGERS, SIGN, hanger, programs
from tests.support.specimens import BASSWOOD, MACHINE, clearing, cutout, design, incise, region, vee
from workers.dialects.inch_one_file import INCH_ONE_FILE
from workers.errors import NotCuttableError
from workers.pipeline.program_list import program_list
from workers.toolpaths.hangers import carved_before_mm
from workers.toolpaths.paths_file import draw_paths, read_paths, write_paths
from workers.toolpaths.plan import plan
from workers.values.cuts import CutoutCut, CutoutSide, InciseCut
from workers.values.cutting_plan import CuttingPlan, OperationKind
from workers.values.design import Design
from workers.values.keep_out import KeepOut


def planned(
    sign: Design = SIGN, free: CutoutCut | None = None, carve: InciseCut | None = None
) -> CuttingPlan:
    """The plan of a sign."""
    return plan(sign, carve or incise(), clearing(), free or cutout(), None, BASSWOOD, MACHINE).plan


def test_the_back_comes_first_mirrored_from_left_to_right_as_it_lies() -> None:
    """x 90 and 25 of the front are 20 and 85 of the back of a board 110 mm wide; y stays."""
    back, *others = planned().operations

    assert back.kind is OperationKind.BACK
    assert OperationKind.BACK not in {operation.kind for operation in others}
    assert [path.points_mm.tolist() for path in back.paths] == [
        [[x_mm, 50, -DEPTH_MM], [x_mm, 64, -DEPTH_MM], [x_mm, 50, -DEPTH_MM]] for x_mm in (20, 85)
    ]


def test_each_bit_has_an_operation_of_its_own() -> None:
    """Two bits, two programs."""
    other = replace(HANGERS[0].cutter, name="keyhole-long", cutting_length_mm=15)
    made = programs(replace(SIGN, hangers=(HANGERS[0], replace(HANGERS[1], cutter=other))))

    assert [program.name for program in made][:3] == [
        "01-back-keyhole-3-8in.ngc",
        "02-back-keyhole-long.ngc",
        "03-clear-flat-1-8in.ngc",
    ]
    assert [program.from_behind for program in made] == [True, True, False, False, False]


def test_the_bit_is_lifted_only_over_entries_and_the_head_of_the_program_says_how_the_board_lies() -> None:
    """Z rises after the way back to the entry alone."""
    text = programs()[0].text
    lines = [line for line in text.splitlines() if not line.startswith("(")]
    for row, line in enumerate(lines):
        if line.startswith("G0 Z") and lines[row - 1].startswith("G1"):
            assert lines[row - 1] == "G1 Y50.000"
            assert lines[row - 2].startswith("G1 Y64.000")
    assert "turn the board over sideways, like a page, face down" in text
    assert "Its lower edge stays below, left and right change places" in text
    assert "lower left corner as it lies, Z0 its back" in text
    assert "Z0 its face" not in text
    assert "Z0 its face" in programs()[1].text


def test_a_program_of_all_bits_leaves_the_back_to_its_own() -> None:
    """Nobody turns a board over within a program."""
    back, rest = programs(dialect=INCH_ONE_FILE)
    listed = program_list([back, rest], planned()).model_dump(mode="json", exclude_none=True)["programs"]

    assert (back.name, rest.name) == ("01-back-keyhole-3-8in.ngc", "02-all-bits.ngc")
    assert [entry.get("side") for entry in listed] == ["back", None]
    assert listed[0]["operation"] == "back"
    assert "keyhole-3/8in" not in rest.text
    assert {bit.name for bit in rest.bits.values()} == {"flat-1/8in", "vee-90"}


def test_the_list_of_programs_says_the_side() -> None:
    """Of the back; others say none, as before there were any."""
    listed = program_list(programs(), planned()).model_dump(mode="json", exclude_none=True)["programs"]
    assert [entry.get("side") for entry in listed] == ["back", None, None, None]


def test_the_plan_comes_back_from_its_file_and_is_drawn_as_seen_from_the_front() -> None:
    """The first slot of the program lies at x 20 behind, at x 90 in the drawing."""
    found = planned()
    drawn = draw_paths(found).decode()

    assert read_paths(write_paths(found), "").operations[0].cutter == HANGERS[0].cutter
    assert 'id="back"' in drawn
    assert "M90,-50 90,-64 90,-50" in drawn
    assert "slots in the back, seen through the board: keyhole-3/8in, keyhole bit 9.525 mm" in drawn


def test_clamps_are_kept_clear_of_as_the_board_lies() -> None:
    """A zone at x 10 to 30 is in the way of the back's slot at x 20; one at x 80 to 100 of that at 85."""
    for left_mm in (10, 75):
        zone = KeepOut(left_mm=left_mm, bottom_mm=55, right_mm=left_mm + 20, top_mm=75, height_mm=20)
        with pytest.raises(NotCuttableError, match=r"keyhole-3/8in would run into keep-out zone 1.*\(back\)"):
            plan(replace(SIGN, ink=region(box(50, 5, 55, 10))), incise(), None, None, None, BASSWOOD, MACHINE,
                 keep_outs=[zone])  # fmt: skip


def test_a_hanger_behind_deep_carving_is_refused_and_behind_a_thin_stroke_it_is_not() -> None:
    """A board of 13 mm, 9.525 mm from behind, a floor of 2.5 mm: 0.975 mm are left, and 2 must be."""
    thin = replace(SIGN.board, thickness_mm=13.0)
    floor = replace(SIGN, board=thin, ink=region(box(10, 45, 40, 75)))
    with pytest.raises(
        NotCuttableError, match=r"hanger 1 is 9\.53 mm deep behind carving of 2\.50 mm"
    ) as refused:
        planned(floor)
    [finding] = refused.value.findings
    assert (finding.code, finding.at_mm) == ("hanger-too-deep", (25, 50))
    assert "'hangers/0/depth' to 8.5 mm" in finding.remedy

    stroke = replace(floor, ink=region(box(10, 57, 40, 59)))
    assert planned(stroke).from_behind


def test_carving_before_a_slot_is_measured_from_the_ink() -> None:
    """A stroke 2 mm wide is 1 mm deep with 90 degrees, sqrt(3) mm with 60; the limit ends it."""
    sign = replace(design(region(box(10, 57, 40, 59))), hangers=HANGERS)
    bit_60 = InciseCut(cutter=vee(60), depth_limit_mm=4.0)

    assert carved_before_mm(sign, incise(), HANGERS[0]) == pytest.approx(1.0, abs=0.15)
    assert carved_before_mm(sign, bit_60, HANGERS[0]) == pytest.approx(math.sqrt(3), abs=0.26)
    assert carved_before_mm(sign, incise(limit_mm=0.5), HANGERS[0]) == 0.5
    assert carved_before_mm(sign, incise(), HANGERS[1]) == 0.0
    assert carved_before_mm(sign, incise(), HANGERS[0]) >= 1.0


def test_what_the_cutout_takes_of_the_board_must_not_weaken_a_hanger() -> None:
    """4.5 mm beside the edge; a bit that runs inside takes 3.175 of them."""
    near = replace(SIGN, hangers=(hanger(4.7625 + 4.5, 40),))
    assert planned(near).from_behind
    inside = replace(cutout(), side=CutoutSide.INSIDE)
    with pytest.raises(NotCuttableError, match=r"hanger 1 leaves 1\.3 mm to the edge that the cutout makes"):
        planned(near, inside)
