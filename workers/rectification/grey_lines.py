"""Thin pale lines: pencil told from the fine or grey lines of a pen, as far as a photo can tell.

What a photo shows of a thin line is its darkness times its width, and a peak as high as its blur leaves. From
both, and the blur of the photo's edges, follow the line's own width and darkness. One as dark as the rest
of the ink is ink, however pale its blur has made it. A grey one is graphite if it is lighter and darker every
fraction of a millimetre, as the paper's grain takes it up, and a grey or tired pen's if it is even.
"""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.cell_light import PARTS
from workers.rectification.illumination import CELL_MM, PaperLight, reflected
from workers.rectification.pale_lines import GREY, NO_LINES, RATHER_GRAINY, PaleLine, PaleLines

_PART_MM = CELL_MM / PARTS
_ACROSS_PARTS = 7  # a thin line's light is added up over 1.75 mm
_FAINTEST, _GRAIN_TIMES = 0.06, 5.0  # of the paper's light: slighter lines do not show; of the photo's grain
_INK_DARKNESS = 0.45
_PALE_PEAK = 0.62  # of full ink's darkness: a line paler than this may be lost
_WIDEST_MM = 0.9  # wider ones are a marker's, dry or not
_THINNEST_MM = 0.12  # what seems thinner is the blurred edge of something else
_LEAST_MM = 5.0
_INNER = (slice(PARTS, -PARTS), slice(PARTS, -PARTS))  # without the cells that hold the sheet's own edge
_SQUARE = np.ones((_ACROSS_PARTS, _ACROSS_PARTS), np.uint8)
_LEAST_PARTS = 60  # of pale lines, for which it is worth to look closer
_ALONG_PARTS = 9  # over which a line's light is evened
_LONGER = 1.1  # a line's length over the parts in its middle, the mean over all directions
_BLUR_TO_EDGE = math.sqrt(2 * math.pi)  # an edge's width over the deviation of the blur
_DEVIATION = 1.4826  # over the median of absolute departures, of a normal distribution
_SHORT_MM = 8.0  # a line so short is judged by itself and by the others in equal parts

Array = NDArray[np.float32]
Bytes = NDArray[np.uint8]
Mask = NDArray[np.bool_]


def pale_lines(paper: PaperLight, edge_width_mm: float, noise: float, left_aside: Mask) -> PaleLines:
    """Return the thin pale lines on a sheet.

    Args:
        paper: The light of bare paper in cells.
        edge_width_mm: Over which an edge goes from paper to ink; 0 if that is not known.
        noise: The photo's grain, a deviation over the paper's light.
        left_aside: Cells in which none is looked for: of folds, of coloured ink, in glare.
    """
    is_ink = paper.darkest < 1.0 - _INK_DARKNESS
    full = 1.0 - (float(np.percentile(paper.darkest[is_ink], 20)) if is_ink.any() else 0.0)
    seen = reflected(paper)
    faintest = max(_FAINTEST, _GRAIN_TIMES * noise)
    if edge_width_mm <= 0 or not _worth_a_look(seen, faintest, full):
        return NO_LINES
    across, ridge = _ridges(np.asarray(255 - seen, np.uint8), faintest)
    aside = cv2.resize(left_aside.astype(np.uint8), ridge.shape[::-1], interpolation=cv2.INTER_NEAREST)
    ridge[aside > 0] = 0
    places = tuple(axis + PARTS for axis in np.nonzero(ridge[_INNER]))
    peak = np.asarray(255 - cv2.erode(seen, np.ones((3, 3), np.uint8)), np.uint8)
    own = across[places] * np.float32(_PART_MM / 255)
    summed, height = _along(across, peak, ridge, places)
    blur_mm = math.hypot(edge_width_mm / _BLUR_TO_EDGE, _PART_MM / math.sqrt(12))
    width = _width_mm(summed / np.maximum(height, 1e-3), blur_mm)
    darkness = summed / np.maximum(width, 1e-3) / full
    is_pale = (
        (width > _THINNEST_MM) & (width < _WIDEST_MM) & ((darkness < GREY) | (height < _PALE_PEAK * full))
    )
    relative_noise = noise * math.sqrt(_ACROSS_PARTS) * _PART_MM / np.maximum(summed, 1e-3)
    figures = np.stack(
        [width, darkness, np.abs(own / np.maximum(summed, 1e-3) - 1.0), relative_noise, height]
    )
    chosen = (places[0][is_pale], places[1][is_pale])
    return _joined(chosen, figures[:, is_pale], ridge.shape, blur_mm, full)


def _worth_a_look(seen: Bytes, faintest: float, full: float) -> bool:
    """Return whether there are thin pale lines to speak of, at little cost."""
    thin = cv2.morphologyEx(seen, cv2.MORPH_BLACKHAT, _SQUARE)
    dark = cv2.threshold(seen, round(255 * (1 - _PALE_PEAK * full)), 1, cv2.THRESH_BINARY_INV)[1]
    pale = cv2.threshold(thin, round(255 * faintest), 1, cv2.THRESH_BINARY)[1]
    away = cv2.subtract(pale, cv2.dilate(dark, _SQUARE))
    if cv2.countNonZero(away[_INNER]) <= _LEAST_PARTS:
        return False
    halved = cv2.resize(255 * away[_INNER], None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    pairs = np.minimum(halved, 1).astype(np.uint8)  # any of four parts: a quarter of the labels to give
    extents = cv2.connectedComponentsWithStats(pairs, connectivity=8)[2][1:, 2:4]
    return bool(extents.max() * 2 * _PART_MM > _LEAST_MM / 2)


def _ridges(dark: Bytes, faintest: float) -> tuple[Array, Bytes]:
    """Return the darkness added up across a line, and 1 for the parts in the middle of thin ones."""
    down, across = (
        np.asarray(cv2.boxFilter(dark, cv2.CV_32F, size, normalize=False), np.float32)
        for size in ((1, _ACROSS_PARTS), (_ACROSS_PARTS, 1))
    )
    above = cv2.compare(dark, cv2.dilate(dark, np.ones((3, 1), np.uint8)), cv2.CMP_GE)
    beside = cv2.compare(dark, cv2.dilate(dark, np.ones((1, 3), np.uint8)), cv2.CMP_GE)
    middle = np.where(cv2.compare(down, across, cv2.CMP_LE), above, beside)
    thin = cv2.morphologyEx(dark, cv2.MORPH_TOPHAT, _SQUARE)
    is_thin = cv2.threshold(thin, round(255 * faintest), 1, cv2.THRESH_BINARY)[1]
    return np.asarray(cv2.min(down, across), np.float32), np.asarray(
        cv2.bitwise_and(is_thin, middle), np.uint8
    )


def _along(
    across: Array, peak: Bytes, ridge: Bytes, places: tuple[NDArray[np.int64], ...]
) -> tuple[Array, Array]:
    """Return the means of the light across lines, mm, and of their peaks, over some length of the lines."""
    size = (_ALONG_PARTS, _ALONG_PARTS)
    count, summed, heights = (
        cv2.boxFilter(part, cv2.CV_32F, size, normalize=False)[places]
        for part in (ridge, across * ridge, cv2.multiply(peak, ridge))
    )
    means = summed / count * (_PART_MM / 255), heights / count / 255
    return np.asarray(means[0], np.float32), np.asarray(means[1], np.float32)


def _width_mm(ratio_mm: NDArray[np.floating], blur_mm: float) -> Array:
    """Return the width of lines of which the darkness across over its peak is known.

    A line of width w and even darkness k, blurred by a Gaussian of deviation s, has k w of darkness across,
    and its peak is k erf(w / (2 sqrt(2) s)).
    """
    widths = np.linspace(0.02, 3.0, 300)
    ratios = widths / np.array([math.erf(width / (2 * math.sqrt(2) * blur_mm)) for width in widths])
    return np.asarray(np.interp(ratio_mm, ratios, widths), np.float32)


def _joined(
    places: tuple[NDArray[np.int64], ...], figures: Array, shape: tuple[int, ...], blur_mm: float, full: float
) -> PaleLines:
    """Return the lines that pale parts make up, each long enough to be one."""
    mask = np.zeros(shape, np.uint8)
    mask[places] = 1
    count, labels = cv2.connectedComponents(cv2.dilate(mask, np.ones((3, 3), np.uint8)))
    of_part = labels[places]
    length_mm = _LONGER * _PART_MM * np.bincount(of_part, minlength=count)
    long_enough = np.flatnonzero(length_mm >= _LEAST_MM)
    if not len(long_enough):
        return NO_LINES
    parts_of = [np.flatnonzero(of_part == label) for label in long_enough]
    width, darkness, spread, noise, height = np.array(
        [np.median(figures[:, parts], axis=1) for parts in parts_of]
    ).T
    uneven = np.sqrt(np.maximum((_DEVIATION * spread) ** 2 - noise**2, 0.0))
    lengths = length_mm[long_enough]
    usual = float((uneven * lengths).sum() / lengths.sum())
    uneven = (uneven * lengths + usual * _SHORT_MM) / (lengths + _SHORT_MM)
    numbers = np.zeros(count, np.int32)
    lines: list[PaleLine] = []
    for k in np.flatnonzero((darkness < GREY) | (uneven < RATHER_GRAINY)):  # else dry ink's torn edge
        down, across = ((float(np.median(axis[parts_of[k]])) + 0.5) * _PART_MM for axis in places)
        dark = float(darkness[k]) * full
        lines.append(
            PaleLine(
                middle_mm=(across, down),
                length_mm=float(lengths[k]),
                width_mm=float(width[k]),
                darkness=float(darkness[k]),
                unevenness=float(uneven[k]),
                blur_mm=blur_mm,
                level=1.0 - _full_darkness(float(width[k]), dark, float(height[k]), blur_mm),
            )
        )
        numbers[long_enough[k]] = len(lines)
    return PaleLines(tuple(lines), numbers[labels]) if lines else NO_LINES


def _full_darkness(width_mm: float, darkness: float, peak: float, blur_mm: float) -> float:
    """Return the darkness that is to count as full ink for a line to come out as wide as it is.

    At its edge a blurred line is k erf(w / (sqrt(2) s)) / 2 dark. Its middle is to be ink for certain, too.
    """
    at_edge = darkness * math.erf(width_mm / (math.sqrt(2) * blur_mm))
    return min(at_edge, peak / 0.65)
