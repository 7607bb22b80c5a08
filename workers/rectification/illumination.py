"""How bright the bare paper is, everywhere on the sheet, also under the ink.

Shadows and ink both darken, but ink begins within a fraction of a millimetre, and a shadow
fades over several. So the sheet is looked at in cells of about a millimetre: steep steps
between neighbours are taken out, the rest is summed up again, and what then still lies far
below is ink (Horn's lightness). A shadow with a hard edge lies far below as well, but it comes
in over the sheet's rim and is never as dark as ink: that part is paper after all. The paper's
level is carried on under the ink from around it.

Source: B. K. P. Horn, Determining lightness from an image, Computer Graphics and Image
Processing 3, 1974. The filling is the pull-push of an image pyramid (Burt 1988).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.cell_light import PARTS, cell_light

CELL_MM = 1.0
_STEEP = 0.30  # of the logarithm of light, from cell to cell: 26 % darker within a millimetre
_PAPER_DEPTH = 0.35  # a cell less than 30 % darker than the paper around it is paper
_SMOOTHING_CELLS = 1.3
_EVEN = 0.25  # of the logarithm of light, among a cell's neighbours: no edge there
_SHADOW_CELLS = 30
_LEAST_CELLS = 10
_AT_RIM_CELLS = 4
_THING_CELLS = 25
_SHADOW_DEPTH = -1.35  # a shadow leaves at least 26 % of the light; ink over so large an area less
_VALLEY_DEPTH = 0.12  # and so is one that is darker only because a shadow begins there, not a stroke
_INNER_CELLS = 120
_INNER_DEPTH = -0.95  # 39 % of the light; the palest marker, orange, leaves 34 %
_AS_EVEN, _EVENEST = 2.0, 0.02  # times as uneven as paper; dry marker was seen to be 7 times as uneven
_SQUARE = np.ones((3, 3), np.uint8)
_NEIGHBOURHOOD = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (9, 9))  # wider than most strokes

Array = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class PaperLight:
    """The light of bare paper on a grid of cells that covers the sheet evenly."""

    level: Array  # (rows, columns) of cells, in the units of the light
    is_paper: NDArray[np.bool_]  # where paper was seen
    is_coloured: NDArray[np.bool_]  # where ink has a colour of its own, and may be pale
    fine: Array  # the light itself, (rows * PARTS, columns * PARTS)
    darkest: Array  # of each cell's parts, over the paper's light
    falloff_fraction: float  # light lost from the brightest to the darkest paper
    hard_shadow_fraction: float  # of the sheet, in a shadow with a hard edge
    shadow_fraction: float  # of the paper, how much is far darker than what smooth light would leave


def paper_light(
    light: NDArray[np.uint16], px_per_mm: float, coloured: NDArray[np.bool_] | None = None
) -> PaperLight:
    """Return the level of the bare paper.

    Args:
        light: (rows, columns) linear light of the sheet, laid square.
        px_per_mm: Its scale.
        coloured: (down, across) evenly over the sheet: where its colour says that there is ink.
    """
    fine = _parts(light, px_per_mm)
    cells = cell_light(fine)
    is_coloured = over_cells(coloured, cells.top.shape)
    log_top = np.log(np.maximum(cells.top, 20.0))
    lightness = _without_steps(log_top)
    lightness -= np.percentile(lightness, 90)
    is_paper = (lightness > -_PAPER_DEPTH) & ~is_coloured
    for _ in range(3):
        filled = carried_on(log_top, is_paper.astype(np.float32))
        is_paper = (log_top > filled - _PAPER_DEPTH) & ~is_coloured
    hard_shadow = _hard_shadow(log_top, is_paper, is_coloured)
    is_paper |= hard_shadow
    is_paper &= log_top > cv2.morphologyEx(log_top, cv2.MORPH_CLOSE, _NEIGHBOURHOOD) - _VALLEY_DEPTH
    level = carried_on(np.log(np.maximum(cells.body, 20.0)), is_paper.astype(np.float32))
    smoothing = _SMOOTHING_CELLS if not hard_shadow.any() else _SMOOTHING_CELLS / 2
    paper = np.exp(cv2.GaussianBlur(level, (0, 0), smoothing, borderType=cv2.BORDER_REPLICATE))
    lost, in_shadow = _figures(paper, is_paper)
    return PaperLight(
        level=np.asarray(paper, np.float32),
        is_paper=is_paper,
        is_coloured=is_coloured,
        fine=fine,
        darkest=np.asarray(cells.darkest / paper, np.float32),
        falloff_fraction=lost,
        hard_shadow_fraction=float(hard_shadow.mean()),
        shadow_fraction=in_shadow,
    )


def reflected(paper: PaperLight) -> NDArray[np.uint8]:
    """Return what the parts of all cells throw back, 255 for bare paper.

    Args:
        paper: The light of bare paper in cells.
    """
    level = cv2.resize(paper.level, paper.fine.shape[::-1], interpolation=cv2.INTER_LINEAR)
    return np.asarray(np.clip(paper.fine * (255.0 / level), 0, 255), np.uint8)


def over_cells(mask: NDArray[np.bool_] | None, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """Return a mask that covers the sheet on its cells: where at least half of a cell is in it.

    Args:
        mask: (down, across) evenly over the sheet; None: nowhere.
        shape: Rows and columns of cells.
    """
    if mask is None:
        return np.zeros(shape, np.bool_)
    share = cv2.resize(mask.astype(np.float32), shape[::-1], interpolation=cv2.INTER_AREA)
    return np.asarray(share >= 0.5, np.bool_)


def _parts(light: NDArray[np.uint16], px_per_mm: float) -> Array:
    """Return the mean light of the parts of all cells."""
    rows, columns = (max(4, round(side / px_per_mm / CELL_MM)) * PARTS for side in light.shape)
    whole = max(1, int(min(light.shape[0] / rows, light.shape[1] / columns)))
    if whole > 1:  # by a whole number first: many times faster
        smaller = (light.shape[1] // whole * whole, light.shape[0] // whole * whole)
        light = np.asarray(
            cv2.resize(
                light[: smaller[1], : smaller[0]],
                (smaller[0] // whole, smaller[1] // whole),
                interpolation=cv2.INTER_AREA,
            ),
            np.uint16,
        )
    how = cv2.INTER_LINEAR if rows <= light.shape[0] < 2 * rows else cv2.INTER_AREA  # as good, but for speed
    return np.asarray(cv2.resize(light, (columns, rows), interpolation=how), np.float32)


def _without_steps(log_light: Array) -> Array:
    """Return the logarithm of reflectance: what only the steep steps between cells leave."""
    rows, columns = log_light.shape
    across, down = np.diff(log_light, axis=1), np.diff(log_light, axis=0)
    across = np.where(np.abs(across) > _STEEP, 0.0, across)
    down = np.where(np.abs(down) > _STEEP, 0.0, down)
    divergence = np.zeros((rows, columns), np.float32)
    divergence[:, :-1] += across
    divergence[:, 1:] -= across
    divergence[:-1] += down
    divergence[1:] -= down
    return np.asarray(log_light - _summed(divergence), np.float32)


def _summed(divergence: Array) -> Array:
    """Return the surface with a given divergence of differences, level at its rim.

    Source: Poisson's equation on a grid by the cosine transform.
    """
    rows, columns = divergence.shape
    even = np.pad(divergence, ((0, rows % 2), (0, columns % 2)))  # the transform wants even sides
    waves = cv2.dct(even)
    k = 2 - 2 * np.cos(np.pi * np.arange(even.shape[0]) / even.shape[0])
    m = 2 - 2 * np.cos(np.pi * np.arange(even.shape[1]) / even.shape[1])
    strength = -(k[:, None] + m[None]).astype(np.float32)
    strength[0, 0] = 1.0
    waves = waves / strength
    waves[0, 0] = 0.0
    return np.asarray(cv2.idct(waves)[:rows, :columns], np.float32)


def _hard_shadow(
    log_top: Array, is_paper: NDArray[np.bool_], is_coloured: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Return the cells that are paper in a shadow with a hard edge.

    Among what is darker than paper, these are the even areas that are brighter than ink in the light
    around them and come in over the sheet's rim, by themselves or with others as dark that strokes
    have cut off from it, farther than a thumb or a coin; and wherever they lie, those that are too
    large, too pale and as even as the paper itself, which the fill of a marker is not.
    """
    unevenness = cv2.dilate(log_top, _SQUARE) - cv2.erode(log_top, _SQUARE)
    even = ~is_paper & ~is_coloured & (unevenness < _EVEN)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(even.astype(np.uint8), connectivity=4)
    depth = log_top - carried_on(log_top, is_paper.astype(np.float32))
    areas = [
        labels == label
        for label in range(1, count)
        if stats[label, cv2.CC_STAT_AREA] >= _SHADOW_CELLS
        and np.median(depth[labels == label]) > _SHADOW_DEPTH
    ]
    height, width = is_paper.shape
    down, across = np.arange(height)[:, None], np.arange(width)[None]
    from_rim = np.minimum(np.minimum(down, height - 1 - down), np.minimum(across, width - 1 - across))
    shadow = np.zeros_like(is_paper)
    smooth = _AS_EVEN * max(float(np.median(unevenness[is_paper])), _EVENEST) if is_paper.any() else 0.0
    for own in areas:
        pale = own.sum() >= _INNER_CELLS and np.median(depth[own]) > _INNER_DEPTH
        if pale and np.median(unevenness[own]) < smooth:
            shadow |= own
    for own in areas:
        at_rim = own.sum() >= _SHADOW_CELLS and from_rim[own].min() <= _AT_RIM_CELLS
        if at_rim and not (own & shadow).any():
            together = _joined_by_level(own, areas, log_top)
            if from_rim[together].max() >= _THING_CELLS:
                shadow |= together
    if not shadow.any():
        return shadow
    for _ in range(4):
        level = carried_on(log_top, shadow.astype(np.float32))
        grown = cv2.dilate(shadow.astype(np.uint8), _SQUARE).astype(bool)
        shadow |= grown & ~is_paper & ~is_coloured & (np.abs(log_top - level) < _EVEN)
    level = carried_on(log_top, shadow.astype(np.float32))
    penumbra = cv2.dilate(shadow.astype(np.uint8), _SQUARE, iterations=2).astype(bool)
    return shadow | (penumbra & ~is_paper & ~is_coloured & (log_top > level - _EVEN))


def _joined_by_level(
    first: NDArray[np.bool_], areas: list[NDArray[np.bool_]], log_top: Array
) -> NDArray[np.bool_]:
    """Return an area with those near it, and near those, that are as dark: strokes may lie between."""
    joined, left = first.copy(), list(areas)
    while True:
        level = carried_on(log_top, joined.astype(np.float32))
        near = cv2.dilate(joined.astype(np.uint8), _NEIGHBOURHOOD, iterations=2).astype(bool)
        alike = [
            own
            for own in left
            if (own & near).any() and abs(np.median((log_top - level)[own & near])) < _EVEN
        ]
        if not alike:
            return joined
        joined |= np.logical_or.reduce(alike)
        left = [own for own in left if not (own & joined).any()]


def carried_on(values: Array, weight: Array) -> Array:
    """Return the values where they count, and elsewhere what those around make likely."""
    pyramid = [(values * weight, weight)]
    while min(pyramid[-1][0].shape) > 2:
        amount, count = (cv2.pyrDown(part) for part in pyramid[-1])
        keep = np.minimum(1.0, 4.0 * count) / np.maximum(count, 1e-6)
        pyramid.append((amount * keep, count * keep))
    amount, count = pyramid[-1]
    filled = np.full_like(amount, amount.sum() / max(float(count.sum()), 1e-6))
    for amount, count in reversed(pyramid):
        grown = cv2.resize(filled, amount.shape[1::-1], interpolation=cv2.INTER_LINEAR)
        filled = amount + (1 - np.minimum(count, 1.0)) * grown
    return np.asarray(filled, np.float32)


def _figures(paper: Array, is_paper: NDArray[np.bool_]) -> tuple[float, float]:
    """Return the light lost across the paper, and the share of it in shadow."""
    if not is_paper.any():
        return 0.0, 0.0
    seen = paper[is_paper]
    high, low = np.percentile(seen, (99, 1))
    rows, columns = paper.shape
    coarse = cv2.resize(paper, (columns // 4 + 1, rows // 4 + 1), interpolation=cv2.INTER_AREA)
    blurred = np.exp(cv2.GaussianBlur(np.log(coarse), (0, 0), 10.0, borderType=cv2.BORDER_REPLICATE))
    smooth = cv2.resize(blurred, (columns, rows), interpolation=cv2.INTER_LINEAR)
    return float(1 - low / max(high, 1e-6)), float((paper < 0.8 * smooth)[is_paper].mean())
