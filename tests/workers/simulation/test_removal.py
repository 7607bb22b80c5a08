"""The sweep against a bit stepped along in tiny steps, and its habits."""

from __future__ import annotations

import math
import os

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from tests.support.specimens import ball, mill, motions, vee
from workers.simulation.removal import carve
from workers.simulation.stock import Stock
from workers.values.cutter import BallNose, Cutter, VeeCutter

CELL_MM, SIDE_MM = 0.25, 12.0


CUTTERS: dict[str, Cutter] = {
    "sharp": vee(60, diameter_mm=12),
    "tipped": vee(90, 0.6, diameter_mm=12),
    "narrow": vee(60, 0.2, diameter_mm=2),
    "flat": mill(3),
    "ball": ball(4),
}


def height_of(cutter: Cutter, away_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how far above its tip a bit's surface is; infinite beyond its radius."""
    radius = cutter.diameter_mm / 2
    if isinstance(cutter, VeeCutter):
        flank = math.tan(math.radians(cutter.included_angle_deg / 2))
        height = np.maximum(away_mm - cutter.tip_mm / 2, 0) / flank
    elif isinstance(cutter, BallNose):
        height = radius - np.sqrt(np.maximum(radius**2 - away_mm**2, 0))
    else:
        height = np.zeros_like(away_mm)
    return np.where(away_mm <= radius, height, np.inf)


def stepped(cutter: Cutter, start: NDArray[np.float64], end: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the depth by a bit put down at 1501 places along the motion."""
    centres = (np.arange(round(SIDE_MM / CELL_MM)) + 0.5) * CELL_MM
    x, y = np.meshgrid(centres, centres)
    depth = np.zeros_like(x)
    for share in np.linspace(0, 1, 1501):
        tip = start + (end - start) * share
        depth = np.maximum(depth, -tip[2] - height_of(cutter, np.hypot(x - tip[0], y - tip[1])))
    return depth


coordinate = st.floats(3, 9).map(lambda value: round(value, 3))
height = st.floats(-4, 1).map(lambda value: round(value, 3))
point = st.tuples(coordinate, coordinate, height)


@pytest.mark.parametrize("name", CUTTERS)
@settings(deadline=None, max_examples=12)
@given(start=point, end=point, steep=st.booleans())
def test_one_sweep_is_the_stepped_bit(
    name: str, start: tuple[float, ...], end: tuple[float, ...], steep: bool
) -> None:
    """Closed forms against 1501 steps, for any slope; rims of upright walls may go either way."""
    begin, finish = np.array(start), np.array(end)
    if steep:
        finish[:2] = begin[:2] + (finish[:2] - begin[:2]) / 20
    field = carve([(motions(tuple(begin), tuple(finish)), CUTTERS[name])], 0, 0, SIDE_MM, SIDE_MM, CELL_MM)
    difference = field.depth_mm - stepped(CUTTERS[name], begin, finish)
    assert difference.min() > -1e-5
    assert np.count_nonzero(difference > 0.02) <= 0.02 * difference.size


def test_the_map_never_depends_on_the_number_of_threads(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fixed bands, so one thread and two give the same bytes."""
    random = np.random.default_rng(3)
    points = np.column_stack([random.uniform(0, 60, (400, 2)), random.uniform(-3, 0.5, 400)])
    maps = []
    for threads in ({0}, {0, 1}):
        monkeypatch.setattr(os, "sched_getaffinity", lambda _, threads=threads: threads)
        maps.append(carve([(motions(*points), CUTTERS["tipped"])], 0, 0, 60, 60, 0.1).depth_mm.tobytes())
    assert maps[0] == maps[1]


def test_the_order_of_motions_does_not_matter_for_the_map() -> None:
    """Removal is a union."""
    there = motions((3, 3, -1), (9, 9, -2), (3, 9, -1))
    back = motions((3, 9, -1), (9, 9, -2), (3, 3, -1))
    maps = [carve([(trace, CUTTERS["ball"])], 0, 0, 12, 12, 0.1).depth_mm for trace in (there, back)]
    assert np.allclose(maps[0], maps[1], atol=1e-5)


def test_nothing_above_the_face_cuts() -> None:
    """Motions at or above zero leave the board as it was."""
    assert not carve([(motions((3, 3, 2), (9, 9, 0)), CUTTERS["flat"])], 0, 0, 12, 12, 0.1).depth_mm.any()


def test_a_watched_motion_tells_what_it_took_off_the_stock_as_it_then_was() -> None:
    """The first cut takes 1 mm, the same again nothing, a deeper one the difference."""
    trace = motions((2, 6, -1), (10, 6, -1), (2, 6, -1), (10, 6, -1.5))
    stock = Stock(0, 0, 12, 12, 0.1)
    removed = stock.cut(trace, CUTTERS["flat"], np.array([True, True, True]))
    assert removed.tolist() == pytest.approx([1, 0, 0.5], abs=1e-6)


def test_motions_that_are_not_watched_tell_nothing() -> None:
    """Only what was asked for is measured."""
    stock = Stock(0, 0, 12, 12, 0.1)
    assert stock.cut(motions((2, 6, -1), (10, 6, -1)), CUTTERS["flat"]).tolist() == [0]


def test_cuts_beside_the_map_are_let_go() -> None:
    """A motion that leaves the map cuts what lies on it."""
    field = carve([(motions((-50, 6, -1), (80, 6, -1)), CUTTERS["flat"])], 0, 0, 12, 12, 0.1)
    assert np.count_nonzero(field.depth_mm == 1) == 120 * 30


def test_an_empty_program_leaves_the_board_whole() -> None:
    """No motions, no cut."""
    nothing = motions((0, 0, 5))
    assert len(nothing.lines) == 0
    assert not carve([(nothing, CUTTERS["flat"])], 0, 0, 12, 12, 0.1).depth_mm.any()
