"""Lines in one array: cut at heights, parted at places."""

import numpy as np
import pytest

from workers.toolpaths.strands import (
    Strands,
    between,
    joined,
    level,
    parted_at,
    simplified_strands,
    strands_of,
)

SLOPE = np.array([[0.0, 0, 0], [10, 0, -10]])
VEE = np.array([[0.0, 5, 0], [5, 5, -5], [10, 5, 0]])


def lines(strands: Strands) -> list[list[list[float]]]:
    """The points of strands, as plain lists."""
    return [line.tolist() for line in strands.lines()]


def test_a_slope_is_cut_exactly_at_both_heights() -> None:
    """From -2 to -6 a line that falls one in one runs from x = 2 to x = 6."""
    assert lines(between(strands_of([SLOPE]), -6, -2)) == [[[2, 0, -2], [6, 0, -6]]]


def test_what_leaves_and_comes_back_is_two_lines() -> None:
    """A V cut above its point falls apart."""
    found = between(strands_of([SLOPE, VEE]), -3, 0)

    assert lines(found) == [
        [[0, 0, 0], [3, 0, -3]],
        [[0, 5, 0], [3, 5, -3]],
        [[7, 5, -3], [10, 5, 0]],
    ]


def test_a_level_line_at_a_limit_belongs() -> None:
    """A stroke of just the limit's width is cut at the limit."""
    flat = np.array([[0.0, 0, -3], [9, 0, -3]])

    assert lines(between(strands_of([flat]), -3, 0)) == [flat.tolist()]


def test_nothing_stays_nothing() -> None:
    """No lines, or none at these heights."""
    assert len(between(strands_of([]), -1, 0)) == 0
    assert len(between(strands_of([SLOPE]), 1, 2)) == 0
    assert len(joined([])) == 0


def test_a_depth_pass_begins_where_the_last_one_ended_and_is_flat_below() -> None:
    """From -2, but not below -4: the rest of the slope runs at -4."""
    found = level(strands_of([SLOPE]), -2, -4)

    assert lines(found) == [[[2, 0, -2], [4, 0, -4], [10, 0, -4]]]


def test_places_part_a_line_and_lie_on_it() -> None:
    """Two places, given in the wrong order, make three lines that share them."""
    line = np.array([[0.0, 0, -1], [10, 0, -1], [10, 10, -1]])
    places = np.array([[10.0, 5.001, -1], [4, 0.001, -1]])

    found = parted_at(strands_of([line]), places, 0.01)

    assert lines(found) == [
        [[0, 0, -1], [4, 0.001, -1]],
        [[4, 0.001, -1], [10, 0, -1], [10, 5.001, -1]],
        [[10, 5.001, -1], [10, 10, -1]],
    ]


def test_places_out_of_reach_part_nothing() -> None:
    """A place 1 mm away is another line's."""
    line = np.array([[0.0, 0, 0], [10, 0, 0]])

    assert lines(parted_at(strands_of([line]), np.array([[5.0, 1, 0]]), 0.01)) == [line.tolist()]


def test_parting_keeps_the_lines_after_it_whole() -> None:
    """The second line's rows move, its points do not."""
    found = parted_at(strands_of([SLOPE, VEE]), np.array([[5.0, 0, -5]]), 0.01)

    assert lines(found) == [[[0, 0, 0], [5, 0, -5]], [[5, 0, -5], [10, 0, -10]], VEE.tolist()]


def test_simplifying_keeps_lines_apart() -> None:
    """Each line keeps its own ends."""
    straight = np.column_stack([np.linspace(0, 9, 10), np.zeros(10), np.zeros(10)])

    found = simplified_strands(strands_of([straight, VEE]), 0.01)

    assert [len(line) for line in found.lines()] == [2, 3]


def test_points_cannot_be_changed() -> None:
    """Strands are values."""
    with pytest.raises(ValueError, match="read-only"):
        strands_of([SLOPE]).points_mm[0, 0] = 1


def test_a_deviation_in_depth_counts_by_its_weight() -> None:
    """A point 0.008 mm too deep stays at 0.005 mm, and goes where the edge moves by half."""
    line = strands_of([np.array([[0.0, 0, -1], [10, 0, -1.008], [20, 0, -1]])])

    assert len(simplified_strands(line, 0.005).points_mm) == 3
    assert len(simplified_strands(line, 0.005, depth_weight=0.5).points_mm) == 2
