"""Rings led out into their corners."""

import math

import numpy as np
import pytest
import shapely
from shapely.geometry import LinearRing, LineString, Polygon, box

from tests.support.specimens import region
from workers.toolpaths.circuit import Circuit
from workers.toolpaths.corner_reach import reached, reaching_ring
from workers.toolpaths.rings import Room, covering

STEP_MM, REACH_MM = 1.0, 0.53


def everywhere(ways_mm: np.ndarray) -> np.ndarray:
    return np.ones(len(ways_mm), np.bool_)


def ring_of(shape: Polygon) -> Circuit:
    return Circuit(shapely.get_coordinates(shape.exterior))


def wedge(corner_deg: float, apex_mm: float) -> Polygon:
    """A triangle with its sharp corner at x = apex_mm on the x axis."""
    half = math.tan(math.radians(corner_deg / 2)) * 40
    return Polygon([(apex_mm, 0), (apex_mm + 40, -half), (apex_mm + 40, half)])


@pytest.mark.parametrize("corner_deg", [20.0, 45.0, 60.0, 90.0])
def test_nothing_is_left_between_the_corners_of_two_rings(corner_deg: float) -> None:
    """By trigonometry they are step / sin(half the angle) apart; no point of that is out of reach."""
    apart_mm = STEP_MM / math.sin(math.radians(corner_deg / 2))
    outer, inner = wedge(corner_deg, 0.0), wedge(corner_deg, apart_mm)

    ring = reaching_ring(ring_of(inner), STEP_MM, REACH_MM, everywhere)

    between = [shapely.Point(x_mm, 0.0) for x_mm in np.linspace(0, apart_mm, 500)]
    run = shapely.union_all([outer.exterior, LinearRing(ring.circuit.points_mm)])
    plain = shapely.union_all([outer.exterior, inner.exterior])
    assert shapely.distance(run, between).max() <= REACH_MM
    assert shapely.distance(plain, between).max() > REACH_MM


def test_a_ring_led_into_its_corners_has_no_more_sharp_corners_than_before() -> None:
    """A square turns back four times, and each way there bends no more than half as much."""
    ring = reaching_ring(ring_of(box(0, 0, 20, 20)), STEP_MM, REACH_MM, everywhere).circuit

    steps = np.diff(ring.points_mm, axis=0)
    steps /= np.linalg.norm(steps, axis=1)[:, None]
    turns_deg = np.degrees(np.arccos(np.clip((steps * np.roll(steps, 1, axis=0)).sum(axis=1), -1, 1)))
    assert (turns_deg > 60).sum() == 4
    assert sorted(turns_deg)[:-4] == pytest.approx([22.5] * 8)


def test_blunt_corners_and_round_rings_stay_as_they_are() -> None:
    """Where rings a step apart leave nothing, none is led out; nor towards the inside of a hole's corner."""
    circle = ring_of(shapely.Point(0, 0).buffer(10, quad_segs=32))
    hole = Circuit(shapely.get_coordinates(box(0, 0, 5, 5, ccw=False).exterior))

    for ring in (circle, hole):
        assert reaching_ring(ring, STEP_MM, REACH_MM, everywhere).circuit.points_mm.tolist() == (
            ring.points_mm.tolist()
        )


def test_no_ring_is_led_out_of_its_room() -> None:
    """A corner that lies on the edge of where the bit may stand stays a corner."""
    square = box(0, 0, 20, 20)

    ring = reaching_ring(ring_of(square), STEP_MM, REACH_MM, Room(region(square)).holds)

    assert len(ring.corners_mm) == 0
    assert reached([ring], REACH_MM).is_empty


def test_corners_of_a_floor_need_no_rings_of_their_own() -> None:
    """A square 9 mm wide has one ring a step: none of them round what a corner leaves."""
    square = region(box(0, 0, 9, 9))

    cover = covering(square, STEP_MM, REACH_MM, [], Room(square))

    assert [len(level) for level in cover.levels if level] == [1, 1, 1, 1]
    run = [LineString(ring.points_mm) for level in cover.levels for part in level for ring in part]
    x_mm, y_mm = np.random.default_rng(7).uniform(0, 9, (2, 5000))
    far_mm = shapely.distance(shapely.union_all([square.polygons.boundary, *run]), shapely.points(x_mm, y_mm))
    assert far_mm.max() <= REACH_MM + 0.01
