"""Where tabs stand: on straight runs, evenly, away from corners (trade.md P-04)."""

import numpy as np
import pytest
from shapely.geometry import Polygon, box

from tests.support.specimens import disc
from workers.toolpaths.circuit import Circuit
from workers.toolpaths.tabs import placed_tabs, tabs_on_both


def clockwise(shape: Polygon) -> Circuit:
    """A shape's outline, run clockwise."""
    return Circuit(np.array(shape.exterior.coords)[::-1])


ROUNDED = clockwise(box(20, 20, 380, 160).buffer(20, quad_segs=32))


def test_four_tabs_on_a_board_stand_on_its_four_sides() -> None:
    """The middles of the sides are the most even places of a rounded rectangle."""
    tabs = placed_tabs(ROUNDED, 4, 9.175, 15.0)
    places = ROUNDED.at(np.array(tabs.centres_mm))

    assert len(places) == 4
    on_sides = (
        np.isclose(places[:, 1], [[0], [180]], atol=1e-6) | np.isclose(places[:, 0], [[0], [400]], atol=1e-6)
    ).any(axis=0)
    assert on_sides.all()


@pytest.mark.parametrize("count", [1, 2, 3, 5, 6, 8])
def test_whole_lifted_stretches_lie_on_straight_runs(count: int) -> None:
    """Both ends of each stretch are on the side on which its middle is."""
    tabs = placed_tabs(ROUNDED, count, 9.175, 15.0)

    assert len(tabs.centres_mm) == count
    for first_mm, last_mm in tabs.spans_mm():
        start, middle, end = ROUNDED.at(np.array([first_mm, (first_mm + last_mm) / 2, last_mm]))
        assert np.allclose((start + end) / 2, middle, atol=1e-6)


def test_tabs_are_spread_out() -> None:
    """No gap is more than twice the even one."""
    tabs = placed_tabs(ROUNDED, 6, 9.175, 15.0)
    gaps_mm = np.diff([*tabs.centres_mm, tabs.centres_mm[0] + ROUNDED.length_mm])

    assert gaps_mm.max() < 2 * ROUNDED.length_mm / 6


def test_a_round_board_has_tabs_anywhere_evenly() -> None:
    """There is no straight run at all."""
    circuit = clockwise(disc(0, 0, 60))
    tabs = placed_tabs(circuit, 3, 9.0, 15.0)

    assert np.diff(tabs.centres_mm) == pytest.approx([circuit.length_mm / 3] * 2)


def test_tabs_that_do_not_fit_are_left_out() -> None:
    """A 30 mm square has no room for eight bridges of 20 mm."""
    tabs = placed_tabs(clockwise(box(0, 0, 30, 30)), 8, 20.0, 5.0)

    assert 0 < len(tabs.centres_mm) <= 4


def test_no_tabs_asked_for_are_none() -> None:
    """Zero is a number of tabs."""
    assert placed_tabs(ROUNDED, 0, 9.0, 15.0).centres_mm == ()


@pytest.mark.parametrize("other_mm", [18.0, 22.0], ids=["the other is shorter", "the other is longer"])
def test_tabs_on_two_circles_are_as_long_as_either_needs(other_mm: float) -> None:
    """Arcs of one angle are as long as their radii: the shorter way keeps the length that is asked for."""
    way, other = clockwise(disc(0, 0, 20.0)), clockwise(disc(0, 0, other_mm))
    asked = placed_tabs(way, 3, 10.0, 5.0)

    own, beside = tabs_on_both(asked, way, other)

    narrow_mm = min(20.0, other_mm)
    assert own.lifted_mm == pytest.approx(10.0 * 20.0 / narrow_mm, rel=2e-3)
    assert beside.lifted_mm == pytest.approx(10.0 * other_mm / narrow_mm, rel=2e-3)
    assert np.array(beside.centres_mm) == pytest.approx(np.array(own.centres_mm) * other_mm / 20, abs=0.02)
