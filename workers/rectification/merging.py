"""Several photos of one sheet made into one evenly lit picture, free of glare and shade.

Each photo's sheet is laid square by its own edges, divided by its own paper's light and laid on the
best photo's. In every cell of the sheet each photo then counts by how far it is to be trusted there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.rectification.alignment import FINE_PX_PER_MM, aligning_homography, quarter_turns
from workers.rectification.coloured_ink import ColouredInk
from workers.rectification.light_faults import LightFaults
from workers.rectification.linear_light import FULL_LIGHT
from workers.rectification.reading_light import ReadingLight
from workers.rectification.shots import Light, Shot, shot
from workers.rectification.trust import trusts

MOST_PIXELS = 12_000_000  # of a merged raster: eight of them are held at once
PAPER_LIGHT = 0.8 * FULL_LIGHT  # of bare paper in the merged picture
Array = NDArray[np.float32]
_T = TypeVar("_T", bound=np.generic)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Merged:
    """The merged picture and what each photo gave to it."""

    light: Light  # paper at PAPER_LIGHT, all over
    shares: dict[int, float]  # photo -> share of the sheet it gave
    moved_mm: dict[int, float]  # photo -> by how much its sheet was moved to fit, root mean square
    left_out: dict[int, float]  # photo -> its likeness, too low
    frame: int  # the photo that set the frame
    frame_faults: LightFaults
    faulty_fraction: float  # of the sheet, where no photo was free of glare and shade
    inks: tuple[ColouredInk, ...]  # coloured ones, as the photo that set the frame shows them


def merged(shots: Sequence[Shot], px_per_mm: float) -> Merged:
    """Return the photos' sheets as one.

    Args:
        shots: The photos, the best first; it sets the frame unless no other fits it, and two others
            fit each other. The sheet may lie another way in each.
        px_per_mm: The scale of all.
    """
    laid = _laid_together(shots[0], shots[1:], px_per_mm)
    for place in range(1, len(shots) - 1):
        if len(laid.fitting) > 1:
            break
        other = _laid_together(shots[place], [*shots[:place], *shots[place + 1 :]], px_per_mm)
        laid = other if len(other.fitting) > 1 else laid
    return _blended(laid)


@dataclass(slots=True, eq=False, kw_only=True)
class _Laid:
    """Photos in one frame, that of the first, and those that fit it not."""

    fitting: list[Shot]
    moved_mm: dict[int, float]
    left_out: dict[int, float]


def _laid_together(frame: Shot, others: Sequence[Shot], px_per_mm: float) -> _Laid:
    """Return the photos that fit one of them, laid on it."""
    together = _Laid(fitting=[frame], moved_mm={frame.number: 0.0}, left_out={})
    reference = _evened(frame, px_per_mm)
    for other in others:
        laid, moved_mm, likeness = _laid_on(frame, reference, other, px_per_mm)
        if laid is None:
            together.left_out[other.number] = likeness
        else:
            together.fitting.append(laid)
            together.moved_mm[other.number] = moved_mm
    return together


def _blended(laid: _Laid) -> Merged:
    """Return the photos added up, each by what it counts in each cell."""
    fitting = laid.fitting
    weights = trusts(fitting)
    total = np.zeros(fitting[0].light.shape, np.float32)
    for part, weight in zip(fitting, weights, strict=True):
        _add(total, part.light, (weight * (PAPER_LIGHT / part.paper.level)).astype(np.float32))
    light = np.asarray(np.clip(total + 0.5, 0, FULL_LIGHT), np.uint16)
    shares = {part.number: float(weight.mean()) for part, weight in zip(fitting, weights, strict=True)}
    faulty = np.logical_and.reduce([part.faults.glare | part.faults.shadow for part in fitting])
    return Merged(
        light=light,
        shares=shares,
        moved_mm=laid.moved_mm,
        left_out=laid.left_out,
        frame=fitting[0].number,
        frame_faults=fitting[0].faults,
        faulty_fraction=float(faulty.mean()),
        inks=fitting[0].inks,
    )


def _evened(part: Shot, px_per_mm: float) -> Array:
    """Return the sheet's reflectance at the scale of alignment, paper at 1."""
    rows, columns = (max(16, round(side / px_per_mm * FINE_PX_PER_MM)) for side in part.light.shape)
    small = cv2.resize(part.light, (columns, rows), interpolation=cv2.INTER_AREA).astype(np.float32)
    return np.asarray(np.clip(small / cv2.resize(part.paper.level, (columns, rows)), 0.0, 1.1), np.float32)


def _laid_on(
    frame: Shot, reference: Array, other: Shot, px_per_mm: float
) -> tuple[Shot | None, float, float]:
    """Return another shot in the frame of the first, how far it was moved (mm), and how like it is."""
    even = _evened(other, px_per_mm)
    turns = quarter_turns(reference, even)
    even = np.asarray(cv2.resize(_turned(even, turns), reference.shape[1::-1]), np.float32)
    trusted = _sound(frame.faults, 0, reference.shape) & _sound(other.faults, turns, reference.shape)
    homography, likeness = aligning_homography(reference, even, trusted, FINE_PX_PER_MM)
    if homography is None:
        return None, 0.0, likeness
    light = _warped(_turned(other.light, turns), homography, reference.shape, frame.light.shape)
    laid = shot(other.number, ReadingLight(light, other.inks), px_per_mm, other.error_mm)
    return laid, _move_px(homography, reference.shape) / FINE_PX_PER_MM, likeness


def _warped(
    light: Light, homography: NDArray[np.float64], fine: tuple[int, ...], shape: tuple[int, ...]
) -> Light:
    """Return light on a raster of another shape, moved by a homography between rasters of the shape ``fine``.

    Pixel middles lie at whole numbers here, and the rasters differ in scale and by a pixel in size.
    """
    to_fine = _scaling(fine[1] / shape[1], fine[0] / shape[0])
    from_fine = _scaling(light.shape[1] / fine[1], light.shape[0] / fine[0])
    whole = from_fine @ homography @ to_fine
    how = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    warped = cv2.warpPerspective(light, whole, shape[1::-1], flags=how, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(warped, np.uint16)


def _turned(picture: NDArray[_T], turns: int) -> NDArray[_T]:
    return np.ascontiguousarray(np.rot90(picture, turns))


def _sound(faults: LightFaults, turns: int, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """Return where a photo's light is without fault, on a raster of that shape."""
    sound = _turned((~(faults.glare | faults.shadow)).astype(np.uint8), turns)
    return np.asarray(cv2.resize(sound, shape[1::-1]), np.bool_)


def _scaling(across: float, down: float) -> NDArray[np.float64]:
    """Return the map of pixel places when a raster is made larger by these factors."""
    return np.array([[across, 0, (across - 1) / 2], [0, down, (down - 1) / 2], [0, 0, 1]])


def _move_px(homography: NDArray[np.float64], shape: tuple[int, ...]) -> float:
    """Return the root mean square of the moves of points all over a raster."""
    down, across = np.mgrid[0 : shape[0] : 9j, 0 : shape[1] : 9j]
    places = np.stack([across.ravel(), down.ravel(), np.ones(across.size)])
    moved = homography @ places
    return float(np.sqrt((((moved[:2] / moved[2]) - places[:2]) ** 2).sum(axis=0).mean()))


@njit(cache=True, nogil=True)
def _add(total: Array, light: Light, gain: Array) -> None:
    """Add light times gain to the total, the gain linear between the middles of its cells."""
    rows, columns = total.shape
    cell_rows, cell_columns = gain.shape
    knots, shares = np.empty(columns, np.int32), np.empty(columns, np.float32)
    for column in range(columns):
        place = min(max((column + 0.5) * cell_columns / columns - 0.5, 0.0), cell_columns - 1.0)
        knots[column] = min(int(place), cell_columns - 2)
        shares[column] = np.float32(place - knots[column])
    line = np.empty(cell_columns, np.float32)
    for row in range(rows):
        place = min(max((row + 0.5) * cell_rows / rows - 0.5, 0.0), cell_rows - 1.0)
        knot = min(int(place), cell_rows - 2)
        share = np.float32(place - knot)
        for k in range(cell_columns):
            line[k] = gain[knot, k] + (gain[knot + 1, k] - gain[knot, k]) * share
        for column in range(columns):
            k = knots[column]
            total[row, column] += np.float32(light[row, column]) * (
                line[k] + (line[k + 1] - line[k]) * shares[column]
            )
