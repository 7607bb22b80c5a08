"""Hangers fit into the board and lie clear of all that goes through it, and travel in the design's files."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from shapely.geometry import box

from tests.support.hangers import HANGERS, hanger
from tests.support.specimens import board, design, keyhole, lettering, region
from workers.errors import InputRejectedError, ParameterOutOfRangeError
from workers.layout.compose import compose
from workers.layout.design_file import draw_design, read_design, write_design
from workers.values.cutter import KeyholeCutter
from workers.values.design import Board, Design, Hanger, Hole, Opening, OpeningShape
from workers.values.hanger_shape import open_outline, usual_depth_mm

BOARD = board(200, 100, 19)
TEXT = lettering("QUAY", x_mm=100, y_mm=40, align="centre")
HOLE = Hole(x_mm=60, y_mm=80, diameter_mm=5)
SLOT = Opening(shape=OpeningShape.SLOT, x_mm=140, y_mm=80, length_mm=20, width_mm=6)


def composed(*hangers: Hanger, on: Board = BOARD) -> Design:
    """Lettering, a hole and a slot with hangers behind them."""
    return compose(on, [], [TEXT], None, [HOLE], [SLOT], hangers)


def test_hangers_that_fit_are_in_the_design() -> None:
    """As they were asked for; behind lettering as well: planning knows how deep that is."""
    behind_text = hanger(100, 45)
    assert composed(hanger(25), behind_text).hangers == (hanger(25), behind_text)


@pytest.mark.parametrize(
    ("misfit", "field", "says", "remedy"),
    [
        (hanger(25, depth_mm=17.5), "/depth", r"17\.50 mm deep in a board of 19 mm", "to 17.0 mm or less"),
        (hanger(25, depth_mm=13), "/depth", r"neck of 'keyhole-3/8in' ends 12\.70 mm", "to 12.7 mm"),
        (hanger(25, depth_mm=7), "/depth", r"a lip of 2\.24 mm", "7.8 mm or more"),
        (hanger(25, length_mm=7), "/length", "would end within its entry", "more than 7.1 mm"),
        (hanger(25, y_mm=80), "", r"1\.2 mm to the board's edge", "runs up from x, y"),
        (hanger(4, y_mm=50), "", r"0\.0 mm to the board's edge", "Move it"),
        (hanger(50, y_mm=75), "", r"2\.7 mm to hole 1", "Move it"),
        (hanger(140, y_mm=66), "", r"0\.0 mm to opening 1", "Move it"),
    ],
)
def test_a_hanger_that_does_not_fit_is_refused_with_its_field_and_a_remedy(
    misfit: Hanger, field: str, says: str, remedy: str
) -> None:
    """2 mm before it, 3 mm over and beside the head (a choice; common practice), no deeper than the neck."""
    with pytest.raises(ParameterOutOfRangeError, match=says) as refused:
        composed(misfit)
    assert refused.value.field == f"/inputs/hangers/0{field}"
    assert remedy in (refused.value.remedy or "")


def test_hangers_keep_clear_of_each_other() -> None:
    """The second one names the first."""
    with pytest.raises(ParameterOutOfRangeError, match=r"hanger 2 leaves 0\.5 mm to hanger 1") as refused:
        composed(hanger(25), hanger(35))
    assert refused.value.field == "/inputs/hangers/1"


@pytest.mark.parametrize(
    ("thickness_mm", "remedy"),
    [(9, "Take a smaller bit: keyhole-1/4in;"), (8, "No keyhole bit of the table fits so thin a board")],
)
def test_a_board_too_thin_for_the_bit_names_one_that_fits_if_there_is_one(
    thickness_mm: float, remedy: str
) -> None:
    """A quarter inch of head is run 6.35 mm deep, and 2 mm stay."""
    with pytest.raises(ParameterOutOfRangeError) as refused:
        composed(hanger(25), on=replace(BOARD, thickness_mm=thickness_mm))
    assert (refused.value.remedy or "").startswith(remedy)


def test_the_usual_depth_has_a_lip_as_thick_as_the_slot_is_wide_and_3_mm_at_least() -> None:
    """3/8 in for a head of 3/8 in (common practice)."""
    assert usual_depth_mm(keyhole()) == pytest.approx(9.525)
    slender = KeyholeCutter(
        name="k", diameter_mm=6, cutting_length_mm=9, flutes_count=1, head_mm=3, neck_mm=2.5
    )
    assert usual_depth_mm(slender) == 6


def test_what_is_open_behind_is_an_entry_and_a_slot_upwards() -> None:
    """From the entry's lower rim to the slot's round end; nothing below the entry."""
    left, bottom, right, top = open_outline(hanger(25, 50)).bounds
    assert (left, right) == pytest.approx((25 - 4.7625, 25 + 4.7625))
    assert (bottom, top) == pytest.approx((50 - 4.7625, 64 + 2.38125))


@pytest.mark.parametrize("write", [write_design, draw_design], ids=["JSON", "SVG"])
def test_hangers_come_back_from_a_file(write: Callable[[Design], bytes]) -> None:
    """With their bits; a design without any does not speak of them."""
    made = replace(design(region(box(20, 20, 60, 26))), hangers=HANGERS)

    assert read_design(write(made), "/inputs/design").hangers == HANGERS
    assert b"hanger" not in write(replace(made, hangers=()))


@pytest.mark.parametrize(
    "damage",
    [
        (b'"keyhole"', b'"flat"'),
        (b'"depth_mm":9.525', b'"depth_mm":4.7'),
        (b'"length_mm":14.0', b'"length_mm":0.0'),
    ],
)
def test_a_damaged_hanger_is_refused(damage: tuple[bytes, bytes]) -> None:
    """Another bit, no lip, no length."""
    data = write_design(replace(design(region(box(20, 20, 60, 26))), hangers=HANGERS[:1]))
    assert damage[0] in data
    with pytest.raises(InputRejectedError, match="no design"):
        read_design(data.replace(*damage), "/inputs/design")
