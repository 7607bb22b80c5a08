"""The edge of a picture without greys, evened out between its steps.

Such a picture says of every pixel only what it is; its edge is a stair of whole
pixels. A soft copy tells where between two pixels a smooth edge runs: where it
has the tone that an edge has. Half-way between ink and paper is that tone beside
broad areas only: a line two pixels wide is all lighter than that in the soft copy,
and lost a fifth of its width. So the tone is taken from the soft copy itself, as
its mean along the stair near by. Where the stair is straight the edge then stays
upon it, however thin the line.
"""

from __future__ import annotations

import math

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

Points = NDArray[np.float64]
Indices = NDArray[np.int32]

SOFTENED_PX = 1.2  # sigma: evens out steps of a pixel (measured: 640 cubics for a circle become 12)
NEAR_POINTS = 8  # to either side, whose tones are looked at
LEAST_STRAIGHTNESS = 0.85  # of the way to them: beyond a corner the tone is that of another side
LEAST_NEAR = 3  # on both sides, or the point stands beside a corner
TRIMMED = 4  # the lightest and the darkest quarter are left out: they stand in corners and notches
INK_BELOW = 128


def only_steps(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Return a picture with every pixel all ink or all paper, so that its edge lies half-way between two."""
    return np.where(pixels < INK_BELOW, np.uint8(0), np.uint8(255))


def evened(steps: Points, starts: Indices, pixels: NDArray[np.uint8], border_px: int) -> Points:
    """Return the points of an edge, each moved on the line between the two pixel centres that it parts.

    As none leaves its line, loops that did not cross still do not.

    Args:
        steps: Points half-way between pixel centres (n, 2), px.
        starts: Where each loop starts, and the end of the last (m + 1).
        pixels: The picture, with a border.
        border_px: Its width.
    """
    soft = np.asarray(cv2.GaussianBlur(pixels, (0, 0), SOFTENED_PX), np.uint8)
    moved: Points = _evened(steps, starts, pixels, soft, border_px)
    return moved


@njit(cache=True)
def _evened(
    steps: Points, starts: Indices, pixels: NDArray[np.uint8], soft: NDArray[np.uint8], border_px: int
) -> Points:
    moved = steps.copy()
    near = np.empty(2 * NEAR_POINTS + 1, np.float64)
    tones = np.empty((len(steps), 2), np.float64)  # of the soft copy, at the inked and the bare centre
    for i in range(len(steps)):
        tones[i] = _tones(steps[i], pixels, soft, border_px)
    for loop in range(len(starts) - 1):
        ring, ring_tones = steps[starts[loop] : starts[loop + 1]], tones[starts[loop] : starts[loop + 1]]
        for i in range(len(ring)):
            tone = _tone_beside(ring, ring_tones, i, near)
            ink, paper = ring_tones[i]
            share = min(max((tone - ink) / (paper - ink), 0.0), 1.0) if paper > ink else 0.5
            column, row = _before(ring[i], border_px)
            is_ink_first = pixels[row, column] < INK_BELOW
            axis = 0 if ring[i, 0] == math.floor(ring[i, 0]) else 1
            moved[starts[loop] + i, axis] += share - 0.5 if is_ink_first else 0.5 - share
    return moved


@njit(cache=True)
def _tone_beside(ring: Points, tones: Points, at: int, near: Points) -> float:
    """Return the tone that the edge has near one of its points: the middle half's mean, near by.

    Beside a corner and at the end of a line that is the point's own.
    """
    near[0] = (tones[at, 0] + tones[at, 1]) / 2
    count = 1
    ends = np.empty((2, 2))
    for way in (-1, 1):
        walked = 0.0
        before = ring[at]
        first = count
        for k in range(1, min(NEAR_POINTS, len(ring) // 2) + 1):
            index = (at + way * k) % len(ring)
            here = ring[index]
            walked += math.hypot(here[0] - before[0], here[1] - before[1])
            if math.hypot(here[0] - ring[at, 0], here[1] - ring[at, 1]) < LEAST_STRAIGHTNESS * walked:
                break
            near[count] = (tones[index, 0] + tones[index, 1]) / 2
            count += 1
            before = here
        if count - first < LEAST_NEAR:
            return float(near[0])
        side = (way + 1) // 2
        ends[side, 0], ends[side, 1] = before[0] - ring[at, 0], before[1] - ring[at, 1]
    if ends[0, 0] * ends[1, 0] + ends[0, 1] * ends[1, 1] > 0.0:
        return float(near[0])
    middle = np.sort(near[:count])[count // TRIMMED : count - count // TRIMMED]
    return float(middle.mean())


@njit(cache=True)
def _before(step: Points, border_px: int) -> tuple[int, int]:
    """Return column and row of the left or upper of the two pixels that a point parts."""
    return math.ceil(step[0]) - 1 + border_px, math.ceil(step[1]) - 1 + border_px


@njit(cache=True)
def _tones(
    step: Points, pixels: NDArray[np.uint8], soft: NDArray[np.uint8], border_px: int
) -> tuple[float, float]:
    """Return the soft tones of the inked and of the bare pixel that a point parts."""
    column, row = _before(step, border_px)
    is_across = step[0] == math.floor(step[0])
    one = float(soft[row, column])
    other = float(soft[row, column + 1] if is_across else soft[row + 1, column])
    return (one, other) if pixels[row, column] < INK_BELOW else (other, one)
