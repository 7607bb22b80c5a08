"""Connected ink in a picture: joined at sides and corners; paper at sides only.

The half-tones beside a part belong to it, unless another part stands beside them too.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

MIDDLE = 128  # below it a pixel is ink
_AROUND = np.ones((3, 3), np.uint8)


def parts_count(pixels: NDArray[np.uint8]) -> int:
    """Return how many parts the ink has."""
    return cv2.connectedComponents(_ink(pixels), connectivity=8)[0] - 1


def ink_px2(pixels: NDArray[np.uint8]) -> float:
    """Return the area of the ink, px2: half-tones count at its edge only, so grey paper adds nothing."""
    ink = _ink(pixels)
    near, deep = cv2.dilate(ink, _AROUND), cv2.erode(ink, _AROUND)
    edge = pixels[near > deep]
    return float(np.count_nonzero(deep)) + float(np.sum(255 - edge, dtype=np.int64)) / 255


def flipped_at(pixels: NDArray[np.uint8], row: int, column: int) -> NDArray[np.uint8]:
    """Return the picture with the part under a pixel changed to the other tone."""
    if pixels[row, column] < MIDDLE:
        return _without(pixels, _part_at(pixels, row, column, connectivity=8))
    negative = 255 - pixels
    return 255 - _without(negative, _part_at(negative, row, column, connectivity=4))


def without_specks(pixels: NDArray[np.uint8], below_px2: float) -> NDArray[np.uint8]:
    """Return the picture without ink parts that cover less than an area, px2."""
    _, labels, figures, _ = cv2.connectedComponentsWithStats(_ink(pixels), connectivity=8)
    is_candidate = figures[:, cv2.CC_STAT_AREA] < 2 * below_px2  # each of its pixels is at least half covered
    is_candidate[0] = False
    if not is_candidate.any():
        return pixels
    candidate = np.where(is_candidate[labels], labels, 0).astype(np.float32)
    near = cv2.dilate(candidate, _AROUND).astype(np.int32)  # the half-tones beside a part counted in
    counted = (near > 0) & ((labels == 0) | (labels == near))
    covered = np.bincount(near[counted], 255.0 - pixels[counted], len(figures)) / 255
    is_small = is_candidate & (covered < below_px2)
    return _without(pixels, is_small[labels])


def _part_at(pixels: NDArray[np.uint8], row: int, column: int, connectivity: int) -> NDArray[np.bool_]:
    labels = cv2.connectedComponents(_ink(pixels), connectivity=connectivity)[1]
    found: NDArray[np.bool_] = labels == labels[row, column]
    return found


def _without(pixels: NDArray[np.uint8], chosen: NDArray[np.bool_]) -> NDArray[np.uint8]:
    """Return the picture with chosen ink made paper, and the half-tones that are no other ink's."""
    other = (_ink(pixels) > 0) & ~chosen
    near_other = cv2.dilate(other.astype(np.uint8), _AROUND) > 0
    near = cv2.dilate(chosen.astype(np.uint8), _AROUND) > 0
    changed = pixels.copy()
    changed[chosen | (near & ~near_other)] = 255
    return changed


def _ink(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    return (pixels < MIDDLE).astype(np.uint8)
