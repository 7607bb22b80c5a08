"""Time of motions against worked cases.

Sources: standard kinematics of uniform acceleration (M-01 to M-10, worked by hand; M-09 has its
inputs from a public calculator); junction deviation as published by S. K. Jeon (2011, from
memory; the circle tangent to both motions that passes the corner at the deviation gives the
same formula); M-24 is each axis's own limit.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.specimens import MACHINE, motions
from workers.simulation.duration import corner_speeds_mm_per_s, duration_s, planned_s, trapezoid_s

ROUTER = replace(
    MACHINE,
    max_feed_mm_per_min=3000,
    max_plunge_mm_per_min=600,
    traverse_mm_per_min=6000,
    traverse_z_mm_per_min=1200,
    acceleration_mm_per_s2=500,
    junction_deviation_mm=0.01,
)


@pytest.mark.parametrize(
    ("length", "speed", "up", "down", "entry", "leave", "seconds"),
    [
        (100, 50, 500, 500, 0, 0, 2.100000),  # M-01
        (2, 50, 500, 500, 0, 0, 0.126491),  # M-02, a triangle
        (5, 50, 500, 500, 0, 0, 0.200000),  # M-03, exactly on the boundary
        (10, 50, 500, 500, 0, 0, 0.300000),  # M-04
        (300, 100, 200, 200, 0, 0, 3.500000),  # M-05
        (0.5, 50, 500, 500, 0, 0, 0.063246),  # M-06
        (50, 50, 500, 500, 10, 0, 1.082000),  # M-07
        (1, 50, 500, 500, 10, 10, 0.057980),  # M-08
        (100, 1e9, 2, 4, 0, 0, 12.247449),  # M-09, no limit
        (100, 12, 2, 4, 0, 0, 12.833333),  # M-10
    ],
)
def test_a_single_motion_takes_the_worked_time(
    length: float, speed: float, up: float, down: float, entry: float, leave: float, seconds: float
) -> None:
    """M-01 to M-10."""
    assert trapezoid_s(
        float(length), float(speed), float(up), float(down), float(entry), float(leave)
    ) == pytest.approx(seconds, abs=1e-6)


@pytest.mark.parametrize(
    ("between_deg", "speed"),
    [(30, 1.321360), (60, 2.236068), (90, 3.474344), (120, 5.685113), (135, 7.790081),
     (150, 11.905406), (170, 36.179500)],
)  # fmt: skip
def test_corner_speeds_are_those_of_the_tangent_circle(between_deg: float, speed: float) -> None:
    """Table of part 6: deviation 0.01 mm, acceleration 500 mm/s2, by the angle between the motions."""
    turn = math.pi - math.radians(between_deg)
    directions = np.array([[1, 0, 0], [math.cos(turn), math.sin(turn), 0]])
    assert corner_speeds_mm_per_s(directions, 500, 0.01)[0] == pytest.approx(speed, rel=1e-6)


def test_the_corner_speed_scales_with_deviation_and_unit() -> None:
    """M-20: deviation 0.013 gives 3.961362 mm/s; M-21: 0.0005 in at 20 in/s2 gives 0.155377 in/s."""
    square = np.array([[1.0, 0, 0], [0, 1, 0]])
    assert corner_speeds_mm_per_s(square, 500, 0.013)[0] == pytest.approx(3.961362, rel=1e-6)
    assert corner_speeds_mm_per_s(square, 20, 0.0005)[0] == pytest.approx(0.155377, rel=1e-5)


def test_a_square_takes_the_worked_time() -> None:
    """M-22: 20 mm sides from rest to rest, three corners at 3.474344 mm/s: 1.959756 s."""
    square = [(0, 0, 0), (20, 0, 0), (20, 20, 0), (0, 20, 0), (0, 0, 0)]
    assert duration_s(motions(*square, feed_mm_per_min=3000), ROUTER) == pytest.approx(1.959756, abs=1e-6)


def test_straight_on_is_one_motion() -> None:
    """A line cut into a hundred pieces takes as long as whole, M-01."""
    pieces = [(float(x), 0.0, 0.0) for x in range(101)]
    assert duration_s(motions(*pieces, feed_mm_per_min=3000), ROUTER) == pytest.approx(2.1, abs=1e-6)


def test_a_reversal_stops() -> None:
    """There and back is twice M-01."""
    there_and_back = motions((0, 0, 0), (100, 0, 0), (0, 0, 0), feed_mm_per_min=3000)
    assert duration_s(there_and_back, ROUTER) == pytest.approx(4.2)


def test_braking_begins_before_a_row_of_short_motions() -> None:
    """The last of many short pieces is entered no faster than it can be braked from."""
    lengths, speeds, accelerations = np.full(10, 0.1), np.full(10, 50.0), np.full(10, 500.0)
    straight = np.full(9, np.inf)
    assert planned_s(lengths, speeds, accelerations, straight) == pytest.approx(
        2 * math.sqrt(1 / 500), abs=1e-9
    )


def test_an_axis_sets_the_limit_of_a_slanting_motion() -> None:
    """M-24: speed <= min over axes of v_i / |u_i|; with 3-4 legs Z at 10 mm/s allows 16.667 mm/s."""
    slanting = motions((0, 0, 0), (40, 0, -30), feed_mm_per_min=3000)
    acceleration = 500 / 0.8
    speed = 10 / 0.6
    assert duration_s(slanting, ROUTER) == pytest.approx(50 / speed + speed / acceleration, abs=1e-9)


def test_traverses_go_at_the_machines_speed_and_dwells_count() -> None:
    """300 mm at 100 mm/s and 500 mm/s2: 3 + 0.2 s; and 2.5 s of dwell."""
    traverse = motions((0, 0, 5), (300, 0, 5), feed_mm_per_min=0, dwell_s=2.5)
    assert duration_s(traverse, ROUTER) == pytest.approx(5.7)


def test_nothing_takes_no_time() -> None:
    """A program that stays where it is."""
    assert duration_s(motions((0, 0, 5), (0, 0, 5), feed_mm_per_min=0), ROUTER) == 0
