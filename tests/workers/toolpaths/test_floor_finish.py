"""What a V-bit does on floors."""

import numpy as np
import pytest
from shapely.geometry import MultiPolygon, box

from tests.support.specimens import region
from workers.geometry.medial_axis import medial_axis
from workers.toolpaths.floor_finish import (
    attached,
    finishing_cover,
    finishing_runs,
    floor_finish,
    rest_margin_mm,
    step_between_mm,
)
from workers.toolpaths.groove import Groove, floor_middles
from workers.toolpaths.rings import Room
from workers.toolpaths.strands import length_mm, strands_of
from workers.values.region import Region

SHARP = Groove(slope=0.577350269, tip_radius_mm=0.0, depth_mm=2.0)
FLAT = Groove(slope=1.0, tip_radius_mm=0.25, depth_mm=2.0)
NOTHING = strands_of([])
WALLS = region(box(0, 0, 20, 10))
INK = region(box(-2.25, -2.25, 22.25, 12.25))
MIDDLES = floor_middles(medial_axis(INK), FLAT)


def test_steps_leave_the_ridge_that_the_handbook_formula_says() -> None:
    """V-07: a pointed 60 degree bit stepped 0.2 mm leaves 0.173205 mm; a flat tip adds its width."""
    assert step_between_mm(SHARP, 0.173205) == pytest.approx(0.2, abs=1e-5)
    assert step_between_mm(FLAT, 0.0) == 0.5


def test_without_a_mill_the_whole_floor_is_covered() -> None:
    """The way is about area over step."""
    finish = floor_finish(WALLS, None, FLAT)
    cover = finishing_cover(finish, MIDDLES, FLAT)
    runs = finishing_runs(finish, cover, 2.0, FLAT, 100.0)

    way_mm = sum(length_mm(run) for run in runs)
    assert way_mm == pytest.approx(200 / finish.step_mm, rel=0.15)
    assert {depth for run in runs for depth in run[:, 2].tolist()} == {-2.0}


def test_beside_a_mill_only_corners_are_left() -> None:
    """V-08: a radius of 1.5875 leaves 0.540830 mm2 in each square corner."""
    milled = Region(MultiPolygon([box(1.5875, 1.5875, 18.4125, 8.4125).buffer(1.5875, quad_segs=128)]))

    rest = floor_finish(WALLS, milled, SHARP).area

    assert rest.polygons.area == pytest.approx(4 * 0.540830, rel=0.01)


def test_the_margin_is_half_a_step() -> None:
    """A ring covers half a step to each side, the mill's edge nothing beyond itself."""
    assert rest_margin_mm(FLAT) == pytest.approx(floor_finish(WALLS, WALLS, FLAT).step_mm / 2)


def test_earlier_passes_are_coarse() -> None:
    """What they leave is less than half a pass for the next."""
    finish = floor_finish(WALLS, None, FLAT)
    cover = finishing_cover(finish, MIDDLES, FLAT)
    rough, fine = (
        sum(length_mm(run) for run in finishing_runs(finish, cover, pass_mm, FLAT, 100.0))
        for pass_mm in (1.0, 2.0)
    )

    assert 0 < rough < 0.7 * fine


def test_runs_hang_in_the_net_by_both_ends() -> None:
    """Two links to the wall pass, which is parted there; each leads on in the run's own direction."""
    wall = np.array([[0.0, 0, -2], [20, 0, -2], [20, 10, -2], [0, 10, -2], [0, 0, -2]])
    run = np.array([[5.0, 1, -2], [9, 1, -2]])

    net = attached(strands_of([wall]), [run], Room(WALLS), 5.0)

    ends = [tuple(line[row].round(9).tolist()) for line in net.lines() for row in (0, -1)]
    assert ends.count((4.2, 0.0, -2.0)) == 3
    assert ends.count((9.8, 0.0, -2.0)) == 3


def test_no_link_leaves_the_floor() -> None:
    """A run beyond a gap stays by itself."""
    wall = np.array([[0.0, 0, -2], [20, 0, -2]])
    run = np.array([[5.0, 15, -2], [9, 15, -2]])

    assert len(attached(strands_of([wall]), [run], Room(WALLS), 50.0)) == 2


def test_no_floor_needs_no_finish() -> None:
    """An empty area covers itself."""
    empty = Region(MultiPolygon())

    cover = finishing_cover(floor_finish(empty, None, SHARP), NOTHING, SHARP)

    assert cover.levels == []
    assert len(cover.middles) == 0
