"""The shape of a sheet seen aslant, against a computed camera.

Source: Zhang and He, Whiteboard scanning and image enhancement, Digital Signal Processing 17(2),
414-432, 2007. The two cameras were worked out apart from this project (trade facts I-35, I-36):
focal length 3000 px, axis at (2000, 1500).
"""

from __future__ import annotations

import numpy as np
import pytest

from workers.rectification.perspective import homography, project, sheet_shape

CENTRE = np.array([2000.0, 1500.0])
A4_ACROSS = np.array(  # TL, TR, BR, BL of 297 x 210 mm
    [
        (1375.777112, 757.319786),
        (2849.265174, 1000.984433),
        (2544.124523, 1871.007525),
        (1226.141229, 1811.293380),
    ]
)
LETTER_TALL = np.array(  # 215.9 x 279.4 mm
    [
        (1602.283049, 948.624518),
        (2536.277003, 764.299868),
        (2667.028168, 2022.070230),
        (1495.127926, 2125.373086),
    ]
)


@pytest.mark.parametrize(
    ("corners", "ratio"), [(A4_ACROSS, 297 / 210), (LETTER_TALL, 215.9 / 279.4)], ids=["A4", "Letter"]
)
def test_the_corners_give_the_lens_and_the_shape(corners: np.ndarray, ratio: float) -> None:
    """f and w/h of the worked cameras come back to the six digits they are printed with."""
    focal_px, found = sheet_shape(corners, CENTRE)
    assert focal_px == pytest.approx(3000, abs=0.05)
    assert found == pytest.approx(ratio, abs=2e-5)


@pytest.mark.parametrize(
    ("corners", "focal", "ratio"), [(A4_ACROSS, 3001.62, 1.414588), (LETTER_TALL, None, 0.773919)]
)
def test_whole_pixels_move_the_answer_as_far_as_worked_out(
    corners: np.ndarray, focal: float | None, ratio: float
) -> None:
    """Corners rounded to pixels: 3001.62 px and 1.414588 for A4, 0.773919 for Letter."""
    focal_px, found = sheet_shape(np.round(corners), CENTRE)
    assert found == pytest.approx(ratio, abs=1e-6)
    assert focal is None or focal_px == pytest.approx(focal, abs=0.01)


def test_a_known_lens_gives_the_same_shape() -> None:
    """With the camera's own f there is nothing left to guess."""
    assert sheet_shape(A4_ACROSS, CENTRE, 3000.0)[1] == pytest.approx(297 / 210, abs=2e-5)


def test_a_sheet_seen_from_straight_above_has_the_ratio_of_its_sides() -> None:
    """Parallel sides leave the focal length open (infinite) and the shape plain."""
    square_on = np.array([(100.0, 100.0), (694.0, 100.0), (694.0, 520.0), (100.0, 520.0)])
    focal_px, ratio = sheet_shape(square_on, np.array([400.0, 300.0]))
    assert focal_px == np.inf
    assert ratio == pytest.approx(297 / 210)


def test_a_homography_is_found_again_from_many_points() -> None:
    """Thirty points through a known matrix give that matrix, its last element 1."""
    matrix = np.array([[4.5, -1.3, 371.0], [0.88, 3.4, 14.6], [3e-4, -1.1e-3, 1.0]])
    points = np.random.default_rng(7).uniform(0, 300, (30, 2))
    lifted = np.column_stack([points, np.ones(30)]) @ matrix.T
    found = homography(points, lifted[:, :2] / lifted[:, 2:])
    assert found == pytest.approx(matrix, rel=1e-8, abs=1e-10)
    assert project(found, points) == pytest.approx(lifted[:, :2] / lifted[:, 2:], abs=1e-8)
