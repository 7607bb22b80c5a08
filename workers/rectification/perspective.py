"""The sheet's plane and the picture's: homographies, and the shape of a sheet seen aslant."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

FOCAL_TO_LONG_SIDE = 0.72  # the main camera of nearly every phone: 26 mm on a 36 mm wide film


def homography(source: Points, target: Points) -> NDArray[np.float64]:
    """Return the 3 x 3 matrix that takes four points or more to others, least squares.

    Args:
        source: (n, 2) points, n >= 4, no three of them on a line.
        target: (n, 2) where they go.

    Source: the direct linear transform with points moved and scaled first (Hartley 1997).
    """
    to_source, to_target = _normaliser(source), _normaliser(target)
    s, t = project(to_source, source), project(to_target, target)
    ones, zeros = np.ones(len(s)), np.zeros((len(s), 3))
    lifted = np.column_stack([s, ones])
    upper = np.hstack([lifted, zeros, -t[:, :1] * lifted])
    lower = np.hstack([zeros, lifted, -t[:, 1:] * lifted])
    solution = np.linalg.svd(np.vstack([upper, lower]))[2][-1].reshape(3, 3)
    matrix = np.linalg.inv(to_target) @ solution @ to_source
    return np.asarray(matrix / matrix[2, 2], np.float64)


def _normaliser(points: Points) -> NDArray[np.float64]:
    centre = points.mean(axis=0)
    scale = math.sqrt(2) / max(float(np.linalg.norm(points - centre, axis=1).mean()), 1e-12)
    return np.array([[scale, 0, -scale * centre[0]], [0, scale, -scale * centre[1]], [0, 0, 1.0]])


def project(matrix: NDArray[np.float64], points: Points) -> Points:
    """Return the points after a homography."""
    lifted = points @ matrix[:, :2].T + matrix[:, 2]
    return np.asarray(lifted[:, :2] / lifted[:, 2:], np.float64)


def sheet_shape(corners_px: Points, centre_px: Points, focal_px: float | None = None) -> tuple[float, float]:
    """Return the focal length in pixels and the width to height ratio of a rectangle seen aslant.

    Args:
        corners_px: (4, 2), top left, top right, bottom right, bottom left.
        centre_px: (2,), where the camera's axis meets the picture, as a rule its middle.
        focal_px: The focal length where it is known; None finds it from the corners, which
            cannot be done (infinite) when two sides look parallel.

    Source: Zhang and He, Whiteboard scanning and image enhancement, Digital Signal Processing 17(2), 2007.
    """
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = (
        (float(x), float(y)) for x, y in np.asarray(corners_px) - centre_px
    )
    whole = _turn(bx, by, cx, cy, dx, dy)
    k2, k3 = (
        _turn(ax, ay, cx, cy, dx, dy) / whole,
        _turn(ax, ay, cx, cy, bx, by) / _turn(dx, dy, cx, cy, bx, by),
    )
    across = (k2 * bx - ax, k2 * by - ay, k2 - 1.0)
    down = (k3 * dx - ax, k3 * dy - ay, k3 - 1.0)
    if focal_px is None:
        depth = across[2] * down[2]
        squared = -(across[0] * down[0] + across[1] * down[1]) / depth if abs(depth) > 1e-9 else math.inf
        focal_px = math.sqrt(squared) if squared > 0 else math.inf
    lengths = [math.hypot(n[0], n[1]) for n in (across, down)]
    if not math.isinf(focal_px):
        lengths = [
            math.hypot(length / focal_px, n[2]) for length, n in zip(lengths, (across, down), strict=True)
        ]
    return focal_px, lengths[0] / lengths[1]


def _turn(ax: float, ay: float, bx: float, by: float, cx: float, cy: float) -> float:
    """Return twice the area of a triangle, by its turn: the determinant of three points (x, y, 1)."""
    return (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
