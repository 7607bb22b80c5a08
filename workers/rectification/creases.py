"""Folds of the paper: straight thin lines from rim to rim, paler than ink or with light stepping at them.

A fold that was pressed flat keeps a thin line, dark or bright, and its two sides lean a little to different
sides. No pen line runs over the sheet's rim on both sides and through all the paper between; one that does,
as dark as the ink and on flat paper, is taken for ink.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.cell_light import PARTS
from workers.rectification.illumination import CELL_MM, PaperLight, reflected
from workers.rectification.straight_lines import Chord, chords, levelled
from workers.rectification.thin_lines import ThinLines, erase

_PART_MM = CELL_MM / PARTS
_THIN_PARTS = 7  # a fold's line is thinner than 1.75 mm, blur and all
_FAINTEST = 0.05  # of the paper's light: slighter lines do not get in the way
_GRAIN_TIMES = 4.5  # of the photo's grain
_BARE = 0.72  # of the paper's light, beside the line: no ink there
_SEEN = 0.85  # of the bare paper along it
_LEAST_BARE = 0.35  # of its length
_END_MM, _SEEN_AT_END = 10.0, 0.5
_INK_DARKNESS = 0.45  # of the light: what seldom is anything else
_DARK_AS_INK = 0.75  # of full ink's darkness: a line so dark is a fold only if the light steps at it
_STEP = 0.035  # of the logarithm of light from one side to the other
_FLANKS_MM = (1.0, 1.6)
_SIDES_MM = (3.0, 6.0)
_BARE_COVERAGE = 200  # on both sides of a line, where no ink lies on it
_PALE = 60  # coverage of a line's middle, above which ink on it is told by its tone
_FAR_DARKER = 0.4
_MOST = 8  # of more such lines nobody can say what they are

Bytes = NDArray[np.uint8]
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Crease:
    """One fold over the sheet."""

    chord: Chord
    darkness: float  # of full ink's, in its middle where paper is bare
    step: float  # of the logarithm of light, from one side to the other
    half_mm: float  # how far from its middle it and its blur reach


def creases_seen(paper: PaperLight, grain: float, ruled_deg: tuple[float, ...]) -> tuple[Crease, ...]:
    """Return the folds of a sheet, the longest first.

    Args:
        paper: The light of bare paper in cells.
        grain: Of the photo, a deviation over the paper's light.
        ruled_deg: Directions of the paper's own lines, 0 across: no fold is looked for along them.
    """
    seen = reflected(paper)
    square = np.ones((_THIN_PARTS, _THIN_PARTS), np.uint8)
    closed = cv2.morphologyEx(seen, cv2.MORPH_CLOSE, square)
    thin = np.asarray(cv2.subtract(closed, seen), np.uint8)
    faintest = 255 * max(_FAINTEST, _GRAIN_TIMES * grain)
    is_ink = paper.darkest < 1.0 - _INK_DARKNESS
    ink_level = float(np.percentile(paper.darkest[is_ink], 20)) if is_ink.any() else 0.0
    found = []
    for chord in chords(thin, faintest, _PART_MM, ruled_deg):
        crease = _judged(chord, seen, paper, faintest / 255.0, ink_level)
        if crease is not None:
            found.append(crease)
    return tuple(found) if len(found) <= _MOST else ()


def cells_of(creases: tuple[Crease, ...], shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """Return the cells that folds run through.

    Args:
        creases: The folds.
        shape: Rows and columns of cells.
    """
    mask = np.zeros(shape, np.uint8)
    for crease in creases:
        points = np.round(crease.chord.points_mm(2.0) / CELL_MM - 0.5).astype(np.int32)
        cv2.polylines(mask, [points], False, 1, 3)
    return mask.astype(bool)


def without_creases(coverage: Bytes, creases: tuple[Crease, ...], px_per_mm: float) -> Bytes:
    """Return the coverage without the folds' lines.

    Args:
        coverage: (rows, columns), 0 ink, 255 paper.
        creases: The folds.
        px_per_mm: Scale of the coverage.
    """
    result = coverage.copy() if creases else coverage
    for crease in creases:
        own = result if crease.chord.is_across else np.ascontiguousarray(result.T)
        erase(own, _lines(own, crease, px_per_mm))
        result = own if crease.chord.is_across else np.ascontiguousarray(own.T)
    return result


def _lines(coverage: Bytes, crease: Crease, px_per_mm: float) -> ThinLines:
    """Return a fold as it runs over a raster, turned so that it runs across rather than down."""
    points = crease.chord.points_mm(0.5) * px_per_mm - 0.5
    along, aside = (points if crease.chord.is_across else points[:, ::-1]).T
    order = np.argsort(along)
    columns = np.arange(coverage.shape[1])
    slope = (aside[order[-1]] - aside[order[0]]) / max(along[order[-1]] - along[order[0]], 1e-9)
    path = np.interp(columns, along[order], aside[order])
    path += slope * (np.minimum(columns - along.min(), 0) + np.maximum(columns - along.max(), 0))
    half_px = math.ceil(crease.half_mm * px_per_mm * math.hypot(1.0, slope))
    rows = np.clip(np.round(path).astype(np.int64) + np.arange(-1, 2)[:, None], 0, len(coverage) - 1)
    beside = np.array([[-half_px - 1], [half_px + 1]])
    sides = np.clip(np.round(path).astype(np.int64) + beside, 0, len(coverage) - 1)
    bare = coverage[sides, columns].min(axis=0) > _BARE_COVERAGE
    middle = float(np.percentile(coverage[rows, columns].min(axis=0)[bare], 25)) if bare.any() else 0.0
    keep_below = _FAR_DARKER * middle if middle > _PALE else -1.0
    return ThinLines(path[None], half_px, keep_below)


def _judged(
    chord: Chord, picture: Bytes, paper: PaperLight, faintest: float, ink_level: float
) -> Crease | None:
    """Return a line that was seen as a fold; None if it is none."""
    offsets_mm = np.arange(-8, 9) * _PART_MM
    profile = levelled(picture, chord, offsets_mm, _PART_MM) / 255.0
    flank = (np.abs(offsets_mm) >= _FLANKS_MM[0]) & (np.abs(offsets_mm) <= _FLANKS_MM[1])
    above, below = (profile[flank & own].mean(axis=0) for own in (offsets_mm < 0, offsets_mm > 0))
    middle = profile[np.abs(offsets_mm) <= _PART_MM].min(axis=0)
    bare = np.minimum(above, below) > _BARE
    if bare.mean() < _LEAST_BARE:
        return None
    seen = bare & (np.minimum(above, below) - middle > faintest / 2)
    end = round(_END_MM / _PART_MM)
    ends = [seen[part].sum() / max(bare[part].sum(), 1) for part in (slice(0, end), slice(-end, None))]
    if seen.sum() < _SEEN * bare.sum() or min(ends) < _SEEN_AT_END:
        return None
    usual = np.median(profile[:, bare], axis=1)
    depth = float(np.median(1 - middle[bare] / np.minimum(above, below)[bare]))
    step = _step(chord, paper)
    darkness = min(1.0, depth / max(1.0 - ink_level, 0.1))
    reach = np.abs(offsets_mm[usual < 1 - 0.15 * depth - (1 - usual.max())])
    if depth < faintest or not len(reach) or (darkness > _DARK_AS_INK and abs(step) < _STEP):
        return None
    return Crease(chord=chord, darkness=darkness, step=step, half_mm=float(reach.max()) + _PART_MM)


def _step(chord: Chord, paper: PaperLight) -> float:
    """Return by how much the paper's light differs beside a line, logarithm, the median along it."""
    near = np.arange(_SIDES_MM[0], _SIDES_MM[1] + 0.5, CELL_MM)
    level = np.log(np.maximum(paper.level, 20.0)).astype(np.float32)
    above, below = (levelled(level, chord, np.asarray(side), CELL_MM).mean(axis=0) for side in (-near, near))
    return float(np.median(below - above))
