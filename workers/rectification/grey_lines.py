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
from workers.rectification.unevenness import grain

_PART_MM = CELL_MM / PARTS
_ACROSS_PARTS = 7  # a thin line's light is added up over 1.75 mm
_FAINTEST, _GRAIN_TIMES = 0.06, 3.0  # of the paper's light: slighter lines do not show; of the photo's grain
_INK_DARKNESS = 0.45
_PALE_PEAK = 0.62  # of full ink's darkness: a line paler than this may be lost
_WIDEST_MM = 0.9  # wider ones are a marker's, dry or not
_THINNEST_MM = 0.12  # what seems thinner is the blurred edge of something else
_LEAST_MM = 5.0
_LEAST_PARTS = 60  # of pale lines, for which it is worth to look closer
_ALONG_PARTS = 9  # over which a line's light is evened
_LONGER = 1.1  # a line's length over the parts in its middle, the mean over all directions
_BLUR_TO_EDGE = math.sqrt(2 * math.pi)  # an edge's width over the deviation of the blur
_DEVIATION = 1.4826  # over the median of absolute departures, of a normal distribution
_SHORT_MM = 8.0  # a line so short is judged by itself and by the others in equal parts

Array = NDArray[np.float32]
Mask = NDArray[np.bool_]


def pale_lines(paper: PaperLight, edge_width_mm: float, left_aside: Mask) -> PaleLines:
    """Return the thin pale lines on a sheet.

    Args:
        paper: The light of bare paper in cells.
        edge_width_mm: Over which an edge goes from paper to ink; 0 if that is not known.
        left_aside: Cells in which none is looked for: of folds, of coloured ink, in glare.
    """
    is_ink = paper.darkest < 1.0 - _INK_DARKNESS
    full = 1.0 - (float(np.percentile(paper.darkest[is_ink], 20)) if is_ink.any() else 0.0)
    noise = grain(paper)
    seen = reflected(paper)
    faintest = max(_FAINTEST, _GRAIN_TIMES * noise)
    if edge_width_mm <= 0 or not _worth_a_look(seen, faintest, full):
        return NO_LINES
    dark = np.asarray(1.0 - seen.astype(np.float32) / 255.0)
    across, ridge = _ridges(dark, faintest)
    aside = cv2.resize(left_aside.astype(np.uint8), ridge.shape[::-1], interpolation=cv2.INTER_NEAREST)
    ridge &= aside == 0
    places = np.nonzero(ridge)
    peak = np.asarray(cv2.dilate(dark, np.ones((3, 3), np.uint8)), np.float32)
    means = (_along(across, ridge), _along(peak, ridge))
    own, summed, height = (np.asarray(part[places], np.float32) for part in (across, *means))
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


def _worth_a_look(seen: NDArray[np.uint8], faintest: float, full: float) -> bool:
    """Return whether there are thin pale lines to speak of, at little cost."""
    closed = cv2.morphologyEx(seen, cv2.MORPH_CLOSE, np.ones((_ACROSS_PARTS, _ACROSS_PARTS), np.uint8))
    thin = cv2.subtract(closed, seen)
    pale = (thin > 255 * faintest) & (seen > 255 * (1 - GREY * full))
    line = np.minimum(
        cv2.dilate(thin, np.ones((3, 1), np.uint8)), cv2.dilate(thin, np.ones((1, 3), np.uint8))
    )
    return int((pale & (thin == line)).sum()) > _LEAST_PARTS


def _ridges(dark: Array, faintest: float) -> tuple[Array, Mask]:
    """Return the darkness added up across a line, mm, and the parts in the middle of thin ones."""
    thin = cv2.morphologyEx(dark, cv2.MORPH_TOPHAT, np.ones((_ACROSS_PARTS, _ACROSS_PARTS), np.uint8))
    sums = [
        cv2.boxFilter(dark, -1, size, normalize=False) * _PART_MM
        for size in ((1, _ACROSS_PARTS), (_ACROSS_PARTS, 1))
    ]
    runs_across = sums[0] <= sums[1]
    above = dark >= cv2.dilate(dark, np.ones((3, 1), np.uint8))
    beside = dark >= cv2.dilate(dark, np.ones((1, 3), np.uint8))
    ridge = (thin > faintest) & np.where(runs_across, above, beside)
    return np.minimum(*sums), np.asarray(ridge, np.bool_)


def _along(values: Array, ridge: Mask) -> Array:
    """Return the mean of values on lines over some length of them."""
    size = (_ALONG_PARTS, _ALONG_PARTS)
    weight = cv2.blur(ridge.astype(np.float32), size)
    return np.asarray(cv2.blur(values * ridge, size) / np.maximum(weight, 1e-4), np.float32)


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
