"""Grooves: depth by radius, ends exactly at the limits."""

import numpy as np
import pytest
from shapely.geometry import box

from tests.support.specimens import disc, region, vee
from workers.geometry.medial_axis import medial_axis
from workers.geometry.offsets import inset
from workers.toolpaths.groove import axis_strands, dots, floor_middles, groove_of, groove_strands
from workers.toolpaths.strands import length_mm

RECTANGLE = region(box(0, 0, 60, 20))


def test_without_a_limit_the_axis_is_cut_to_its_radius() -> None:
    """V-20 and V-50 of trade.md: 17.320508 mm deep, 129.442719 mm of axis in space."""
    lines = axis_strands(medial_axis(RECTANGLE), groove_of(vee(60), 30.0))

    assert lines.points_mm[:, 2].min() == pytest.approx(-17.320508, abs=1e-5)
    assert sum(length_mm(line) for line in lines.lines()) == pytest.approx(129.442719, abs=1e-4)


def test_with_a_limit_spurs_end_on_the_wall_pass() -> None:
    """V-50 with D = 6: four spurs of 7.745967 mm and an inset outline of perimeter 132.287187 mm."""
    groove = groove_of(vee(60), 6.0)
    axis = medial_axis(RECTANGLE)
    spurs = axis_strands(axis, groove)
    net = groove_strands(axis, inset(RECTANGLE, groove.full_radius_mm), groove, region())

    assert len(spurs) == 4
    assert [length_mm(line) for line in spurs.lines()] == pytest.approx([7.745967] * 4, abs=1e-4)
    total_mm = sum(length_mm(line) for line in net.lines())
    assert total_mm == pytest.approx(132.287187 + 4 * 7.745967, abs=0.01)
    ends = {tuple(np.round(line[row], 4)) for line in net.lines() for row in (0, -1)}
    assert {(3.4641, 3.4641, -6.0), (56.5359, 16.5359, -6.0)} <= ends


def test_limits_are_met_exactly_not_nearly() -> None:
    """Clamping after simplifying left a tenth of a millimetre uncut; splitting leaves none."""
    groove = groove_of(vee(90, tip_mm=0.2), 2.0)
    lines = axis_strands(medial_axis(RECTANGLE), groove)

    for line in lines.lines():
        assert sorted((line[0, 2], line[-1, 2])) == [-2.0, 0.0]


def test_a_tip_flat_takes_its_radius_off_the_depth() -> None:
    """V-01: (w - t) / 2k; a 20 mm wide rectangle with a 0.5 mm tip at 60 degrees."""
    lines = axis_strands(medial_axis(RECTANGLE), groove_of(vee(60, tip_mm=0.5), 30.0))

    assert lines.points_mm[:, 2].min() == pytest.approx(-(20 - 0.5) / (2 * 0.577350269), abs=1e-5)


def test_round_dots_are_plunged() -> None:
    """A dot's axis is one point; too large for the limit it has a wall instead, too small nothing."""
    axis = medial_axis(region(disc(0, 0, 1), disc(10, 0, 5), disc(20, 0, 0.04)))

    [dot_mm] = dots(axis, groove_of(vee(90, tip_mm=0.1), 3.0))

    assert dot_mm == pytest.approx([0, 0, -0.95], abs=1e-4)


def test_middles_of_floors_start_where_the_limit_is_met() -> None:
    """The spine and what is left of the spurs: 40 mm and four times (10 - 6k) sqrt 2 in plan."""
    middles = floor_middles(medial_axis(RECTANGLE), groove_of(vee(60), 6.0))
    plan_mm = sum(length_mm(line[:, :2]) for line in middles.lines())

    assert plan_mm == pytest.approx(40 + 4 * (10 - 3.464102) * 2**0.5, abs=1e-3)


def test_ink_thinner_than_the_tip_is_nothing() -> None:
    """There is no depth at which the bit would fit."""
    assert (
        len(axis_strands(medial_axis(region(box(0, 0, 50, 0.3))), groove_of(vee(60, tip_mm=0.5), 3.0))) == 0
    )
