"""The sheet's surface as the camera saw it: flat, or rolled up from a straight line onwards.

Paper bends but does not stretch, so a lifted or curled sheet is part of a cylinder: one
direction, one line where it leaves the table, one curvature. With the four corners these
explain the bow of all four sides at once, which no homography can, and they say where
every point in between went.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.rectification.perspective import FOCAL_TO_LONG_SIDE

Array = NDArray[np.float64]

# The parameters of a surface, in one array so that they can be fitted.
CORNERS = slice(0, 8)  # x, y of TL, TR, BR, BL if the sheet lay flat, px
CURL_ANGLE, CURL_START, CURL_BEND, LOG_FOCAL, LENS_BOW, LENS_RIM = 8, 9, 10, 11, 12, 13
PARAMETERS_COUNT = 14


def flat_parameters(corners_px: Array) -> Array:
    """Return the parameters of a flat sheet with these corners, (4, 2) TL, TR, BR, BL."""
    return np.concatenate([corners_px.ravel(), [0.0, 0.0, 0.0, math.log(FOCAL_TO_LONG_SIDE), 0.0, 0.0]])


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """Where each point of the sheet is seen.

    ``parameters``: the corners if the sheet lay flat (px), the curl's direction (radians), where
    it starts (mm from the middle, in that direction), its curvature (1/m), the logarithm of the
    focal length over the picture's long side, and how far the lens moves the middle of the long
    side's ends outwards (share of the distance from the picture's middle), by its first radial term
    and by its second.
    """

    width_mm: float
    height_mm: float
    frame_px: tuple[int, int]  # columns, rows
    parameters: Array
    bows: tuple[Array, Array, Array, Array] | None  # what the model leaves at T, R, B, L; Legendre, px
    inward: Array  # (4, 2) unit, into the sheet
    residual_px: float  # root mean square of the sides from the model, before ``bows`` are added

    def seen_px(self, sheet_mm: Array) -> Array:
        """Return where points of the sheet (mm from its top left corner, y down) are seen, px."""
        points = projected(
            self.parameters, np.ascontiguousarray(sheet_mm), self.width_mm, self.height_mm, *self.frame_px
        )
        return np.asarray(points, np.float64) if self.bows is None else points + self._left_over(sheet_mm)

    def _left_over(self, sheet_mm: Array) -> Array:
        """Return what the model leaves at the sides, carried into the sheet.

        Source: a Coons patch (Coons 1967) of the four sides' displacements, which vanish at the corners.
        """
        across, down = sheet_mm[:, 0] / self.width_mm, sheet_mm[:, 1] / self.height_mm
        legval = np.polynomial.legendre.legval
        if self.bows is None:
            return np.zeros_like(sheet_mm)
        top, right, bottom, left = self.bows
        amounts = np.stack(
            [
                legval(2 * across - 1, top) * (1 - down),
                legval(2 * down - 1, right) * across,
                legval(1 - 2 * across, bottom) * down,
                legval(1 - 2 * down, left) * (1 - across),
            ]
        )
        return np.asarray(amounts.T @ self.inward, np.float64)

    @property
    def corners_px(self) -> Array:
        """The corners as seen: TL, TR, BR, BL."""
        return self.seen_px(corners_mm(self.width_mm, self.height_mm))

    @property
    def is_flat(self) -> bool:
        """Whether a homography says all: no curl, no bow of the lens, nothing left over at the sides."""
        bent = self.parameters[[CURL_BEND, LENS_BOW, LENS_RIM]]
        return self.bows is None and not bent.any()

    @property
    def lift_mm(self) -> float:
        """How far the most lifted corner of the sheet stands off the plane of the rest."""
        angle_rad, start_mm, bend_per_m = self.parameters[CURL_ANGLE : CURL_BEND + 1]
        direction = np.array([math.cos(angle_rad), math.sin(angle_rad)])
        own = corners_mm(self.width_mm, self.height_mm) - np.array([self.width_mm, self.height_mm]) / 2
        reach_mm = max(0.0, float((own @ direction).max()) - float(start_mm))
        return abs(float(bend_per_m)) / 1000.0 * reach_mm**2 / 2

    @property
    def lens_bow(self) -> float:
        """How far the lens moves the middle of the long side's ends outwards, by both its terms."""
        return float(self.parameters[LENS_BOW] + self.parameters[LENS_RIM])


def corners_mm(width_mm: float, height_mm: float) -> Array:
    """Return the corners of the flat sheet: TL, TR, BR, BL."""
    return np.array([(0, 0), (width_mm, 0), (width_mm, height_mm), (0, height_mm)], np.float64)


@njit(cache=True, nogil=True)
def _flat_sheet(parameters: Array, width_mm: float, height_mm: float) -> tuple[Array, Array]:
    """Return two columns of the flat sheet's homography, of mm to the right and mm down.

    Source: Heckbert 1989 for the homography of a rectangle to four points.
    """
    x0, y0, x1, y1, x2, y2, x3, y3 = parameters[:8]
    sx, sy = x0 - x1 + x2 - x3, y0 - y1 + y2 - y3
    ax, ay, bx, by = x1 - x2, y1 - y2, x3 - x2, y3 - y2
    cross = ax * by - bx * ay
    g, h = (sx * by - bx * sy) / cross, (ax * sy - sx * ay) / cross
    u = np.array([x1 - x0 + g * x1, y1 - y0 + g * y1, g]) / width_mm
    v = np.array([x3 - x0 + h * x3, y3 - y0 + h * y3, h]) / height_mm
    return u, v


@njit(cache=True, nogil=True)
def unlike_rectangle(
    parameters: Array, width_mm: float, height_mm: float, columns: int, rows: int
) -> tuple[float, float]:
    """Return how far from a rectangle of this size the flat sheet's corners are, for the camera.

    Returns:
        The cosine between its two directions, and the logarithm of their scales' ratio; both 0 for it.
    """
    u, v = _flat_sheet(parameters, width_mm, height_mm)
    focal = math.exp(parameters[11]) * max(columns, rows)
    centre = np.array([columns / 2.0, rows / 2.0])
    for side in (u, v):
        for axis in range(2):
            side[axis] = (side[axis] - centre[axis] * side[2]) / focal
    long_u, long_v = math.sqrt((u * u).sum()), math.sqrt((v * v).sum())
    return (u * v).sum() / (long_u * long_v), math.log(long_u / long_v)


@njit(cache=True, nogil=True)
def projected(
    parameters: Array, sheet_mm: Array, width_mm: float, height_mm: float, columns: int, rows: int
) -> Array:
    """Return where points of the sheet are seen by a pinhole camera, px.

    The flat sheet's homography gives the camera's turn once its focal length is known, and with
    that where a point above the table is seen. The arc's sine and cosine are written as series,
    so that a flat sheet is no special case; at a turn of 1 rad they miss by under 1 %.

    Args:
        parameters: See ``Surface``.
        sheet_mm: (n, 2), from the sheet's top left corner, y down.
        width_mm: Of the sheet.
        height_mm: Of the sheet.
        columns: Of the picture.
        rows: Of the picture.

    Source: Brown 1966 for the bow of a lens, its first two radial terms.
    """
    x0, y0 = parameters[0], parameters[1]
    u, v = _flat_sheet(parameters, width_mm, height_mm)
    focal = math.exp(parameters[11]) * max(columns, rows)
    cx, cy = columns / 2.0, rows / 2.0
    ux, uy, uz = (u[0] - cx * u[2]) / focal, (u[1] - cy * u[2]) / focal, u[2]
    vx, vy, vz = (v[0] - cx * v[2]) / focal, (v[1] - cy * v[2]) / focal, v[2]
    length = math.sqrt(math.sqrt((ux * ux + uy * uy + uz * uz) * (vx * vx + vy * vy + vz * vz)))
    nx, ny, nz = -(uy * vz - uz * vy) / length, -(uz * vx - ux * vz) / length, -(ux * vy - uy * vx) / length
    up = np.array([focal * nx + cx * nz, focal * ny + cy * nz, nz])
    dx, dy = math.cos(parameters[8]), math.sin(parameters[8])
    bend, half_side = parameters[10] / 1000.0, max(columns, rows) / 2.0
    seen = np.empty((len(sheet_mm), 2))
    for k in range(len(sheet_mm)):
        x, y = sheet_mm[k, 0], sheet_mm[k, 1]
        along = max((x - width_mm / 2) * dx + (y - height_mm / 2) * dy - parameters[9], 0.0)
        turn = bend * along
        z = 0.5 * turn * along * (1.0 - turn * turn / 12.0)
        drawn_in = -turn * turn * along / 6.0 * (1.0 - turn * turn / 20.0)
        x += drawn_in * dx
        y += drawn_in * dy
        depth = u[2] * x + v[2] * y + 1.0 + up[2] * z
        across = (u[0] * x + v[0] * y + x0 + up[0] * z) / depth - cx
        down = (u[1] * x + v[1] * y + y0 + up[1] * z) / depth - cy
        off = (across * across + down * down) / (half_side * half_side)
        bow = 1.0 + parameters[12] * off + parameters[13] * off * off
        seen[k, 0] = cx + across * bow
        seen[k, 1] = cy + down * bow
    return seen
