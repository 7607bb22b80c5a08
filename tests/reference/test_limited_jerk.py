"""Time of motions of limited jerk against worked cases, and against jerk summed up in small steps.

Sources: standard kinematics; M-11 to M-15 are trade.md part 6, derived there and re-checked by their
distance. Nonzero end speeds have no worked case: a march in small steps of time, by the definition of jerk,
stands for it.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.support.specimens import MACHINE, motions
from workers.interpretation.interpreter import read_program
from workers.simulation.duration import duration_s
from workers.simulation.limited_jerk import change_mm, change_s, reach, s_curve_s

Floats = NDArray[np.float64]

ROUTER = replace(
    MACHINE,
    max_feed_mm_per_min=3000,
    traverse_mm_per_min=6000,
    acceleration_mm_per_s2=500,
    junction_deviation_mm=0.01,
)
STEPS = 3000
MOVES = 24
PEAKS = 60


@pytest.mark.parametrize(
    ("length_mm", "jerk", "seconds"),
    [
        (100, 5000, 2.200000),  # M-11
        (20, 5000, 0.600000),  # M-12
        (2, 5000, 0.233921),  # M-13, no cruise, the acceleration reached
        (0.1, 5000, 0.086177),  # M-14, the acceleration never reached
        (100, 50000, 2.110000),  # M-15
    ],
)
def test_a_motion_from_rest_to_rest_takes_the_worked_time(
    length_mm: float, jerk: float, seconds: float
) -> None:
    """M-11 to M-15, at 50 mm/s and 500 mm/s2; alone, and as a program of a machine that states its jerk."""
    alone_s = s_curve_s(float(length_mm), 50.0, 500.0, float(jerk), 0.0, 0.0)
    program_s = duration_s(
        motions((0, 0, 0), (length_mm, 0, 0), feed_mm_per_min=3000), replace(ROUTER, jerk_mm_per_s3=jerk)
    )

    assert alone_s == pytest.approx(seconds, abs=1e-6)
    assert program_s == pytest.approx(seconds, abs=1e-6)


@pytest.mark.parametrize(("length_mm", "peak"), [(2, 17.099759), (0.1, 2.320794)])
def test_the_peak_of_half_the_way_is_the_worked_one(length_mm: float, peak: float) -> None:
    """M-13 and M-14: from rest, half of the way goes to the peak."""
    assert reach(0.0, length_mm / 2, 500.0, 5000.0) == pytest.approx(peak, abs=1e-6)


@pytest.mark.parametrize(
    ("entry", "length_mm"), [(0.0, 3.0), (0.0, 1e-4), (1e-9, 0.02), (7.0, 0.5), (40.0, 30.0)]
)
def test_what_a_way_allows_takes_all_of_it(entry: float, length_mm: float) -> None:
    """Both roots, of the quadratic and of the cubic, put back into the way they came from."""
    leave = reach(entry, length_mm, 500.0, 5000.0)

    assert change_mm(entry, leave, 500.0, 5000.0) == pytest.approx(length_mm, rel=1e-9)


def marched(entries: Floats, leaves: Floats, accelerations: Floats, jerks: Floats) -> tuple[Floats, Floats]:
    """Return seconds and way of a change of speed up, summed up in small steps.

    The acceleration grows by the jerk to its limit, and falls again when what it has left to give, its
    square over twice the jerk, is all that is missing.
    """
    gains = leaves - entries
    step_s = (
        gains / accelerations + np.minimum(accelerations / jerks, 2 * np.sqrt(gains / jerks)) + 1e-9
    ) / STEPS
    speeds, now = entries.copy(), np.zeros_like(entries)
    seconds, way, falls = np.zeros_like(entries), np.zeros_like(entries), np.zeros(entries.shape, np.bool_)
    for _ in range(2 * STEPS):
        moving = leaves - speeds > 1e-12
        rising = np.minimum(now + jerks * step_s, accelerations)
        falls = falls | (leaves - speeds - (now + rising) / 2 * step_s <= rising**2 / (2 * jerks))
        after = np.where(falls, np.maximum(now - jerks * step_s, 0.0), rising)
        gained = (now + after) / 2 * step_s
        ends = falls & (after == 0.0)
        gained = np.where(ends, leaves - speeds, gained) * moving
        way += (speeds + gained / 2) * step_s * moving
        seconds += step_s * moving
        speeds, now = speeds + gained, after
    return seconds, way


def test_changes_of_speed_are_those_of_small_steps() -> None:
    """Time and way of random changes, within the 0.3 % of so many steps."""
    dice = np.random.default_rng(3)
    entries, gains = dice.uniform(0, 40, MOVES), 10 ** dice.uniform(-1, 1.8, MOVES)
    accelerations, jerks = dice.uniform(100, 900, MOVES), 10 ** dice.uniform(3, 5, MOVES)

    seconds, way = marched(entries, entries + gains, accelerations, jerks)

    told = np.array([change_s(*each) for each in zip(gains, accelerations, jerks, strict=True)])
    told_mm = [change_mm(*each) for each in zip(entries, entries + gains, accelerations, jerks, strict=True)]
    assert 3 < (gains * jerks < accelerations**2).sum() < MOVES - 3, "both ways to change are among them"
    assert told == pytest.approx(seconds, rel=3e-3)
    assert told_mm == pytest.approx(way, rel=3e-3)


def test_motions_between_any_speeds_are_those_of_small_steps() -> None:
    """The one of many marched peaks that fills the way; or the limit, and the rest of the way at it."""
    dice = np.random.default_rng(5)
    ends = dice.uniform(0, 30, (MOVES, 2))
    accelerations, jerks = dice.uniform(100, 900, MOVES), 10 ** dice.uniform(3, 5, MOVES)
    limits = ends.max(axis=1) + 10 ** dice.uniform(0, 1.6, MOVES)
    shares = np.linspace(0, 1, PEAKS)[:, None]
    peaks = ends.max(axis=1) + shares * (limits - ends.max(axis=1))
    ups, downs = (marched(*np.broadcast_arrays(end, peaks, accelerations, jerks)) for end in ends.T)
    ramps_s, ramps_mm = ups[0] + downs[0], ups[1] + downs[1]
    lengths_mm = ramps_mm[0] + dice.uniform(0, 1.5, MOVES) * (ramps_mm[-1] - ramps_mm[0])

    filled = [
        np.interp(length, ramps_mm[:, move], ramps_s[:, move])
        + max(length - ramps_mm[-1, move], 0) / limits[move]
        for move, length in enumerate(lengths_mm)
    ]
    told = [
        s_curve_s(length, limit, acceleration, jerk, *pair)
        for length, limit, acceleration, jerk, pair in zip(
            lengths_mm, limits, accelerations, jerks, ends, strict=True
        )
    ]
    assert sum(length > whole for length, whole in zip(lengths_mm, ramps_mm[-1], strict=True)) in range(
        3, MOVES - 3
    )
    assert told == pytest.approx(filled, rel=1e-2)


def test_straight_on_is_one_motion() -> None:
    """A line cut into a hundred pieces takes as long as whole, M-11."""
    pieces = [(float(x), 0.0, 0.0) for x in range(101)]
    router = replace(ROUTER, jerk_mm_per_s3=5000)
    assert duration_s(motions(*pieces, feed_mm_per_min=3000), router) == pytest.approx(2.2, abs=1e-6)


def test_without_end_of_jerk_it_is_the_trapezoid() -> None:
    """At ten million times the jerk of M-11, M-22's square with corners takes its worked 1.959756 s."""
    square = [(0, 0, 0), (20, 0, 0), (20, 20, 0), (0, 20, 0), (0, 0, 0)]
    router = replace(ROUTER, jerk_mm_per_s3=5e10)
    assert duration_s(motions(*square, feed_mm_per_min=3000), router) == pytest.approx(1.959756, abs=1e-5)


@pytest.mark.parametrize("jerk", [3e3, 2e4, 1e6])
def test_limited_jerk_never_saves_time(jerk: float) -> None:
    """Over corners, arcs, lifts and traverses: longer than without, by no more than a stop at each costs."""
    text = "G21 G90\nG0 Z5\nG0 X10 Y0\nS9000 M3\nG1 Z-1 F400\nF2400\n" + "".join(
        f"G1 X{30 + 5 * math.sin(turn):.3f} Y{turn:.3f}\n" for turn in np.linspace(0, 20, 80).tolist()
    )
    trace = read_program(text + "G91 G3 X-20 Y0 I-10 J0\nG90 G0 Z5\nG0 X0 Y0\nM2", "wave")

    plain_s, rounded_s = (duration_s(trace, replace(ROUTER, jerk_mm_per_s3=limit)) for limit in (None, jerk))
    stops_s = len(trace.lines) * ROUTER.acceleration_mm_per_s2 / jerk
    assert plain_s < rounded_s < plain_s + stops_s + 3 * len(trace.lines) * jerk ** (-1 / 3)
