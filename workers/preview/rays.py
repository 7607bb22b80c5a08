"""What each pixel of a camera sees of a height field."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.preview.camera import Camera
from workers.preview.levels import depth_between
from workers.preview.part import Part

Floats = NDArray[np.float32]
Doubles = NDArray[np.float64]

_LEAP_PX = 8
_TOUCHING_PX = 1e-6  # a ray that starts on the face has met it, whatever its last digit
_HALVINGS = 6  # of the last step of a ray, so that it ends on the surface within a sixty-fourth of a pixel


def hits(camera: Camera, depth_mm: Floats, part: Part, table_mm: float, samples: int) -> Floats:
    """Return where each ray first meets the surface, in pixels of the part: (rows, columns, 3).

    The third is the height there over the face, in the same pixels, so never above 0.

    Args:
        camera: Whose rays they are.
        depth_mm: The surface, at the pixels of the part.
        part: The pixels.
        table_mm: Depth of the table, which goes on beyond the part.
        samples: Rays along each side of a picture's pixel.
    """
    side_mm = part.mm_per_px
    eye = np.array(
        [
            (camera.eye_mm[0] - part.left_mm) / side_mm - 0.5,
            (part.top_mm - camera.eye_mm[1]) / side_mm - 0.5,
            camera.eye_mm[2] / side_mm,
        ]
    )
    turned = np.array([1.0, -1.0, 1.0])
    right, down = camera.right * turned / samples, camera.down * turned / samples
    middle = np.array(camera.middle_px) * samples - 0.5
    corner = camera.forward * turned * camera.focal_px - right * middle[0] - down * middle[1]
    met = np.empty((camera.rows * samples, camera.columns * samples, 3), dtype=np.float32)
    depth_px = depth_mm * np.float32(1 / side_mm)
    _meet(depth_px, _highest_near(depth_px), table_mm / side_mm, eye, corner, right, down, met)
    return met


def _highest_near(depth_px: Floats) -> Floats:
    """The least depth in each block and all round it: above that a ray may leap a block's length."""
    rows, columns = (-(-side // _LEAP_PX) * _LEAP_PX for side in depth_px.shape)
    padded = np.pad(depth_px, ((0, rows - depth_px.shape[0]), (0, columns - depth_px.shape[1])), mode="edge")
    blocks = padded.reshape(rows // _LEAP_PX, _LEAP_PX, columns // _LEAP_PX, _LEAP_PX).min(axis=(1, 3))
    return np.asarray(cv2.erode(blocks, np.ones((3, 3), dtype=np.uint8)), dtype=np.float32)


@njit(cache=True, nogil=True)
def _within(start: float, way: float, side: float, first: float, last: float) -> tuple[float, float]:
    """The stretch of a ray from first to last in which one coordinate lies from 0 to a side."""
    if way == 0.0:
        return (first, last) if 0.0 <= start <= side else (last, last)
    one, other = -start / way, (side - start) / way
    return max(first, min(one, other)), min(last, max(one, other))


@njit(cache=True, nogil=True)
def _reach(
    depth_px: Floats,
    near_px: Floats,
    eye: Doubles,
    way: tuple[float, float, float],
    first: float,
    last: float,
) -> float:
    """How far along its way a ray meets the surface; a pixel a step, leaping where nothing is near."""
    step = 1.0 / max(math.hypot(way[0], way[1]), -way[2])
    leap = _LEAP_PX * step
    before = reach = first
    while reach < last:
        x, y, z = eye[0] + reach * way[0], eye[1] + reach * way[1], eye[2] + reach * way[2]
        if z + leap * way[2] > -near_px[int(y) // _LEAP_PX, int(x) // _LEAP_PX]:
            reach = min(reach + leap, last)
            before = reach
        elif z <= -depth_between(depth_px, x, y) + _TOUCHING_PX:
            break
        else:
            before = reach
            reach = min(reach + step, last)
    for _ in range(_HALVINGS if before < reach else 0):
        half = (before + reach) / 2
        x, y, z = eye[0] + half * way[0], eye[1] + half * way[1], eye[2] + half * way[2]
        if z <= -depth_between(depth_px, x, y):
            reach = half
        else:
            before = half
    return reach


@njit(cache=True, nogil=True)
def _meet(
    depth_px: Floats,
    near_px: Floats,
    table_px: float,
    eye: Doubles,
    corner: Doubles,
    right: Doubles,
    down: Doubles,
    met: Floats,
) -> None:
    """Follow each ray from the face's level to where it meets the surface, or the table beyond."""
    rows, columns, _ = met.shape
    high, wide = depth_px.shape
    for row in range(rows):
        for column in range(columns):
            way_x = corner[0] + column * right[0] + row * down[0]
            way_y = corner[1] + column * right[1] + row * down[1]
            way_z = corner[2] + column * right[2] + row * down[2]
            on_table = -(eye[2] + table_px) / way_z
            first, last = _within(eye[0], way_x, wide - 1.0, -eye[2] / way_z, on_table)
            first, last = _within(eye[1], way_y, high - 1.0, first, last)
            reach = on_table
            if first < last:
                reach = _reach(depth_px, near_px, eye, (way_x, way_y, way_z), first, last)
                if reach >= last:
                    reach = on_table
            met[row, column, 0] = eye[0] + reach * way_x
            met[row, column, 1] = eye[1] + reach * way_y
            met[row, column, 2] = eye[2] + reach * way_z
