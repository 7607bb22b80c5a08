"""Grey areas of a drawing grouped into a few tones, darker meaning deeper.

The tones are told where the drawing is even, away from edges, whose blur passes through every grey.
Paper is a tone of its own; the rest is split where the classes differ most. Each tier, a tone with all
that are darker, then gets a coverage of its own: an edge lies half way between the two tones that meet
there, whichever they are.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.illumination import PaperLight

PALEST = 0.72  # of the paper's light: paler areas cannot be told from shade on the paper
_BINS = 256
_EVEN = 24  # 8-bit step within the window: no edge there
_WINDOW_MM = 0.5
_LEAST_STEP = 0.10  # of the paper's light, between neighbouring tones
_LEAST_MM2 = 15.0
_EDGE_MM = 0.45  # over which a sharp photo goes from paper to ink

Bytes = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class Tier:
    """One tone with all that are darker."""

    level: float  # light of the tone over the paper's
    coverage: Bytes  # 0 ink, 255 paper


def tone_tiers(
    light: NDArray[np.uint16], paper: PaperLight, px_per_mm: float, tones_count: int
) -> tuple[Tier, ...]:
    """Return the tiers of a drawing, all ink first, the darkest last; fewer where fewer tones are seen.

    Args:
        light: (rows, columns) linear light of the sheet, laid square.
        paper: The light of bare paper in cells, as ``light_under_tones`` gives it.
        px_per_mm: Scale of the light.
        tones_count: How many tones to tell apart, the paper among them.
    """
    reflected = _reflected(light, paper)
    levels = _levels(reflected, px_per_mm, tones_count - 1)
    if not levels:
        return ()
    steps = np.array([255.0, *(255.0 * level for level in levels)], np.float32)
    darkest, palest = _meeting(reflected, steps, px_per_mm)
    tiers = []
    for level in levels:
        limit = 255.0 * level + 0.5
        between = (reflected - darkest) * (255.0 / np.maximum(palest - darkest, 1.0))
        coverage = np.where(palest <= limit, 0.0, np.where(darkest > limit, 255.0, between))
        tiers.append(Tier(level, np.clip(coverage + 0.5, 0, 255).astype(np.uint8)))
    return tuple(tiers)


def split_levels(counts: NDArray[np.int64], classes_count: int) -> tuple[int, ...]:
    """Return where a histogram is best split: the first bin of each class but the first.

    Args:
        counts: How often each level occurs.
        classes_count: Into how many classes of neighbouring levels.

    Source: Otsu 1979, for several classes: the sum of (sum of levels)^2 / count over the classes is
    largest where the variance between them is; found exactly, class by class.

    >>> split_levels(np.array([8, 7, 2, 6, 9, 4]), 2)
    (3,)
    """
    bins = len(counts)
    count = np.concatenate([[0.0], np.cumsum(counts)])
    total = np.concatenate([[0.0], np.cumsum(counts * np.arange(bins))])
    held = count[None, :] - count[:, None]  # [a, b]: of the bins a to b - 1
    summed = total[None, :] - total[:, None]
    worth = np.where(held > 0, summed**2 / np.maximum(held, 1e-9), 0.0)
    worth = np.where(np.arange(bins + 1)[:, None] < np.arange(bins + 1)[None, :], worth, -np.inf)
    best, starts = worth[0], []
    for _ in range(classes_count - 1):
        joined = best[:, None] + worth
        starts.append(np.argmax(joined, axis=0))
        best = joined.max(axis=0)
    end, splits = bins, []
    for start in reversed(starts):
        end = int(start[end])
        splits.append(end)
    return tuple(reversed(splits))


def _reflected(light: NDArray[np.uint16], paper: PaperLight) -> Bytes:
    """Return the light over the paper's, 255 for bare paper."""
    level = cv2.resize(paper.level, light.shape[::-1], interpolation=cv2.INTER_LINEAR)
    return np.asarray(np.clip(light * (255.0 / level) + 0.5, 0, 255), np.uint8)


def _levels(reflected: Bytes, px_per_mm: float, dark_count: int) -> tuple[float, ...]:
    """Return the levels of the tones but paper, the palest first, each well apart from the next."""
    side = 2 * max(1, round(_WINDOW_MM * px_per_mm / 2)) + 1
    window = np.ones((side, side), np.uint8)
    even = cv2.subtract(cv2.dilate(reflected, window), cv2.erode(reflected, window)) < _EVEN
    values = reflected[even & (reflected < 255 * PALEST)]
    counts = np.bincount(values, minlength=_BINS)
    for classes_count in range(dark_count, 0, -1):
        bounds = (0, *split_levels(counts, classes_count), _BINS)
        parts = [counts[a:b] for a, b in pairwise(bounds)]
        if min(part.sum() for part in parts) < _LEAST_MM2 * px_per_mm**2:
            continue
        middles = [start + _median_bin(part) for start, part in zip(bounds[:-1], parts, strict=True)]
        if all(b - a >= 255 * _LEAST_STEP for a, b in pairwise(middles)):
            return tuple(middle / 255.0 for middle in reversed(middles))
    return ()


def _median_bin(counts: NDArray[np.int64]) -> int:
    return int(np.searchsorted(np.cumsum(counts), counts.sum() / 2))


def _meeting(
    reflected: Bytes, steps: NDArray[np.float32], px_per_mm: float
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return the darkest and the palest tone within an edge's width of each pixel."""
    bounds = (steps[:-1] + steps[1:]) / 2
    nearest = steps[(np.arange(_BINS)[:, None] < bounds[None]).sum(axis=1)].astype(np.uint8)
    tones = cv2.medianBlur(nearest[reflected], 3)
    side = 2 * max(2, round(_EDGE_MM * px_per_mm)) + 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    return cv2.erode(tones, disc).astype(np.float32), cv2.dilate(tones, disc).astype(np.float32)
