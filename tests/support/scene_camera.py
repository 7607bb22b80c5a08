"""A phone above a table, written out here: a pinhole, a lens that bows lines, a sheet flat or curled.

The table is the plane of x (right), y (down); z points into it; all in mm from the sheet's middle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_STEP_PX = 4  # the way through the lens is worked out so often, and linear between
_ROUNDS = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Curl:
    """A sheet rolled up from a line onwards: paper bends and does not stretch, so it is a cylinder."""

    angle_rad: float  # the direction in which it rises
    start_mm: float  # where, in that direction
    radius_mm: float

    def raised(self, sheet_mm: Array) -> Array:
        """Return where points of the flat sheet (from its middle) come to lie, (n, 3)."""
        direction = np.array([math.cos(self.angle_rad), math.sin(self.angle_rad)])
        arc = np.maximum(sheet_mm @ direction - self.start_mm, 0.0)
        turn = arc / self.radius_mm
        moved = sheet_mm + (self.radius_mm * np.sin(turn) - arc)[:, None] * direction
        return np.column_stack([moved, -self.radius_mm * (1 - np.cos(turn))])

    def height_and_place(self, x: Array, y: Array) -> tuple[Array, Array, Array]:
        """Return the sheet's height over a place of the table, and which place of the flat sheet is there."""
        dx, dy = math.cos(self.angle_rad), math.sin(self.angle_rad)
        reach = np.maximum(x * dx + y * dy - self.start_mm, 0.0)
        turn = np.arcsin(np.minimum(reach / self.radius_mm, 0.95))
        longer = self.radius_mm * turn - reach
        return self.radius_mm * (1 - np.cos(turn)), x + longer * dx, y + longer * dy


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SceneCamera:
    """Where the phone is, and what its lens does."""

    columns: int
    rows: int
    focal_px: float
    turn: Array  # (3, 3) rotation from the table to the camera
    target_mm: Array  # (2,) the point of the table in the middle of the picture
    distance_mm: float
    bow: float = 0.0  # first radial term, of half the long side
    bow_outer: float = 0.0  # second one
    curl: Curl | None = None

    def seen(self, sheet_mm: Array) -> Array:
        """Return where points of the sheet (from its middle) are seen, px."""
        raised = (
            self.curl.raised(sheet_mm) if self.curl else np.column_stack([sheet_mm, np.zeros(len(sheet_mm))])
        )
        own = (raised - [*self.target_mm, 0.0]) @ self.turn.T + [0.0, 0.0, self.distance_mm]
        flat = self.focal_px * own[:, :2] / own[:, 2:]
        return self.middle + flat * self._bowed((flat**2).sum(axis=1))[:, None]

    @property
    def middle(self) -> Array:
        """The picture's middle, px."""
        return np.array([self.columns, self.rows]) / 2

    def _bowed(self, squared_px: Array) -> Array:
        share = squared_px / (max(self.columns, self.rows) / 2) ** 2
        return np.asarray(1 + self.bow * share + self.bow_outer * share**2)

    def shown(self) -> NDArray[np.float32]:
        """Return what each pixel's middle shows, (rows, columns, 4): place on sheet and table."""
        step = _STEP_PX
        across, down = (np.arange(0, side + 2 * step, step) + 0.5 for side in (self.columns, self.rows))
        x, y = np.meshgrid(across - self.columns / 2, down - self.rows / 2)
        true_px = np.linspace(0.0, 1.6, 20_001) * max(self.columns, self.rows) / 2
        bowed_px = true_px * self._bowed(true_px**2)
        rising = np.maximum.accumulate(bowed_px)
        seen_px = np.hypot(x, y)
        inward = np.interp(seen_px, rising, true_px) / np.maximum(seen_px, 1e-9)
        rays = np.stack([x * inward / self.focal_px, y * inward / self.focal_px, np.ones_like(x)], axis=-1)
        rays = rays @ self.turn
        eye = np.array([*self.target_mm, 0.0]) - self.turn.T @ [0.0, 0.0, self.distance_mm]
        table_x, table_y = (eye[k] - eye[2] / rays[..., 2] * rays[..., k] for k in (0, 1))
        u, v = table_x, table_y
        if self.curl:
            height = np.zeros_like(x)
            for _ in range(_ROUNDS):
                far = (-height - eye[2]) / rays[..., 2]
                height, u, v = self.curl.height_and_place(
                    eye[0] + far * rays[..., 0], eye[1] + far * rays[..., 1]
                )
        grid = np.stack([u, v, table_x, table_y], axis=-1).astype(np.float32)
        enlarge = np.array(
            [[1 / step, 0, 0], [0, 1 / step, 0]]
        )  # steps of a power of two are exact in OpenCV
        flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        return np.asarray(cv2.warpAffine(grid, enlarge, (self.columns, self.rows), flags=flags), np.float32)


def turned(tilt_rad: float, azimuth_rad: float, roll_rad: float) -> Array:
    """Return the rotation of a camera tilted about a line of the table, then rolled about its own axis."""
    about = np.array([math.cos(azimuth_rad), math.sin(azimuth_rad), 0.0]) * tilt_rad
    tilt, _ = cv2.Rodrigues(about)
    roll, _ = cv2.Rodrigues(np.array([0.0, 0.0, roll_rad]))
    return np.asarray(roll @ tilt, np.float64)
