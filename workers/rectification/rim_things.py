"""Things on a sheet's rim, told from a drawing that one of them touches.

A thumb or a coin reaches in but little, and is not much longer than it is wide; a ruler is long, but lies
along the rim. A frame that a coin touches reaches in but little too, is long, and comes to the rim in that
place alone: there the coin is what is wide, and is cut off.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.runs import Parts

RIM_MM = 1.2
_REACH_MM = 25.0  # a thumb or a coin over the sheet's edge reaches in no farther
_LENGTH_MM = 60.0  # along the rim, three fingers side by side
_ALONG_RIM = 0.5  # of a longer thing's length
_HALF_WIDTH_MM = 3.0  # no line that touches a thing is so wide
_SOFT_MM = 0.8  # beside a thing: its own edge and shadow

Mask = NDArray[np.bool_]


def rim_parts(ink: Parts, on_rim: Mask, shape: tuple[int, ...], px_per_mm: float) -> tuple[Mask, Mask]:
    """Return which parts are things on the sheet's rim, and which are drawn and touched by such a thing.

    Args:
        ink: All parts.
        on_rim: (count,) those that come to the rim.
        shape: Rows and columns of the picture.
        px_per_mm: Its scale.
    """
    reaching = on_rim & (ink.depth_px < _REACH_MM * px_per_mm)
    thing = reaching.copy()
    for own in np.flatnonzero(reaching):
        runs = ink.runs[ink.part == own]
        length_px = max(np.ptp(runs[:, 0]) + 1, runs[:, 2].max() - runs[:, 1].min())
        along_px = _along_rim_px(runs, shape, RIM_MM * px_per_mm)
        thing[own] = length_px < _LENGTH_MM * px_per_mm or along_px > _ALONG_RIM * length_px
    return thing, reaching & ~thing


def cut_off(coverage: NDArray[np.uint8], ink: Parts, touched: Mask, px_per_mm: float) -> None:
    """Make paper of the things on the rim that drawn parts are touched by, in place.

    Args:
        coverage: The picture the parts are of.
        ink: Its parts.
        touched: (count,) those that are drawn.
        px_per_mm: Its scale.

    Source: opening by a disc, by distances (Serra, Image Analysis and Mathematical Morphology, 1982).
    """
    runs = ink.runs[touched[ink.part]]
    if not len(runs):
        return
    mask = np.zeros(coverage.shape, np.uint8)
    for row, first, last in runs:
        mask[row, first:last] = 1
    half_px = _HALF_WIDTH_MM * px_per_mm
    bordered = np.pad(mask, round(2 * half_px), mode="edge")  # a thing goes on beyond the sheet
    wide = (cv2.distanceTransform(bordered, cv2.DIST_L2, 5) > half_px).astype(np.uint8)
    if not wide.any():
        return
    near = cv2.distanceTransform(1 - wide, cv2.DIST_L2, 5) <= half_px + _SOFT_MM * px_per_mm
    inner = slice(round(2 * half_px), -round(2 * half_px))
    labels = cv2.connectedComponents(near[inner, inner].astype(np.uint8))[1]
    rim_px = max(1, round(RIM_MM * px_per_mm))
    rims = (labels[:rim_px], labels[-rim_px:], labels[:, :rim_px], labels[:, -rim_px:])
    at_rim = np.unique(np.concatenate([rim.ravel() for rim in rims]))
    coverage[np.isin(labels, at_rim[at_rim > 0])] = 255


def _along_rim_px(runs: NDArray[np.int32], shape: tuple[int, ...], rim_px: float) -> int:
    """Return how much of the picture's rim some runs touch."""
    rows, columns = shape
    row, first, last = runs.T
    touched = 0
    for near in (row < rim_px, row >= rows - rim_px):
        covered = np.zeros(columns + 1, np.int64)
        np.add.at(covered, first[near], 1)
        np.add.at(covered, last[near], -1)
        touched += int((covered.cumsum() > 0).sum())
    return touched + sum(len(np.unique(row[near])) for near in (first < rim_px, last > columns - rim_px))
