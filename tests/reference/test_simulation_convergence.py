"""Simulated cuts of every kind of bit come nearer to exact solids as cells get smaller.

Sources: elementary geometry. Frustum, cylinder, spherical cap and segment; Pappus for rounds; a bit that
goes down a slope is cut into level sets, each the hull of two discs, and these are summed exactly. What is
measured is the error of the volume, root mean square over 80 ways in which cells of about one size may lie
under the solid: of one way alone it comes and goes with the last cells at the rim (how many points of a
lattice lie in a circle is a problem of its own). Depths at cells' centres are exact at any size.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest

from tests.support.specimens import ball, drill, mill, motions, vee
from workers.simulation.removal import carve
from workers.values.cutter import BallNose, Cutter, VeeCutter
from workers.values.height_field import HeightField
from workers.values.program import Trace

CELLS_MM = (0.2, 0.1, 0.05)
SHIFTS = 4  # each way
ABOUT = (1.0, 0.95, 0.9, 0.85, 0.8)  # of the size
HALF_MM = 8.0  # of the field
DEPTH_MM = 1.5
LENGTH_MM = 7.0
RADIUS_MM = 4.0  # of the round
CHORDS = 2000  # of it: 0.000005 mm from the circle
TURN_RAD = math.radians(17)

BITS: dict[str, Cutter] = {
    "sharp V": vee(60),
    "V with a flat tip": vee(90, 0.5),
    "flat": mill(3),
    "ball": ball(4),
    "drill": drill(5),
}
UPRIGHT = ("flat", "drill")  # walls: what is in or out at the rim counts with its whole depth


def section_mm2(bit: Cutter, depth_mm: float) -> float:
    """Area of the bit's outline below the face, seen along a level way."""
    if isinstance(bit, VeeCutter):
        return depth_mm * (bit.tip_mm + depth_mm * slope_of(bit))
    radius_mm = bit.diameter_mm / 2
    if isinstance(bit, BallNose):
        above_mm = radius_mm - depth_mm
        return radius_mm**2 * math.acos(above_mm / radius_mm) - above_mm * math.sqrt(
            radius_mm**2 - above_mm**2
        )
    return 2 * radius_mm * depth_mm


def slope_of(bit: VeeCutter) -> float:
    """How much wider the cone's radius gets with each mm."""
    return math.tan(math.radians(bit.included_angle_deg / 2))


def plunged_mm3(bit: Cutter) -> float:
    """Frustum pi z (R2 + R q + q2) / 3, cap pi z2 (3 R - z) / 3, cylinder pi R2 z."""
    radius_mm, depth_mm = bit.diameter_mm / 2, DEPTH_MM
    if isinstance(bit, VeeCutter):
        tip_mm = bit.tip_mm / 2
        rim_mm = tip_mm + depth_mm * slope_of(bit)
        return math.pi * depth_mm * (rim_mm**2 + rim_mm * tip_mm + tip_mm**2) / 3
    if isinstance(bit, BallNose):
        return math.pi * depth_mm**2 * (3 * radius_mm - depth_mm) / 3
    return math.pi * radius_mm**2 * depth_mm


def slot_mm3(bit: Cutter) -> float:
    """The section along the length, and half of the plunge at either end."""
    return LENGTH_MM * section_mm2(bit, DEPTH_MM) + plunged_mm3(bit)


def round_mm3(bit: Cutter) -> float:
    """Pappus: the section's middle goes once round."""
    return math.tau * RADIUS_MM * section_mm2(bit, DEPTH_MM)


def slope_mm3(bit: Cutter) -> float:
    """From the face down to the depth. Level sets are hulls of two discs whose tangents all lean alike.

    With u from the deepest point upwards their radii are q and q + u k, u / gain apart; for an end mill
    both are R: R L D + pi R2 D.
    """
    length_mm, depth_mm = LENGTH_MM, DEPTH_MM
    if not isinstance(bit, VeeCutter):
        radius_mm = bit.diameter_mm / 2
        return radius_mm * length_mm * depth_mm + math.pi * radius_mm**2 * depth_mm
    gain, k, tip_mm = depth_mm / length_mm, slope_of(bit), bit.tip_mm / 2
    lean = math.asin(gain * k)
    between = math.cos(lean) / gain * (tip_mm * depth_mm**2 + k * depth_mm**3 / 3)
    disc_integral = tip_mm**2 * depth_mm + tip_mm * k * depth_mm**2 + k**2 * depth_mm**3 / 3
    return between + (math.pi / 2 + lean) * disc_integral + (math.pi / 2 - lean) * tip_mm**2 * depth_mm


def along(start_depth_mm: float) -> Trace:
    """A turned way of the length, down to the depth."""
    x, y = LENGTH_MM / 2 * math.cos(TURN_RAD), LENGTH_MM / 2 * math.sin(TURN_RAD)
    return motions((-x, -y, -start_depth_mm), (x, y, -DEPTH_MM))


def once_round() -> Trace:
    """A circle at the depth."""
    angles = np.linspace(0, math.tau, CHORDS + 1)
    return motions(*((RADIUS_MM * math.cos(a), RADIUS_MM * math.sin(a), -DEPTH_MM) for a in angles.tolist()))


WAYS: dict[str, tuple[Callable[[], Trace], Callable[[Cutter], float]]] = {
    "plunge": (lambda: motions((0, 0, 1), (0, 0, -DEPTH_MM)), plunged_mm3),
    "slot": (lambda: along(DEPTH_MM), slot_mm3),
    "slope": (lambda: along(0), slope_mm3),
    "round": (once_round, round_mm3),
}
NO_FORM = ("ball", "slope")  # its caps stand aslant to the face


def cut(trace: Trace, bit: Cutter, cell_mm: float, right: float = 0.0, up: float = 0.0) -> HeightField:
    """The field, its cells moved by these parts of one."""
    left_mm, bottom_mm = -HALF_MM + (right - 1) * cell_mm, -HALF_MM + (up - 1) * cell_mm
    return carve([(trace, bit)], left_mm, bottom_mm, HALF_MM + cell_mm, HALF_MM + cell_mm, cell_mm)


def error(trace: Trace, bit: Cutter, expected_mm3: float, cell_mm: float) -> float:
    """Root mean square of the volume's relative error over all ways in which cells may lie."""
    shifts = (np.arange(SHIFTS) + 0.5) / SHIFTS
    volumes = [
        float(cut(trace, bit, share * cell_mm, right, up).depth_mm.sum(dtype=np.float64))
        * (share * cell_mm) ** 2
        for share in ABOUT
        for right in shifts.tolist()
        for up in shifts.tolist()
    ]
    return float(np.sqrt(np.mean((np.array(volumes) / expected_mm3 - 1) ** 2)))


@pytest.mark.parametrize(
    ("bit", "way"),
    [
        (bit, way)
        for bit in BITS
        for way in WAYS
        if way == "plunge" or (bit != "drill" and (bit, way) != NO_FORM)
    ],
)
def test_cells_of_half_the_size_have_at_most_half_the_error(bit: str, way: str) -> None:
    """0.2, 0.1 and 0.05 mm; a drill only plunges; a ball's slope is held by its depths below."""
    make, expected = WAYS[way]
    trace, cutter = make(), BITS[bit]
    errors = [error(trace, cutter, expected(cutter), cell_mm) for cell_mm in CELLS_MM]
    for coarse, fine in pairwise(errors):
        assert fine <= coarse / 2, errors
    assert errors[-1] < (0.001 if bit in UPRIGHT else 0.0001)


def depth_mm(bit: Cutter, gain: float, along_mm: np.ndarray, across_mm: np.ndarray) -> np.ndarray:
    """How deep a way that is ``gain along`` deep cuts at places beside it, far from its ends.

    The greatest of gain s - profile(distance) over all places s of the tip, by its derivative.
    """
    away_mm = np.abs(across_mm)
    if isinstance(bit, VeeCutter):
        steep, tip_mm = 1 / slope_of(bit), bit.tip_mm / 2
        flank_mm = gain * along_mm + steep * tip_mm - away_mm * math.sqrt(steep**2 - gain**2)
        floor_mm = gain * (along_mm + np.sqrt(np.maximum(tip_mm**2 - away_mm**2, 0)))
        on_flank = away_mm * steep / math.sqrt(steep**2 - gain**2) >= tip_mm
        return np.where(on_flank, flank_mm, floor_mm)
    radius_mm = bit.diameter_mm / 2
    half_mm = np.sqrt(np.maximum(radius_mm**2 - away_mm**2, 0))
    if isinstance(bit, BallNose):
        return np.where(half_mm > 0, gain * along_mm - radius_mm + half_mm * math.sqrt(1 + gain**2), 0)
    return np.where(half_mm > 0, gain * (along_mm + half_mm), 0)


@pytest.mark.parametrize("cell_mm", CELLS_MM)
@pytest.mark.parametrize("start_mm", [DEPTH_MM, 0.0], ids=["slot", "slope"])
@pytest.mark.parametrize("bit", [bit for bit in BITS if bit != "drill"])
def test_depths_across_a_way_are_exact_at_any_size_of_cells(
    bit: str, start_mm: float, cell_mm: float
) -> None:
    """Over the middle third of the way, its full width and beyond: 0.00001 mm, single precision."""
    field = cut(along(start_mm), BITS[bit], cell_mm)
    rows, columns = field.depth_mm.shape
    x, y = np.meshgrid(
        field.left_mm + (np.arange(columns) + 0.5) * cell_mm,
        field.bottom_mm + (np.arange(rows) + 0.5) * cell_mm,
    )
    along_mm = x * math.cos(TURN_RAD) + y * math.sin(TURN_RAD)
    across_mm = y * math.cos(TURN_RAD) - x * math.sin(TURN_RAD)
    gain = (DEPTH_MM - start_mm) / LENGTH_MM
    expected_mm = depth_mm(BITS[bit], gain, along_mm + LENGTH_MM / 2, across_mm) + start_mm * (gain == 0)
    beyond = np.abs(np.abs(across_mm) - BITS[bit].diameter_mm / 2) < 0.001  # at an upright wall either may be
    middle = (np.abs(along_mm) < LENGTH_MM / 6) & ~beyond
    if bit in UPRIGHT or bit == "ball":
        expected_mm[np.abs(across_mm) > BITS[bit].diameter_mm / 2] = 0
    assert np.abs(field.depth_mm - np.maximum(expected_mm, 0))[middle].max() < 0.00001
