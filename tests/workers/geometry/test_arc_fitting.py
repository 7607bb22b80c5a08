"""Arcs for runs of short pieces: closed forms of circles and helices, and what must stay as it is.

Source: Euclid III, 20 and 21 (inscribed angles); the sagitta R (1 - cos(turn / 2n)) of n equal chords.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from workers.geometry.arc_fitting import centre_of, fitted_arcs

Floats = NDArray[np.float64]

TOLERANCE_MM, SAGITTA_MM = 0.004, 0.009


def chords(radius_mm: float, turn_deg: float, count: int, rise_mm: float = 0.0) -> Floats:
    """Points on a circle about 30, 20 that begins at its right, or on a helix that rises evenly."""
    share = np.linspace(0.0, 1.0, count + 1)
    angle_rad = math.radians(turn_deg) * share
    return np.column_stack(
        [30 + radius_mm * np.cos(angle_rad), 20 + radius_mm * np.sin(angle_rad), rise_mm * share - 1]
    )


def found(points_mm: Floats, groups: list[int] | None = None) -> tuple[list[list[int]], list[float]]:
    """The arcs of a path: rows, and turns in degrees."""
    numbers = np.array(groups or [0] * (len(points_mm) - 1), np.int32)
    rows, turns_rad = fitted_arcs(points_mm, numbers, TOLERANCE_MM, SAGITTA_MM)
    return rows.tolist(), np.degrees(turns_rad).round(6).tolist()


@pytest.mark.parametrize("turn_deg", [90.0, -90.0, 170.0, -35.0])
def test_chords_of_a_circle_are_one_arc_of_its_turn(turn_deg: float) -> None:
    """Either way round, its centre where the circle's is."""
    points_mm = chords(10.0, turn_deg, 40)

    assert found(points_mm) == ([[0, 40]], [turn_deg])
    centre_mm = centre_of(points_mm[:1, :2], points_mm[-1:, :2], np.radians([turn_deg]))
    assert centre_mm[0] == pytest.approx([30, 20], abs=1e-9)


def test_a_full_circle_is_arcs_of_less_than_half() -> None:
    """G-60: at most half a circle a line, and no line that ends where it starts."""
    rows, turns_deg = found(chords(10.0, 360.0, 120))

    assert [row[0] for row in rows[1:]] == [row[1] for row in rows[:-1]]
    assert (rows[0][0], rows[-1][1]) == (0, 120)
    assert sum(turns_deg) == pytest.approx(360.0, abs=1e-4)
    assert max(turns_deg) < 180


def test_a_helix_that_sinks_evenly_is_an_arc() -> None:
    """The controller's helix; one that sinks by steps is none."""
    even = chords(10.0, 90.0, 40, rise_mm=-2.0)
    uneven = even.copy()
    uneven[20, 2] += 0.02

    assert found(even) == ([[0, 40]], [90.0])
    assert all(row[1] <= 20 or row[0] >= 20 for row in found(uneven)[0])


def test_corners_stay() -> None:
    """A square, a hexagon of 2 mm: their corners lie on a circle, the middles of their sides do not."""
    for sides in (4, 6):
        assert found(chords(2.0, 360.0, sides)) == ([], [])


def test_a_polygon_is_round_only_where_its_sagitta_says_so() -> None:
    """R 10: 40 chords of a quarter are off by 0.0019 mm, 10 chords by 0.031 mm."""
    assert 10 * (1 - math.cos(math.pi / 160)) < SAGITTA_MM < 10 * (1 - math.cos(math.pi / 40))
    assert found(chords(10.0, 90.0, 40))[0]
    assert not found(chords(10.0, 90.0, 10))[0]


def test_an_arc_ends_where_the_feed_changes() -> None:
    """Pieces of another number are another arc."""
    rows, turns_deg = found(chords(10.0, 90.0, 40), [0] * 12 + [1] * 28)

    assert rows == [[0, 12], [12, 40]]
    assert turns_deg == pytest.approx([27.0, 63.0])


def test_straight_lines_and_way_there_and_back_are_none() -> None:
    """Nothing turns, or it turns back on itself."""
    line_mm = np.column_stack([np.linspace(0, 50, 30), np.zeros(30), np.zeros(30)])
    there_mm = chords(10.0, 60.0, 20)

    assert found(line_mm) == ([], [])
    there_and_back = found(np.vstack([there_mm, there_mm[-2::-1]]))
    assert there_and_back == ([[0, 20], [20, 40]], [60.0, -60.0])


@settings(deadline=None, max_examples=80)
@given(st.floats(0.5, 200), st.floats(15, 350), st.booleans(), st.integers(0, 2**31), st.floats(0, 0.002))
def test_no_point_is_farther_than_the_tolerance(
    radius_mm: float, turn_deg: float, clockwise: bool, seed: int, noise_mm: float
) -> None:
    """Measured from the circle that ends and turn alone describe; points shaken by up to 2 um."""
    count = max(8, int(abs(turn_deg)))
    shaken = np.random.default_rng(seed).uniform(-noise_mm, noise_mm, (count + 1, 3))
    points_mm = chords(radius_mm, -turn_deg if clockwise else turn_deg, count) + shaken
    rows, turns_rad = fitted_arcs(points_mm, np.zeros(count, np.int32), TOLERANCE_MM, SAGITTA_MM)

    for (first, last), turn_rad in zip(rows.tolist(), turns_rad, strict=True):
        ends_mm = points_mm[[first, last], :2]
        centre_mm = centre_of(ends_mm[:1], ends_mm[1:], np.array([turn_rad]))[0]
        size_mm = math.dist(ends_mm[0], centre_mm)
        off_mm = np.linalg.norm(points_mm[first : last + 1, :2] - centre_mm, axis=1) - size_mm
        assert np.abs(off_mm).max() <= TOLERANCE_MM + 1e-9
        assert (turn_rad < 0) == clockwise
