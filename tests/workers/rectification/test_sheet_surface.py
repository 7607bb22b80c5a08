"""Curled sheets, against a camera and a cylinder worked out here on their own."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.support.drawn_sheets import square_to
from workers.rectification.robust_curve import CURVE_DEGREE
from workers.rectification.sheet_sides import Side
from workers.rectification.sheet_surface import corners_mm, flat_parameters, projected
from workers.rectification.surface_fit import fitted_surface

WIDTH, HEIGHT = 210.0, 297.0
COLUMNS, ROWS = 1500, 2000


def camera(tilt_deg: float, azimuth_deg: float) -> np.ndarray:
    """Return the 3 x 4 matrix of a pinhole camera of 0.72 x 2000 px looking at the sheet's middle."""
    tilt, azimuth = math.radians(tilt_deg), math.radians(azimuth_deg)
    towards = np.array(
        [math.sin(tilt) * math.cos(azimuth), math.sin(tilt) * math.sin(azimuth), math.cos(tilt)]
    )
    right = np.cross([0.0, 1.0, 0.0], towards)
    right /= np.linalg.norm(right)
    turn = np.vstack([right, np.cross(towards, right), -towards])
    eye = np.array([WIDTH / 2, HEIGHT / 2, 0.0]) + towards * 330.0
    lens = np.array([[0.72 * ROWS, 0, COLUMNS / 2], [0, 0.72 * ROWS, ROWS / 2], [0, 0, 1.0]])
    return lens @ np.c_[turn, -turn @ eye]


def rolled(points_mm: np.ndarray, angle_deg: float, start_mm: float, radius_mm: float) -> np.ndarray:
    """Return points of a sheet rolled round a cylinder from a line onwards (exact, no series)."""
    direction = np.array([math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))])
    along = np.maximum((points_mm - [WIDTH / 2, HEIGHT / 2]) @ direction - start_mm, 0)
    turn = along / radius_mm
    flat = points_mm + (radius_mm * np.sin(turn) - along)[:, None] * direction
    return np.column_stack([flat, radius_mm * (1 - np.cos(turn))])


def seen(matrix: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Return where points in space are seen."""
    lifted = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    return lifted[:, :2] / lifted[:, 2:]


def true_sides(matrix: np.ndarray, roll: tuple[float, float, float] | None) -> list[Side]:
    """Return the four sides as a perfect measurement would give them."""
    corners = corners_mm(WIDTH, HEIGHT)
    share = np.linspace(0, 1, 200)[:, None]
    sides = []
    for k in range(4):
        rim = corners[k] + share * (corners[(k + 1) % 4] - corners[k])
        points = seen(matrix, rolled(rim, *roll) if roll else np.column_stack([rim, np.zeros(200)]))
        length = float(np.linalg.norm(points[-1] - points[0]))
        along = (points[-1] - points[0]) / length
        inward = np.array([-along[1], along[0]])
        own = points - points[0]
        place, off = own @ along, own @ inward
        curve = np.polynomial.legendre.legfit(2 * place / length - 1, off, CURVE_DEGREE)
        sides.append(Side(points[0], along, inward, length, curve, np.column_stack([place, off]), 0.01, 1.0))
    return sides


def grid() -> np.ndarray:
    """Return points all over the sheet, mm."""
    across, down = np.meshgrid(np.linspace(0, WIDTH, 9), np.linspace(0, HEIGHT, 13))
    return np.column_stack([across.ravel(), down.ravel()])


def test_a_flat_surface_is_the_homography_of_its_corners() -> None:
    """Without curl every point goes where the eight linear equations of four corners send it."""
    corners = np.array([(300.0, 200.0), (1200.0, 260.0), (1290.0, 1700.0), (220.0, 1610.0)])
    found = projected(flat_parameters(corners), grid(), WIDTH, HEIGHT, COLUMNS, ROWS)
    lifted = np.column_stack([grid() / [WIDTH, HEIGHT], np.ones(len(grid()))]) @ square_to(corners).T
    assert found == pytest.approx(lifted[:, :2] / lifted[:, 2:], abs=1e-8)


def test_a_flat_sheet_stays_flat() -> None:
    """Straight sides give no curl, and every point within 0.01 px."""
    matrix = camera(20.0, 60.0)
    surface = fitted_surface(true_sides(matrix, None), (WIDTH, HEIGHT), (COLUMNS, ROWS))
    assert surface.lift_mm == 0.0
    assert surface.seen_px(grid()) == pytest.approx(
        seen(matrix, np.column_stack([grid(), np.zeros(len(grid()))])), abs=0.01
    )


@pytest.mark.parametrize(
    ("tilt_deg", "roll"),
    [(20.0, (90.0, 30.0, 1500.0)), (12.0, (35.0, -20.0, 2500.0)), (18.0, (200.0, 0.0, 900.0))],
    ids=["lower edge", "a corner", "left edge"],
)
def test_a_rolled_sheet_is_unrolled(tilt_deg: float, roll: tuple[float, float, float]) -> None:
    """From its sides alone every inner point is found within 0.1 mm; a homography misses by 0.8 mm."""
    matrix = camera(tilt_deg, 60.0)
    surface = fitted_surface(true_sides(matrix, roll), (WIDTH, HEIGHT), (COLUMNS, ROWS))
    truth = seen(matrix, rolled(grid(), *roll))
    px_per_mm = np.linalg.norm(truth[8] - truth[0]) / WIDTH
    missed_mm = np.linalg.norm(surface.seen_px(grid()) - truth, axis=1) / px_per_mm
    flat = projected(flat_parameters(truth[[0, 8, -1, -9]]), grid(), WIDTH, HEIGHT, COLUMNS, ROWS)
    flat_missed_mm = np.linalg.norm(flat - truth, axis=1) / px_per_mm
    assert missed_mm.max() < 0.1
    assert flat_missed_mm.max() > 0.8


def test_a_lens_that_bows_the_picture_is_told_from_a_curled_sheet() -> None:
    """Barrel pictures of a flat sheet (2 % at the ends of the long side) come out flat, within 0.1 px."""
    middle, half_side = np.array([COLUMNS, ROWS]) / 2, ROWS / 2

    def bowed(points: np.ndarray) -> np.ndarray:
        own = points - middle
        return middle + own * (1 - 0.02 * (own**2).sum(axis=1) / half_side**2)[:, None]

    matrix = camera(15.0, 70.0)
    sides = []
    for side in true_sides(matrix, None):
        points = bowed(side.start_px + side.seen[:, :1] * side.along + side.seen[:, 1:] * side.inward)
        length = float(np.linalg.norm(points[-1] - points[0]))
        along = (points[-1] - points[0]) / length
        inward = np.array([-along[1], along[0]])
        place, off = (points - points[0]) @ along, (points - points[0]) @ inward
        curve = np.polynomial.legendre.legfit(2 * place / length - 1, off, CURVE_DEGREE)
        sides.append(Side(points[0], along, inward, length, curve, np.column_stack([place, off]), 0.01, 1.0))
    surface = fitted_surface(sides, (WIDTH, HEIGHT), (COLUMNS, ROWS))
    truth = bowed(seen(matrix, np.column_stack([grid(), np.zeros(len(grid()))])))
    assert surface.lift_mm == 0.0
    assert surface.seen_px(grid()) == pytest.approx(truth, abs=0.1)
