"""Ruled and squared paper: a regular lattice of thin straight lines, from rim to rim, is no drawing.

Lines are looked for in strips across the sheet, in which even a line a little aslant is level. What comes
again and again at one distance in most strips, over most of the sheet, is a ruling; each of its lines
is then followed from strip to strip. A pixel of a line stays ink only where it is far darker than the line
itself, or where ink on both sides of the line meets in it; so nothing is made ink that was not dark.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.rectification.cell_light import PARTS
from workers.rectification.illumination import PaperLight, reflected
from workers.rectification.thin_lines import ThinLines, erase

_PART_MM = 1.0 / PARTS
_STRIP_PARTS = 60  # 15 mm
_THIN_PARTS = 7  # a line is thinner than 1.75 mm, blur and all
_SPACING_MM = (3.0, 16.0)
_STEADY = 0.5  # of a ruling's lines, how like the pattern is to itself one spacing on
_LEAST_LINES = 6
_SEEN = 0.6  # of a ruling's places, where a line is seen
_OVER_SHEET = 0.8  # of the sheet, from the first line to the last
_FAINTEST = 8.0  # of 255: paler lines do not get in the way
_SNAP_MM = 1.0
_WIDEST_MM = 1.0  # half of what a line and its blur cover
_PALE = 60  # coverage of a line's middle, above which ink on it is told by its tone
_PALEST = 245  # coverage of a line's middle: nothing to take out
_FAR_DARKER = 0.4
_BARE = 200  # coverage on both sides of a line, where no ink lies on it
_DARKER_PERCENT = (
    25.0  # of a line's places: a thin line on a coarse raster is jagged, and pale where it steps
)
_INK_SHARE = (
    0.08  # of the paper's light, that ink leaves; two lines that cross leave the square of one's light
)

Bytes = NDArray[np.uint8]
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Ruling:
    """Parallel lines of the paper that were taken out."""

    is_across: bool  # else they run down the sheet
    spacing_mm: float
    lines_count: int
    darkness: float  # 0 as paper, 1 as ink


@dataclass(frozen=True, slots=True, eq=False)
class Rules:
    """Where parallel lines were seen on the sheet, in parts of its cells."""

    is_across: bool
    spacing_parts: float
    middles: Array  # (lines, strips): the place of each line in each strip


def rules_seen(paper: PaperLight) -> tuple[Rules, ...]:
    """Return the regular lattices of lines on a sheet, at most one across and one down.

    Args:
        paper: The light of bare paper in cells.
    """
    picture = reflected(paper)
    seen = ((True, picture), (False, np.ascontiguousarray(picture.T)))
    found = ((is_across, _lines(turned)) for is_across, turned in seen)
    return tuple(Rules(is_across, *places) for is_across, places in found if places is not None)


def without_rules(
    coverage: Bytes, rules: tuple[Rules, ...], px_per_mm: float
) -> tuple[Bytes, tuple[Ruling, ...]]:
    """Return the coverage without the paper's own lines, and what these were.

    Args:
        coverage: (rows, columns), 0 ink, 255 paper.
        rules: Where they were seen.
        px_per_mm: Scale of the coverage.
    """
    if not rules:
        return coverage, ()
    turned = {True: coverage.copy(), False: np.ascontiguousarray(coverage.T)}
    measured = []
    for seen in rules:
        own_lines = _measured(turned[seen.is_across], seen.middles, px_per_mm, is_squared=len(rules) > 1)
        if own_lines is not None:
            measured.append((seen, *own_lines))
    result = turned[True]
    for _ in range(len(measured)):  # squares twice: where they cross, one way's lines hide the other's
        for seen, lines, _ in measured:
            own = result if seen.is_across else np.ascontiguousarray(result.T)
            erase(own, lines)
            result = own if seen.is_across else np.ascontiguousarray(own.T)
    return result, tuple(
        Ruling(seen.is_across, seen.spacing_parts * _PART_MM, len(lines.paths), darkness)
        for seen, lines, darkness in measured
    )


def _lines(picture: Bytes) -> tuple[float, Array] | None:
    """Return the spacing and the places (lines, strips) of level lines, in parts; None: no ruling."""
    column = np.ones((_THIN_PARTS, 1), np.uint8)
    thin = cv2.subtract(cv2.morphologyEx(picture, cv2.MORPH_CLOSE, column), picture)
    thin = np.minimum(cv2.dilate(thin, np.ones((3, 1), np.uint8)), 100).astype(np.uint8)
    strips_count = max(3, picture.shape[1] // _STRIP_PARTS)
    seen = np.column_stack(
        [
            cv2.reduce(strip, 1, cv2.REDUCE_AVG, dtype=cv2.CV_32F)
            for strip in np.array_split(thin, strips_count, 1)
        ]
    ).astype(np.float64)
    spacing = _spacing(seen)
    if spacing is None:
        return None
    return _followed(seen, spacing)


def _spacing(seen: Array) -> float | None:
    """Return the distance after which the lines of most strips come again, in parts."""
    rows = len(seen)
    even = seen - cv2.blur(seen, (1, 81), borderType=cv2.BORDER_REFLECT)
    waves = np.abs(np.fft.rfft(even, 2 * rows, axis=0)) ** 2
    alike = np.fft.irfft(waves, axis=0)[: rows // 2] / np.arange(rows, rows - rows // 2, -1)[:, None]
    alike = np.median(alike / np.maximum(alike[:1], 1e-9), axis=1)
    first, last = (round(limit / _PART_MM) for limit in _SPACING_MM)
    if last >= len(alike) or alike[first:last].max() < _STEADY:
        return None
    peaks = [
        lag
        for lag in range(first, last)
        if alike[lag] >= 0.85 * alike[first:last].max() and alike[lag] == alike[lag - 2 : lag + 3].max()
    ]
    if not peaks:
        return None
    spacing = float(peaks[0])
    for times in range(1, len(alike) // peaks[0]):  # ever finer, by how far off later ones are
        near = round(spacing * times)
        lags = np.arange(max(1, near - 2), min(len(alike), near + 3))
        if len(lags) and alike[lags].max() > 0.5 * _STEADY:
            spacing = (
                float(
                    (lags * np.maximum(alike[lags], 0) ** 4).sum() / (np.maximum(alike[lags], 0) ** 4).sum()
                )
                / times
            )
    return spacing


def _followed(seen: Array, spacing: float) -> tuple[float, Array] | None:
    """Return the spacing and each line's place in each strip; None where that is no ruling."""
    rows, strips = seen.shape
    turns = np.exp(2j * np.pi * np.arange(rows) / spacing)
    phases = np.unwrap(np.angle((seen * turns[:, None]).sum(axis=0))) / (2 * np.pi) * spacing
    count = int(rows / spacing) + 1
    guess = (
        phases[None]
        - np.floor(phases.min() / spacing) * spacing
        + np.arange(-1, count + 1)[:, None] * spacing
    )
    inside = ((guess >= 2) & (guess < rows - 2)).all(axis=1)
    guess = guess[inside]
    reach = round(min(_SNAP_MM / _PART_MM, 0.3 * spacing))
    offsets = np.arange(-reach, reach + 1)
    rings = np.clip(np.round(guess).astype(np.int64)[:, :, None] + offsets, 0, rows - 1)
    values = seen[rings, np.arange(strips)[None, :, None]]
    strength = values.max(axis=2)
    usual = float(np.median(strength))
    between = float(np.median(seen))
    if usual < _FAINTEST + between or len(guess) < _LEAST_LINES:
        return None
    is_seen = (strength > between + 0.5 * (usual - between)) & (strength < 2.5 * usual)
    weight = np.maximum(values - between - 0.5 * (usual - between), 0.0)
    places = rings[:, :, reach] + (weight * offsets).sum(axis=2) / np.maximum(weight.sum(axis=2), 1e-9)
    kept = [
        np.interp(np.arange(strips), np.flatnonzero(own), place[own])
        for own, place in zip(is_seen, places, strict=True)
        if own.mean() >= 0.5 * _SEEN
    ]
    if len(kept) < _LEAST_LINES or is_seen.mean() < _SEEN:
        return None
    lines = np.array(kept)
    over_sheet = (lines[-1].mean() - lines[0].mean() + spacing) / rows
    return (spacing, lines) if over_sheet >= _OVER_SHEET else None


def _measured(
    coverage: Bytes, places: Array, px_per_mm: float, is_squared: bool
) -> tuple[ThinLines, float] | None:
    """Return where lines run and how dark they are, 0 to 1; None if they do not get in the way."""
    rows, columns = coverage.shape
    scale = px_per_mm * _PART_MM
    strips = places.shape[1]
    middles = (np.arange(strips) + 0.5) * columns / strips
    paths = np.stack([np.interp(np.arange(columns), middles, (line + 0.5) * scale - 0.5) for line in places])
    reach = round(_WIDEST_MM * 1.5 * px_per_mm)
    samples = np.round(paths[:, ::7]).astype(np.int64)
    across = np.broadcast_to(np.arange(0, columns, 7), samples.shape)
    offsets = np.arange(-reach, reach + 1)
    rows_px = np.clip(samples + offsets[:, None, None], 0, rows - 1)
    seen = coverage[rows_px, across]
    bare = np.minimum(seen[0], seen[-1]) > _BARE
    if not bare.any():
        return None
    profile = np.percentile(seen[:, bare], _DARKER_PERCENT, axis=1)
    middle = float(profile.min())
    is_line = profile < 255 - 0.15 * (255 - middle)
    half_px = int(np.abs(offsets[is_line]).max()) + 1 if is_line.any() else 0
    if half_px == 0 or half_px > _WIDEST_MM * px_per_mm + 1 or middle > _PALEST:
        return None
    faintest = middle if not is_squared else middle**2 / 255.0 - _INK_SHARE * (255.0 - middle)
    keep_below = _FAR_DARKER * faintest if faintest > _PALE else -1.0
    return ThinLines(paths, half_px, keep_below), 1.0 - middle / 255.0
