"""Sides of the mesh lie along creases: compared with planes that meet in a known line or point."""

import math

import numpy as np
import pytest

from workers.preview.creases import along_creases, put_back
from workers.values.height_field import HeightField

CELL_MM, SPACING_MM, COUNT = 0.1, 0.25, 48


def grid(depth_at) -> tuple[np.ndarray, np.ndarray, np.ndarray]:  # type: ignore[no-untyped-def]
    """Points 0.25 mm apart, two triangles a square, and which points are not on the border."""
    steps = np.arange(COUNT + 1) * SPACING_MM
    x, y = (part.reshape(-1) for part in np.meshgrid(steps, steps))
    points = np.column_stack((x, y, -depth_at(x, y))).astype(np.float32)
    row, column = (part.reshape(-1) for part in np.indices((COUNT, COUNT)))
    low = row * (COUNT + 1) + column
    triangles = np.concatenate(
        (
            np.column_stack((low, low + 1, low + COUNT + 2)),
            np.column_stack((low, low + COUNT + 2, low + COUNT + 1)),
        )
    ).astype(np.uint32)
    inside = (x > 0) & (x < steps[-1]) & (y > 0) & (y < steps[-1])
    return points, triangles, inside


def surface(depth_at) -> HeightField:  # type: ignore[no-untyped-def]
    """The same depth at the middles of cells of 0.1 mm."""
    middles = (np.arange(round(COUNT * SPACING_MM / CELL_MM)) + 0.5) * CELL_MM
    return HeightField(
        depth_mm=depth_at(*np.meshgrid(middles, middles)).astype(np.float32),
        cell_mm=CELL_MM,
        left_mm=0,
        bottom_mm=0,
    )


def middles_off_mm(points: np.ndarray, triangles: np.ndarray, depth_at) -> np.ndarray:  # type: ignore[no-untyped-def]
    """How far the middles of all sides lie off the surface."""
    sides = np.concatenate((triangles[:, :2], triangles[:, 1:], triangles[:, ::2]))
    middle = points[sides].mean(axis=1)
    return np.abs(middle[:, 2] + depth_at(middle[:, 0], middle[:, 1]))


def twice_area(points: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    one, two, three = (points[triangles[:, corner], :2] for corner in range(3))
    first, second = two - one, three - one
    return first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]


@pytest.mark.parametrize("turn_deg", [0, 7, 20, 33, 45, 61, 88, 130, 200, 301])
@pytest.mark.parametrize("included_deg", [30, 60, 90])
def test_a_straight_edge_comes_out_straight(turn_deg: float, included_deg: float) -> None:
    """Face and wall of a V-groove: no side lies more than 0.01 mm off them, where the grid's lie 0.05 off."""
    turn, slope = math.radians(turn_deg), 1 / math.tan(math.radians(included_deg / 2))

    def depth_at(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return slope * np.maximum(0, (x - 6.03) * math.cos(turn) + (y - 5.98) * math.sin(turn))

    points, triangles, inside = grid(depth_at)
    moved, turned = along_creases(points, triangles, inside, surface(depth_at))

    whole = inside[turned].all(axis=1)
    assert np.max(middles_off_mm(moved, turned[whole], depth_at)) < 0.01 * max(1, slope)
    if turn_deg % 45:
        assert np.max(middles_off_mm(points, triangles, depth_at)) > 0.04
    assert twice_area(moved, turned).min() > -1e-4


def test_a_tip_where_three_walls_meet_is_found() -> None:
    """The end of a stroke, all walls at 45 degrees: one point goes to the tip, and the creases run there."""
    tip = np.array([6.07, 5.93])

    def depth_at(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        walls = [
            (x - tip[0]) * math.cos(turn) + (y - tip[1]) * math.sin(turn)
            for turn in np.radians((10, 130, 250))
        ]
        return 2 + np.minimum.reduce(walls)

    points, triangles, inside = grid(depth_at)
    moved, _ = along_creases(points, triangles, inside, surface(depth_at))

    nearest = np.argmin(np.hypot(*(moved[:, :2] - tip).T))
    assert moved[nearest] == pytest.approx([*tip, -2], abs=0.01)


def test_a_plane_and_a_gentle_curve_stay_as_they_are() -> None:
    """Nothing moves on a slope, nor on a bowl of 20 mm."""
    for depth_at in (
        lambda x, y: 0.4 * x + 0.3 * y + 1,
        lambda x, y: 20 - np.sqrt(400 - (x - 6) ** 2 - (y - 6) ** 2),
    ):
        points, triangles, inside = grid(depth_at)
        moved, turned = along_creases(points, triangles, inside, surface(depth_at))
        assert np.array_equal(moved, points)
        assert np.array_equal(turned, triangles)


def test_points_that_may_not_move_stay() -> None:
    """A rim under a crease is somebody else's."""

    def depth_at(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return np.maximum(0, x - 6.1 + 0.2 * y)

    points, triangles, inside = grid(depth_at)
    kept = inside & (points[:, 1] < 6)
    moved, _ = along_creases(points, triangles, kept, surface(depth_at))

    assert np.array_equal(moved[~kept], points[~kept])
    assert (moved[kept] != points[kept]).any()


def test_what_turns_a_triangle_over_is_taken_back() -> None:
    """And nothing else is."""
    points = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [5, 5, 0], [6, 5, 0], [5, 6, 0]], dtype=np.float32)
    triangles = np.array([[0, 1, 2], [3, 4, 5]], dtype=np.uint32)
    moved = points + np.float32(0)
    moved[2] = (0, -1, 0)
    moved[1] = (1.2, 0, 0)
    moved[5] = (5, 7, 0)
    put_back(moved, points, triangles)

    assert np.array_equal(moved[2], points[2])
    assert moved[1].tolist() == pytest.approx([1.2, 0, 0])
    assert moved[5].tolist() == [5, 7, 0]
