"""Openings right through: cut whole or round a held piece, proven, and refused where the bit does not fit."""

import math
from dataclasses import replace
from typing import Any

import pytest
from shapely.geometry import Point, box

from tests.support.specimens import BASSWOOD, MACHINE, clearing, cutout, design, incise, mill, region
from workers.contracts.dialect import Dialect
from workers.dialects.inch_lines import INCH_LINES
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.errors import NotCuttableError
from workers.toolpaths.plan import plan
from workers.values.cuts import ClearCut, CutoutCut
from workers.values.cutting_plan import CuttingPlan
from workers.values.design import Design, Opening, OpeningShape
from workers.values.opening_outline import leaves_core, opening_outline
from workers.verification.verify import verify

SLOT = Opening(shape=OpeningShape.SLOT, x_mm=25, y_mm=60, length_mm=20, width_mm=8, turn_deg=30)
KEYHOLE = Opening(shape=OpeningShape.KEYHOLE, x_mm=60, y_mm=54, length_mm=14, width_mm=4, head_mm=9)
WINDOW = Opening(
    shape=OpeningShape.RECTANGLE, x_mm=95, y_mm=55, length_mm=30, width_mm=24, corner_radius_mm=3
)
CUT = replace(cutout(None), cutter=mill(3.0))  # type: ignore[arg-type]


def sign(*openings: Opening) -> Design:
    """A board of 120 x 80 x 12 mm with a groove and openings."""
    plain = design(region(box(20, 20, 100, 24)), 120, 80, 12)
    return replace(plain, openings=openings)


def planned(made: Design, cut: CutoutCut | None = CUT, clear: ClearCut | None = None) -> CuttingPlan:
    """Its plan."""
    return plan(made, incise(90, 1.5), clear, cut, None, BASSWOOD, MACHINE).plan


@pytest.mark.parametrize(
    ("opening", "area_mm2"),
    [
        (SLOT, 12 * 8 + math.pi * 16),
        (WINDOW, 30 * 24 - (4 - math.pi) * 9),
        # head, neck and its round end, less the half disc of the neck's width and the segment that overlap
        (
            KEYHOLE,
            math.pi * 4.5**2
            + 4 * 12
            + math.pi * 2
            - (4.5**2 * math.asin(2 / 4.5) + 2 * math.sqrt(4.5**2 - 4)),
        ),
    ],
    ids=["slot", "window", "keyhole"],
)
def test_outlines_have_the_area_of_their_parts(opening: Opening, area_mm2: float) -> None:
    """Elementary: rectangles, discs, and the strip of a circle between two parallel lines."""
    assert opening_outline(opening).area == pytest.approx(area_mm2, rel=1e-3)


def test_turning_and_moving() -> None:
    """A keyhole's neck points up; a quarter turn anticlockwise points it left."""
    turned = opening_outline(replace(KEYHOLE, turn_deg=90.0))

    assert turned.bounds == pytest.approx((46, 49.5, 64.5, 58.5), abs=0.002)
    assert turned.contains(Point(47, 54))


def test_large_openings_keep_their_piece_until_it_is_sawn_out() -> None:
    """Wider than four bits: cut round, tabs left; small ones are cut away whole."""
    cores = [leaves_core(opening_outline(opening), 3.0) for opening in (SLOT, KEYHOLE, WINDOW)]

    assert cores == [False, False, True]


def test_openings_come_after_the_carving_and_before_the_cutout() -> None:
    """Inner cuts first, the outline last (trade.md P-01)."""
    kinds = [operation.kind.value for operation in planned(sign(SLOT)).operations]

    assert kinds == ["incise", "opening", "cutout"]


@pytest.mark.parametrize("dialect", [METRIC_LINES, INCH_LINES], ids=lambda dialect: dialect.name)
@pytest.mark.parametrize(
    "options",
    [{}, {"tabs_sloped": True, "wall_allowance_mm": 0.2}, {"climb": False, "tabs_count": 3}],
    ids=str,
)
def test_openings_are_proven(options: dict[str, Any], dialect: Dialect) -> None:
    """All three kinds on one board, in either unit; and without a cutout, with the clearing bit."""
    made, cut = sign(SLOT, KEYHOLE, WINDOW), replace(CUT, **options)
    programs = write_programs(planned(made, cut), MACHINE, dialect)
    proof = verify(programs, made.board, MACHINE, made, incise(90, 1.5), cut).proof
    by_clear = write_programs(planned(made, None, clearing(mill(2.0))), MACHINE, dialect)
    alone = verify(by_clear, made.board, MACHINE, made, incise(90, 1.5)).proof

    assert proof.passed, proof.findings
    assert alone.passed, alone.findings


def test_a_slots_volume_is_its_area_by_the_thickness() -> None:
    """Carved volume with the slot less that without it: 12 mm of board and 0.3 of bed, within 0.5 %."""
    volumes = [
        verify(
            write_programs(planned(made, None, clearing(mill(3.0))), MACHINE, METRIC_LINES),
            made.board, MACHINE, made, incise(90, 1.5), cell_mm=0.05,
        ).proof.carved_volume_mm3
        for made in (sign(SLOT), sign())
    ]  # fmt: skip

    assert volumes[0] - volumes[1] == pytest.approx((96 + 16 * math.pi) * 12.3, rel=0.005)


@pytest.mark.parametrize(
    ("openings", "made", "code"),
    [
        ((SLOT,), (), "opening-not-through"),
        ((KEYHOLE,), (replace(KEYHOLE, width_mm=3.2),), "opening-not-through"),
        ((SLOT,), (replace(SLOT, width_mm=10),), "overcut"),
        ((WINDOW,), (), "not-cut-free"),
    ],
    ids=["slot forgotten", "neck too narrow", "slot too wide", "window forgotten"],
)
def test_other_openings_than_ordered_are_found(
    openings: tuple[Opening, ...], made: tuple[Opening, ...], code: str
) -> None:
    """The proof measures each opening on the simulated board."""
    programs = write_programs(planned(sign(*made)), MACHINE, METRIC_LINES)
    proof = verify(programs, sign().board, MACHINE, sign(*openings), incise(90, 1.5), CUT).proof

    assert code in {finding.code for finding in proof.findings}


def test_a_window_without_its_tabs_is_found() -> None:
    """The piece inside would come loose under the bit, which goes round it without lifting."""
    made = sign(WINDOW)
    planned_with = planned(made, replace(CUT, tab_height_mm=0.01))
    programs = write_programs(planned_with, MACHINE, METRIC_LINES)
    found = verify(programs, made.board, MACHINE, made, incise(90, 1.5), CUT).proof.findings

    assert any("opening 1: 0 tabs hold" in finding.message for finding in found)


@pytest.mark.parametrize("count", [0, 1, None])
def test_the_piece_in_a_window_is_held_by_two_tabs_whatever_holds_the_board(count: int | None) -> None:
    """How many the board has is its own affair, none under vacuum: the proof of a loose piece would fail."""
    made, cut = sign(WINDOW), replace(CUT, tabs_count=count)
    programs = write_programs(planned(made, cut), MACHINE, METRIC_LINES)

    proof = verify(programs, made.board, MACHINE, made, incise(90, 1.5), cut).proof

    assert proof.passed, proof.findings


def test_a_window_too_small_for_its_tabs_is_refused_with_its_opening() -> None:
    """Two of 40 mm do not go round a piece of 24 x 18 mm."""
    with pytest.raises(NotCuttableError, match="fit round the piece in opening 1") as refused:
        planned(sign(WINDOW), replace(CUT, tab_width_mm=40.0))
    [finding] = refused.value.findings

    assert (finding.code, finding.at_mm) == ("too-many-tabs", (95, 55))
    assert "count" not in finding.remedy


@pytest.mark.parametrize(
    "opening",
    [replace(KEYHOLE, width_mm=2.5), replace(WINDOW, corner_radius_mm=0.0), replace(SLOT, width_mm=2.0)],
    ids=["neck", "corners", "slot"],
)
def test_a_bit_that_does_not_reach_all_is_refused_with_its_place(opening: Opening) -> None:
    """Necks narrower and corners sharper than the bit would stay standing."""
    with pytest.raises(NotCuttableError, match="opening 1") as refused:
        planned(sign(opening))
    [finding] = refused.value.findings
    assert (finding.code, finding.at_mm) == ("bit-does-not-fit-opening", (opening.x_mm, opening.y_mm))


def test_openings_without_an_end_mill_are_refused() -> None:
    """The remedy names what to give."""
    with pytest.raises(NotCuttableError, match="no end mill to cut them") as refused:
        planned(sign(SLOT), None)
    assert "'cutout' or 'clear'" in refused.value.remedy


def test_tabs_that_leave_half_a_piece_standing_are_refused_with_their_opening() -> None:
    """Two of 24 mm and their ends on 93.4 mm round the piece: the proof would call it not cut free."""
    with pytest.raises(NotCuttableError, match="93 mm round the piece in opening 1") as refused:
        planned(sign(WINDOW), replace(CUT, tab_width_mm=24.0))
    [finding] = refused.value.findings

    assert finding.code == "too-many-tabs"
    assert finding.at_mm == (95, 55)
    assert planned(sign(WINDOW), replace(CUT, tab_width_mm=22.0)).operations
