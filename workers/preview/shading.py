"""Light on a carved face: a lamp to the upper left, and what the sky does not reach."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.preview.scaling import blurred, scaled

Floats = NDArray[np.float32]

AMBIENT = 0.38  # of the light on a flat face, comes from all round
_SHADOW_SOFT_MM = 0.35  # height over which a shadow's edge fades
_OCCLUSION = ((0.8, 0.30), (3.0, 0.45))  # radius in mm, and how much of the sky a place that deep loses


@dataclass(frozen=True, slots=True)
class Lamp:
    """A lamp far to the upper left of the board."""

    height: float  # of the way up, over the way to the right; the way down the picture is as long as that
    shadow: float  # how much of its light is gone in its shadow

    @property
    def towards(self) -> tuple[float, float, float]:
        """Where it stands, length 1: x right, y up, z towards the eye."""
        length = math.sqrt(2 + self.height**2)
        return -1 / length, 1 / length, self.height / length


DAYLIGHT = Lamp(1.35, 0.55)  # 44 degrees over the board
RAKING = Lamp(0.62, 0.75)  # 24 degrees: fine detail throws long shadows


def light_on(fine_mm: Floats, coarse_mm: Floats, mm_per_px: float, lamp: Lamp = DAYLIGHT) -> Floats:
    """Return how bright each pixel is beside a flat face in the open, which is 1.

    Slopes are lit on the fine grid, so that a groove keeps its edges; shadows and
    the sky, soft by nature, are made on the picture's own.

    Args:
        fine_mm: Depth below the face on a grid some whole times finer, top row first.
        coarse_mm: The same at the picture's pixels.
        mm_per_px: Side of a pixel of the picture.
        lamp: Where the light comes from.

    Source: Lambert's cosine law; shadows by the horizon along the lamp's direction.
    """
    rows, columns = coarse_mm.shape
    fine_mm_per_px = mm_per_px * columns / fine_mm.shape[1]
    facing = scaled(_lambert(fine_mm, fine_mm_per_px, lamp), rows, columns)
    unhidden = 1 - np.float32(lamp.shadow) * _shadow(coarse_mm, mm_per_px, lamp)
    direct = np.float32(1 - AMBIENT) * facing * unhidden
    light: Floats = (direct + np.float32(AMBIENT)) * _openness(coarse_mm, mm_per_px)
    return light


def _lambert(depth_mm: Floats, mm_per_px: float, lamp: Lamp) -> Floats:
    """The lamp's cosine on the face's normal (d/dx, d/dy, 1), over that on a flat face."""
    scale = 0.5 / mm_per_px
    along_x = cv2.Sobel(depth_mm, cv2.CV_32F, 1, 0, ksize=1, scale=scale)
    down_y = cv2.Sobel(depth_mm, cv2.CV_32F, 0, 1, ksize=1, scale=scale)
    x, y, z = (way / lamp.towards[2] for way in lamp.towards)
    length = np.asarray(cv2.magnitude(along_x, down_y))
    np.sqrt(np.add(np.multiply(length, length, out=length), 1, out=length), out=length)
    lit: Floats = np.asarray(cv2.addWeighted(along_x, x, down_y, -y, z), dtype=np.float32)
    np.divide(lit, length, out=lit)
    return np.maximum(lit, 0, out=lit)


def _shadow(depth_mm: Floats, mm_per_px: float, lamp: Lamp) -> Floats:
    """How much of the lamp the face up-light hides, 0 to 1.

    The horizon is the highest of all points towards the lamp, each lowered by the
    ray's fall on the way; built by doubling the reach, so log2 of it in steps.
    """
    fall_mm = lamp.height * mm_per_px  # a step of one pixel left and one up
    reach_px = max(1, int(depth_mm.max() / fall_mm) + 1)
    horizon: Floats = -depth_mm
    step = 1
    while step <= reach_px and step < min(depth_mm.shape):
        raised = horizon[:-step, :-step] - np.float32(step * fall_mm)
        horizon = horizon.copy()
        np.maximum(horizon[step:, step:], raised, out=horizon[step:, step:])
        step *= 2
    hidden: Floats = np.clip((horizon + depth_mm) * np.float32(1 / _SHADOW_SOFT_MM), 0, 1)
    return hidden


def _openness(depth_mm: Floats, mm_per_px: float) -> Floats:
    """1 in the open, less the farther a place lies below the mean of its surroundings."""
    open_sky = np.ones_like(depth_mm)
    for radius_mm, strength in _OCCLUSION:
        below = np.maximum(depth_mm - blurred(depth_mm, radius_mm / mm_per_px), 0)
        open_sky /= 1 + np.float32(strength / radius_mm) * below
    return open_sky
