"""What is no drawing: specks, pencil that stood out, and things over the sheet's rim."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

SPECK_MM2 = 0.25  # smaller than the dot of the finest marker
PINHOLE_MM2 = 0.12  # smaller than any hole somebody draws; grain of the paper through dry ink
_SURE_INK = 96  # coverage that at least the middle of an inked part reaches (62 % ink)
_RIM_MM = 1.2


@dataclass(frozen=True, slots=True, eq=False)
class Cleaned:
    """The coverage without what is no drawing, and what was taken out."""

    coverage: NDArray[np.uint8]
    specks_count: int
    faint_count: int
    pinholes_count: int
    rim_count: int


def cleaned(coverage: NDArray[np.uint8], px_per_mm: float, rim: bool) -> Cleaned:
    """Return the coverage with specks, faint parts and pinholes gone.

    Args:
        coverage: 0 ink, 255 paper.
        px_per_mm: Its scale.
        rim: Whether parts that touch the raster's rim are things on the sheet's edge.
    """
    result = coverage.copy()
    ink = (coverage < 128).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(ink, connectivity=8, ltype=cv2.CV_32S)
    darkest = _extreme_of_each(labels, coverage, count)
    area_mm2 = stats[:, cv2.CC_STAT_AREA] / px_per_mm**2
    speck = area_mm2 < SPECK_MM2
    faint = ~speck & (darkest > _SURE_INK)
    on_rim = (
        _touches_rim(stats, coverage.shape, max(1, round(_RIM_MM * px_per_mm)))
        if rim
        else np.zeros(count, bool)
    )
    on_rim &= ~speck & ~faint
    drop = speck | faint | on_rim
    drop[0] = False
    _paint(result, labels, drop, stats, 255)
    _, hole_labels, hole_stats, _ = cv2.connectedComponentsWithStats(
        (result >= 128).astype(np.uint8), connectivity=4, ltype=cv2.CV_32S
    )
    pinhole = hole_stats[:, cv2.CC_STAT_AREA] / px_per_mm**2 < PINHOLE_MM2
    pinhole[0] = False
    _paint(result, hole_labels, pinhole, hole_stats, 0)
    counts = (int((part[1:]).sum()) for part in (speck, faint, pinhole, on_rim))
    specks, faints, pinholes, rims = counts
    return Cleaned(result, specks, faints, pinholes, rims)


def _extreme_of_each(labels: NDArray[np.int32], coverage: NDArray[np.uint8], count: int) -> NDArray[np.uint8]:
    """Return the darkest coverage of each labelled part."""
    darkest = np.full(count, 255, np.uint8)
    inside = labels > 0
    np.minimum.at(darkest, labels[inside], coverage[inside])
    return darkest


def _touches_rim(stats: NDArray[np.int32], shape: tuple[int, ...], margin_px: int) -> NDArray[np.bool_]:
    left, top = stats[:, cv2.CC_STAT_LEFT], stats[:, cv2.CC_STAT_TOP]
    right, bottom = left + stats[:, cv2.CC_STAT_WIDTH], top + stats[:, cv2.CC_STAT_HEIGHT]
    return np.asarray(
        (left < margin_px)
        | (top < margin_px)
        | (right > shape[1] - margin_px)
        | (bottom > shape[0] - margin_px),
        np.bool_,
    )


def _paint(
    coverage: NDArray[np.uint8],
    labels: NDArray[np.int32],
    which: NDArray[np.bool_],
    stats: NDArray[np.int32],
    value: int,
) -> None:
    """Set some labelled parts, and the half-way pixels around them, to one value."""
    for label in np.nonzero(which)[0]:
        left, top, width, height = (int(v) for v in stats[label, :4])
        rows = slice(max(0, top - 1), top + height + 1)
        columns = slice(max(0, left - 1), left + width + 1)
        own = labels[rows, columns] == label
        grown = cv2.dilate(own.astype(np.uint8), np.ones((3, 3), np.uint8)).astype(bool)
        others = (labels[rows, columns] != label) & (labels[rows, columns] != 0)
        part = coverage[rows, columns]
        part[own | (grown & ~others & ((part < 250) if value == 255 else (part > 5)))] = value
