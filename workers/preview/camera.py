"""A pinhole camera over the table."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Doubles = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Camera:
    """Where a camera stands in the board's frame, which way it looks, and its picture."""

    eye_mm: Doubles
    right: Doubles  # of the picture, length 1
    down: Doubles
    forward: Doubles
    focal_px: float
    middle_px: tuple[float, float]  # column and row where it looks straight ahead
    rows: int
    columns: int

    def seen_at(self, points_mm: Doubles) -> Doubles:
        """Return the columns and rows (n, 2) at which points (n, 3) are seen.

        Source: the pinhole camera: places in the picture are ratios of the ways across and ahead.
        """
        ways = points_mm - self.eye_mm
        ahead = ways @ self.forward
        return np.column_stack(
            (
                self.focal_px * (ways @ self.right) / ahead + self.middle_px[0],
                self.focal_px * (ways @ self.down) / ahead + self.middle_px[1],
            )
        )

    def ground_mm(self, level_mm: float) -> Doubles:
        """Return where the picture's four corners look, x and y (4, 2), at a level below the face."""
        corners = np.array(
            [[0, 0], [self.columns, 0], [0, self.rows], [self.columns, self.rows]], dtype=float
        )
        ways = [
            self.forward * self.focal_px
            + self.right * (column - self.middle_px[0])
            + self.down * (row - self.middle_px[1])
            for column, row in corners
        ]
        return np.array([(self.eye_mm + way * ((-level_mm - self.eye_mm[2]) / way[2]))[:2] for way in ways])


def camera_over(
    target_mm: tuple[float, float], turn_deg: float, elevation_deg: float, away_mm: float
) -> Camera:
    """Return a camera that looks at a place on the face, its picture yet without a size.

    Args:
        target_mm: The place.
        turn_deg: Where the camera stands: 0 below the board in the plan, then anticlockwise.
        elevation_deg: How high; 90 is straight over the place.
        away_mm: How far from the place.
    """
    turn, elevation = math.radians(turn_deg), math.radians(elevation_deg)
    back = np.array(
        [math.sin(turn) * math.cos(elevation), -math.cos(turn) * math.cos(elevation), math.sin(elevation)]
    )
    right = np.array([math.cos(turn), math.sin(turn), 0.0])
    return Camera(
        eye_mm=np.array([*target_mm, 0.0]) + away_mm * back,
        right=right,
        down=np.cross(right, back),
        forward=-back,
        focal_px=1.0,
        middle_px=(0.0, 0.0),
        rows=1,
        columns=1,
    )


def framed(camera: Camera, points_mm: Doubles, columns: int, margin_px: float, most_rows: int) -> Camera:
    """Return the camera with a picture that holds all points with a margin.

    Args:
        camera: Its place and direction.
        points_mm: What must be seen (n, 3).
        columns: Width of the picture.
        margin_px: On all sides.
        most_rows: Height at most; a scene too high for it leaves table on both sides.
    """
    seen = camera.seen_at(points_mm)  # at a focal length of one pixel
    low, high = seen.min(axis=0), seen.max(axis=0)
    wide, tall = (high - low).tolist()
    focal_px = min((columns - 2 * margin_px) / wide, (most_rows - 2 * margin_px) / tall)
    rows = min(most_rows, math.ceil(tall * focal_px + 2 * margin_px))
    middle = np.array([columns, rows]) / 2 - focal_px * (low + high) / 2
    return Camera(
        eye_mm=camera.eye_mm,
        right=camera.right,
        down=camera.down,
        forward=camera.forward,
        focal_px=focal_px,
        middle_px=(float(middle[0]), float(middle[1])),
        rows=rows,
        columns=columns,
    )
