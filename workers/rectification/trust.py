"""How far each of several photos is to be trusted, place by place on the sheet.

Less in glare and shade, still less on their borders, and, of three or more, less where a photo differs
from the rest, as under a hand. Where the best photo is sound it counts almost alone, so that edges stay
as sharp as they are in it.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.light_faults import LightFaults
from workers.rectification.shots import Shot

_BASE_COST = 0.05
_STEEP_COST, _BLOWN_COST, _BRIGHT_COST, _DARK_COST, _STRANGE_COST = 2.0, 3.0, 2.0, 1.0, 3.0
_FREE_OFF_TREND = 0.08
_STRANGE = 0.25  # of the paper's light: a cell that differs so much from the others' is covered
_SHARPNESS = 3.0  # power of the cost: how alone the best counts
_SMOOTH_CELLS = 1.5
_NEAR = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (5, 5))

Array = NDArray[np.float32]


def trusts(shots: Sequence[Shot]) -> list[Array]:
    """Return what each photo counts in each cell; together 1.

    Args:
        shots: Sheets laid on each other.
    """
    shape = shots[0].paper.level.shape
    least_mm = min(shot.error_mm for shot in shots)
    of_light = [_cost(shot.faults) for shot in shots]
    cells = [_evened_cells(shot, shape) for shot in shots]
    middle = _middle(np.stack(cells), np.asarray(1.0 / np.stack(of_light), np.float32))
    weights = []
    for shot, own, cell in zip(shots, of_light, cells, strict=True):
        cost = own + (shot.error_mm - least_mm)
        if len(shots) > 2:
            strange = (np.abs(cell - middle) > _STRANGE).astype(np.float32)
            cost = cost + _STRANGE_COST * cv2.GaussianBlur(cv2.dilate(strange, _NEAR), (0, 0), 1.0)
        smooth = cv2.GaussianBlur(cost, (0, 0), _SMOOTH_CELLS, borderType=cv2.BORDER_REPLICATE)
        weights.append(smooth**-_SHARPNESS)
    total = np.sum(weights, axis=0)
    return [np.asarray(weight / total, np.float32) for weight in weights]


def _cost(faults: LightFaults) -> Array:
    """Return how little a photo's cells are to be trusted for its light."""
    off = np.sign(faults.off_trend) * np.maximum(np.abs(faults.off_trend) - _FREE_OFF_TREND, 0.0)
    brightness = np.where(off > 0, _BRIGHT_COST * off, -_DARK_COST * off)
    border = cv2.dilate(_steepness(faults.off_trend), _NEAR)
    cost = _BASE_COST + _STEEP_COST * border + _BLOWN_COST * faults.blown + brightness
    return np.asarray(cost, np.float32)


def _steepness(off_trend: Array) -> Array:
    """Return by how much the light changes from cell to cell, a lamp's own falloff left out."""
    across = cv2.Sobel(off_trend, cv2.CV_32F, 1, 0, scale=1 / 8)
    down = cv2.Sobel(off_trend, cv2.CV_32F, 0, 1, scale=1 / 8)
    return np.asarray(np.hypot(across, down), np.float32)


def _evened_cells(shot: Shot, shape: tuple[int, ...]) -> Array:
    """Return the mean light of each cell over the paper's."""
    mean = cv2.resize(shot.light, shape[::-1], interpolation=cv2.INTER_AREA).astype(np.float32)
    return np.asarray(mean / shot.paper.level, np.float32)


def _middle(values: Array, weights: Array) -> Array:
    """Return the weighted median over the first axis: what the photos that can be trusted show."""
    order = np.argsort(values, axis=0, kind="stable")
    reached = np.cumsum(np.take_along_axis(weights, order, axis=0), axis=0)
    at = np.argmax(reached >= reached[-1] / 2, axis=0)[None]
    chosen = np.take_along_axis(np.take_along_axis(values, order, axis=0), at, axis=0)
    return np.asarray(chosen[0], np.float32)
