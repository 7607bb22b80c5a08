"""Simulated cuts against the closed forms of solids.

Sources: V-03 cross-sections of a V-groove (trigonometry of the frustum), volumes of cone,
cylinder and spherical cap, P-04 capsule area; all elementary geometry.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.support.specimens import ball, drill, mill, motions, vee
from workers.simulation.removal import carve
from workers.values.cutter import Cutter

CELL_MM = 0.05


def volume_mm3(cutter: Cutter, *points: tuple[float, float, float]) -> float:
    """Return what one path takes off, from a map of 40 x 40 mm."""
    field = carve([(motions(*points), cutter)], -20.013, -20.007, 20, 20, CELL_MM)
    return float(field.depth_mm.sum(dtype=np.float64)) * CELL_MM**2


@pytest.mark.parametrize("angle_deg", [30, 60, 90, 120])
@pytest.mark.parametrize("tip_mm", [0.0, 0.5])
def test_a_plunge_of_a_v_bit_is_a_frustum(angle_deg: float, tip_mm: float) -> None:
    """pi z (R^2 + R q + q^2) / 3 with R = q + z tan(A/2)."""
    depth, q = 2.0, tip_mm / 2
    rim = q + depth * math.tan(math.radians(angle_deg / 2))
    expected = math.pi * depth * (rim**2 + rim * q + q**2) / 3
    assert volume_mm3(vee(angle_deg, tip_mm), (1, 2, 0), (1, 2, -depth)) == pytest.approx(expected, rel=0.005)


@pytest.mark.parametrize("turn_deg", [0, 17, 90])
@pytest.mark.parametrize("tip_mm", [0.0, 0.5])
def test_a_level_groove_is_prism_and_frustum(turn_deg: float, tip_mm: float) -> None:
    """V-03: cross-section (w^2 - t^2) / (4 k) along the length, half a frustum at either end."""
    depth, q, k, length = 2.0, tip_mm / 2, math.tan(math.radians(30)), 20.0
    rim = q + depth * k
    frustum = math.pi * depth * (rim**2 + rim * q + q**2) / 3
    expected = length * ((2 * rim) ** 2 - tip_mm**2) / (4 * k) + frustum
    x, y = length * math.cos(math.radians(turn_deg)), length * math.sin(math.radians(turn_deg))
    found = volume_mm3(vee(60, tip_mm), (-x / 2, -y / 2, -depth), (x / 2, y / 2, -depth))
    assert found == pytest.approx(expected, rel=0.003)


def test_a_flat_end_mill_cuts_a_slot_with_round_ends() -> None:
    """Depth times (2 R L + pi R^2)."""
    expected = 4 * (3 * 20 + math.pi * 1.5**2)
    assert volume_mm3(mill(3), (-10, 3, -4), (10, -1, -4)) == pytest.approx(
        4 * (3 * math.hypot(20, 4) + math.pi * 1.5**2), rel=0.003
    )
    assert volume_mm3(mill(3), (-10, 0, -4), (10, 0, -4)) == pytest.approx(expected, rel=0.003)


def test_a_drill_makes_a_cylinder() -> None:
    """pi R^2 z."""
    assert volume_mm3(drill(5), (0, 0, 5), (0, 0, -12)) == pytest.approx(math.pi * 2.5**2 * 12, rel=0.003)


def test_a_ball_plunges_a_spherical_cap_and_then_a_cylinder() -> None:
    """Cap: pi z^2 (3R - z) / 3; deeper than R the rest is a cylinder."""
    assert volume_mm3(ball(6), (0, 0, 1), (0, 0, -2)) == pytest.approx(math.pi * 4 * (9 - 2) / 3, rel=0.003)
    expected = 2 / 3 * math.pi * 27 + math.pi * 9 * 2
    assert volume_mm3(ball(6), (0, 0, 1), (0, 0, -5)) == pytest.approx(expected, rel=0.003)


def test_a_ball_cuts_a_trough() -> None:
    """Circular segment of depth z along the length, a cap at the ends."""
    segment = 9 * math.acos((3 - 2) / 3) - (3 - 2) * math.sqrt(9 - 1)
    expected = 20 * segment + math.pi * 4 * (9 - 2) / 3
    assert volume_mm3(ball(6), (-10, 0, -2), (10, 0, -2)) == pytest.approx(expected, rel=0.003)


def test_a_falling_v_groove_is_a_cone_hull() -> None:
    """A tip that falls by g a mm cuts the hull of a point and a cone; its half opening is asin(k g)...

    At the face the outline is the tangents from the start to the circle of radius k z at the end:
    area of the triangle pair and the outer sector; the solid is a cone over that outline with the
    low end's tip as apex, so volume = area times depth / 3.
    """
    depth, length, k = 3.0, 10.0, math.tan(math.radians(30))
    rim = k * depth
    half = math.asin(rim / length)
    outline = rim * math.sqrt(length**2 - rim**2) + rim**2 * (math.pi - (math.pi / 2 - half))
    found = volume_mm3(vee(60), (-5, -1, 0), (5, -1, -depth))
    assert found == pytest.approx(outline * depth / 3, rel=0.003)


def test_a_v_bit_deeper_than_its_cone_cuts_upright_walls() -> None:
    """Above the cone the bit is a cylinder of its diameter."""
    expected = math.pi * 1.5**2 * (1.5 / 3 + 2.5)
    assert volume_mm3(vee(90, diameter_mm=3), (0, 0, 1), (0, 0, -4)) == pytest.approx(expected, rel=0.005)
