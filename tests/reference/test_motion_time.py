"""Time of motions against worked cases.

Sources: standard kinematics of uniform acceleration (M-01 to M-10, worked by hand; M-09 has its
inputs from a public calculator); junction deviation as published by S. K. Jeon (2011, from
memory; the circle tangent to both motions that passes the corner at the deviation gives the
same formula); M-24 is each axis's own limit. M-11 to M-15 are of limited jerk (test_limited_jerk.py). M-27 is
a whole file of a report, of which no text is kept here.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.specimens import MACHINE, board, mill, motions, vee
from workers.interpretation import arcs
from workers.interpretation.interpreter import read_program
from workers.simulation.duration import corner_speeds_mm_per_s, duration_s, planned_s, trapezoid_s
from workers.values.program import Program
from workers.verification.verify import verify

ROUTER = replace(
    MACHINE,
    max_feed_mm_per_min=3000,
    max_plunge_mm_per_min=600,
    traverse_mm_per_min=6000,
    traverse_z_mm_per_min=1200,
    acceleration_mm_per_s2=500,
    junction_deviation_mm=0.01,
)
LONG_MM = np.array([100.0, 100.0])


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
    assert corner_speeds_mm_per_s(directions, LONG_MM, 500, 0.01)[0] == pytest.approx(speed, rel=1e-6)


def test_the_corner_speed_scales_with_deviation_and_unit() -> None:
    """M-20: deviation 0.013 gives 3.961362 mm/s; M-21: 0.0005 in at 20 in/s2 gives 0.155377 in/s."""
    square = np.array([[1.0, 0, 0], [0, 1, 0]])
    assert corner_speeds_mm_per_s(square, LONG_MM, 500, 0.013)[0] == pytest.approx(3.961362, rel=1e-6)
    assert corner_speeds_mm_per_s(square, LONG_MM, 20, 0.0005)[0] == pytest.approx(0.155377, rel=1e-5)


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


@pytest.mark.parametrize(
    ("radius_mm", "feed", "speed"), [(5, 9000, 50.0), (1, 9000, 500**0.5), (5, 1200, 20)]
)
def test_an_arc_is_gone_round_as_fast_as_its_radius_allows(
    radius_mm: float, feed: float, speed: float
) -> None:
    """M-23: v = sqrt(a r), r 5 and a 500 give 50 mm/s; a slower feed is kept.

    Within 3 %: from corner to corner of the chords there is room to speed up a little. Two lengths of arc are
    compared, as getting up to speed takes its own time.
    """
    router = replace(ROUTER, max_feed_mm_per_min=9000)
    rounds = [
        duration_s(read_program(f"G21 G90 F{feed}\nG0 X0 Y0 Z0\n" + turns * turn + "M2", "arc"), router)
        for turn in [f"G3 X0 Y0 I{radius_mm}\n"]
        for turns in (3, 5)
    ]
    assert rounds[1] - rounds[0] == pytest.approx(2 * math.tau * radius_mm / speed, rel=0.03)


@pytest.mark.parametrize(("radius_mm", "sag_mm", "count"), [(10, 0.01, 71), (50, 0.01, 158), (10, 0.05, 32)])
def test_the_chords_of_a_circle_are_as_many_as_their_sag_asks(
    radius_mm: float, sag_mm: float, count: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """M-25: step = 2 acos(1 - e / r), n = ceil(2 pi / step); 71 chords of r 10 sag 0.009788 mm."""
    monkeypatch.setattr(arcs, "CHORD_TOLERANCE_MM", sag_mm)
    trace = read_program(f"G21 G90 F9\nG0 X0 Y0 Z0\nG2 X0 Y0 I{radius_mm}\nM2", "circle")
    chords = np.linalg.norm(trace.ends_mm[1:] - trace.starts_mm[1:], axis=1)
    assert len(chords) == count
    if count == 71:
        assert radius_mm - math.sqrt(radius_mm**2 - chords[0] ** 2 / 4) == pytest.approx(0.009788, abs=1e-6)


def test_a_helix_takes_as_long_as_it_is() -> None:
    """M-26: r 5, two turns, 6 mm: 63.117682 mm along the helix, at the feed along it (G-28)."""
    turn = "G3 X0 Y0 I5 Z{}\n"
    text = "G21 G90 F60\nG0 X0 Y0 Z0\n" + turn.format(3) + turn.format(6) + "M2"
    trace = read_program(text, "helix")
    lengths_mm = np.linalg.norm(trace.ends_mm - trace.starts_mm, axis=1)
    assert lengths_mm.sum() == pytest.approx(63.117682, rel=1e-4)  # chords of 0.001 mm sag
    assert duration_s(trace, ROUTER) == pytest.approx(63.117682, rel=1e-3)


def test_minutes_are_told_for_each_bit_and_in_all() -> None:
    """The trapezoid of M-01 for one program, of M-04 for the other, and dwells of both: 2.1 + 0.3 + 2 s."""
    text = "G21 G90 F3000\nS9000 M3\nG4 P1\nG1 X{} Y0 Z0\nM2"
    programs = [
        Program(name=bit.name, cutter=bit, text=text.format(length))
        for bit, length in ((vee(60), 100), (mill(), 10))
    ]
    proof = verify(programs, board(100, 20, 6), ROUTER).proof
    assert [record.seconds_s for record in proof.programs] == pytest.approx([3.1, 1.3])
    assert proof.seconds_s == pytest.approx(4.4)


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
