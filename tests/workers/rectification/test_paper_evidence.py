"""What tells paper between four lines from a pattern, on pictures drawn here."""

from __future__ import annotations

import numpy as np
import pytest

from workers.rectification.paper_evidence import paper_inside, without_thin_lines

CORNERS = np.array([(60.0, 40.0), (240.0, 40.0), (240.0, 300.0), (60.0, 300.0)])


def picture(table: int = 40) -> np.ndarray:
    """Return a white sheet on a table, 360 rows of 300 pixels."""
    drawn = np.full((360, 300, 3), table, np.uint8)
    drawn[40:300, 60:240] = 220
    return drawn


@pytest.mark.parametrize("value", [10, 160])
def test_ruled_lines_go_and_the_sheets_edge_stays(value: int) -> None:
    """Lines three pixels wide, black or grey, from rim to rim: after it the sheet is as if unruled."""
    ruled = picture()
    for row in range(48, 300, 12):
        ruled[row : row + 3, 60:240] = value

    broad = without_thin_lines(ruled)

    assert (broad[50:290, 70:230] == 220).all()
    assert (broad[44:296, 50:58] == 40).all()


def test_joints_of_tiles_go() -> None:
    """Bright ones too: they are no thing's edge."""
    tiled = picture()
    tiled[::45] = 200
    assert (without_thin_lines(tiled)[:, 5:50] == 40).all()


def test_paper_goes_on_into_the_corners() -> None:
    """A sheet counts fully; with table in one of its corners less; in two of them less yet."""
    whole, one, two = picture(), picture(), picture()
    one[40:130, 180:240] = 40
    two[40:130, 60:240] = 40
    values = [paper_inside(CORNERS, drawn) for drawn in (whole, one, two)]
    assert values[0] == 1.0
    assert values[0] > values[1] > values[2]
    assert values[2] < 0.5


def test_stripes_between_four_lines_are_no_paper() -> None:
    """A cloth's stripes, 15 px wide, jump from place to place along a side."""
    cloth = picture()
    for row in range(40, 300, 30):
        cloth[row : row + 15, 60:240] = 90
    assert paper_inside(CORNERS, cloth) < 0.2


def test_things_and_a_shadow_over_the_edge_are_forgiven() -> None:
    """A thumb, a pen and half the sheet in shade."""
    covered = picture()
    covered[150:180, 55:90] = 120
    covered[290:310, 100:120] = 20
    covered[40:300, 150:240] = 140
    assert paper_inside(CORNERS, covered) > 0.9
