"""One photo's sheet laid on another's: turned the same way up, and moved by the last fraction of a mm."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float32]
Mask = NDArray[np.bool_]

COARSE_PX_PER_MM = 1.0
FINE_PX_PER_MM = 3.0
_MOST_MOVE_MM = 8.0  # farther off, it is another sheet or another drawing
_LEAST_LIKENESS = 0.55
_ROUNDS = 60
_PATIENCE = 1e-5
_FILTER_PX = 5


def quarter_turns(reference: Array, picture: Array) -> int:
    """Return by how many quarter turns anticlockwise a picture becomes most like the reference.

    Args:
        reference: (rows, columns), ink low and paper high.
        picture: The same sheet, at the same scale, perhaps lying another way.
    """
    smooth = _smooth(reference)
    likeness = {}
    for turns in range(4):
        turned = np.rot90(picture, turns)
        if abs(turned.shape[0] / turned.shape[1] * reference.shape[1] / reference.shape[0] - 1) > 0.05:
            continue
        fitted = np.asarray(cv2.resize(np.ascontiguousarray(turned), reference.shape[1::-1]), np.float32)
        likeness[turns] = _likeness(smooth, _smooth(fitted))
    return max(likeness, key=lambda turns: (likeness[turns], -turns)) if likeness else 0


def aligning_homography(
    reference: Array, picture: Array, trusted: Mask, px_per_mm: float
) -> tuple[NDArray[np.float64] | None, float]:
    """Return the homography, in px, that takes the reference's points to the picture's.

    Args:
        reference: (rows, columns), ink low and paper high.
        picture: The same, of the same shape.
        trusted: Where both are free of glare and shade.
        px_per_mm: Scale of both.

    Returns:
        None where they do not fit; and their likeness, -1 to 1, once laid on each other.

    Source: enhanced correlation coefficient (Evangelidis and Psarakis 2008), coarse to fine.
    """
    moved = np.eye(3, dtype=np.float32)
    likeness = 0.0
    for scale in (COARSE_PX_PER_MM / px_per_mm, 1.0):
        size = tuple(max(16, round(side * scale)) for side in reference.shape[1::-1])
        grown = np.diag([size[0] / reference.shape[1], size[1] / reference.shape[0], 1.0])
        small, other = (cv2.resize(p, size, interpolation=cv2.INTER_AREA) for p in (reference, picture))
        mask = cv2.resize(trusted.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST)
        start = (grown @ moved @ np.linalg.inv(grown)).astype(np.float32)
        criteria = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, _ROUNDS, _PATIENCE)
        try:
            likeness, found = cv2.findTransformECC(
                small, other, start, cv2.MOTION_HOMOGRAPHY, criteria, mask, _FILTER_PX
            )
        except cv2.error:  # what differs too much does not converge
            return None, 0.0
        moved = (np.linalg.inv(grown) @ found @ grown).astype(np.float32)
    homography = moved.astype(np.float64) / float(moved[2, 2])
    if (
        likeness < _LEAST_LIKENESS
        or _largest_move_px(homography, reference.shape) > _MOST_MOVE_MM * px_per_mm
    ):
        return None, float(likeness)
    return homography, float(likeness)


def _largest_move_px(homography: NDArray[np.float64], shape: tuple[int, ...]) -> float:
    """Return how far the corner that moves most is moved."""
    rows, columns = shape[:2]
    corners = np.array([(0, 0, 1), (columns, 0, 1), (columns, rows, 1), (0, rows, 1)], np.float64)
    moved = corners @ homography.T
    moves = np.linalg.norm(moved[:, :2] / moved[:, 2:] - corners[:, :2], axis=1)
    return float(moves.max())


def _smooth(picture: NDArray[np.floating[Any]]) -> Array:
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), 2.0), np.float32)


def _likeness(one: Array, other: Array) -> float:
    a, b = one - one.mean(), other - other.mean()
    return float((a * b).sum() / max(float(np.sqrt((a * a).sum() * (b * b).sum())), 1e-6))
