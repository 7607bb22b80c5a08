"""Openings lie clear of all else on the board, and travel in the design's files."""

from dataclasses import replace

import pytest
from shapely.geometry import box

from tests.support.specimens import board, design, lettering, region
from workers.errors import InputRejectedError, ParameterOutOfRangeError
from workers.layout.compose import compose
from workers.layout.design_file import draw_design, read_design, write_design
from workers.values.design import Hole, Opening, OpeningShape

BOARD = board(200, 100, 12)
TEXT = lettering("QUAY", x_mm=100, y_mm=40, align="centre")
KEYHOLE = Opening(
    shape=OpeningShape.KEYHOLE, x_mm=100, y_mm=80, length_mm=12, width_mm=4, head_mm=9, turn_deg=15
)
SLOT = Opening(shape=OpeningShape.SLOT, x_mm=30, y_mm=50, length_mm=20, width_mm=6)


def test_openings_that_fit_are_in_the_design() -> None:
    """As they were asked for."""
    assert compose(BOARD, [], [TEXT], None, [], [KEYHOLE, SLOT]).openings == (KEYHOLE, SLOT)


@pytest.mark.parametrize(
    ("opening", "says"),
    [
        (replace(KEYHOLE, y_mm=90), "opening 1 leaves 0.0 mm to the board's edge"),
        (replace(KEYHOLE, y_mm=52), "to 'QUAY'"),
        (replace(SLOT, x_mm=9.5), "to the board's edge"),
        (replace(SLOT, y_mm=15), "to hole 1"),
    ],
)
def test_an_opening_in_the_way_is_refused_with_what_it_meets(opening: Opening, says: str) -> None:
    """The material's thinnest wall must stay all round it: 0.8 mm of basswood."""
    with pytest.raises(ParameterOutOfRangeError, match=says) as refused:
        compose(BOARD, [], [TEXT], None, [Hole(x_mm=30, y_mm=10, diameter_mm=5)], [opening])
    assert refused.value.field == "/inputs/openings/0"


def test_openings_keep_clear_of_each_other() -> None:
    """The second one names the first."""
    with pytest.raises(ParameterOutOfRangeError, match=r"opening 2 leaves 0\.0 mm to opening 1"):
        compose(BOARD, [], [TEXT], None, [], [SLOT, replace(SLOT, turn_deg=90.0)])


@pytest.mark.parametrize("write", [write_design, draw_design], ids=["JSON", "SVG"])
def test_openings_come_back_from_a_file(write: object) -> None:
    """Both files carry them; a design without any has the same bytes as before there were openings."""
    made = replace(design(region(box(20, 20, 60, 26))), openings=(KEYHOLE, SLOT))

    assert read_design(write(made), "/inputs/design").openings == (KEYHOLE, SLOT)  # type: ignore[operator]
    assert b"openings" not in write(replace(made, openings=()))  # type: ignore[operator]


@pytest.mark.parametrize("damage", [(b'"keyhole"', b'"star"'), (b'"head_mm":9.0', b'"head_mm":-9.0')])
def test_a_damaged_opening_is_refused(damage: tuple[bytes, bytes]) -> None:
    """No such shape, no such size."""
    made = replace(design(region(box(20, 20, 60, 26))), openings=(KEYHOLE,))

    with pytest.raises(InputRejectedError):
        read_design(write_design(made).replace(*damage), "/inputs/design")
