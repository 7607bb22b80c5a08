"""Many lines in space in one array, and cutting them at heights."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from workers.geometry.path_simplification import kept
from workers.values.arrays import frozen

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Strands:
    """Lines of two or more points each; line i has the rows offsets[i] to offsets[i + 1]."""

    points_mm: Floats  # (n, 3) x, y, z
    offsets: NDArray[np.int32]  # (lines + 1,)

    def __post_init__(self) -> None:
        object.__setattr__(self, "points_mm", frozen(self.points_mm, np.float64, 2, 3))
        object.__setattr__(self, "offsets", frozen(self.offsets, np.int32, 1))

    def __len__(self) -> int:
        return len(self.offsets) - 1

    def lines(self) -> list[Floats]:
        """Return each line's points."""
        return np.split(self.points_mm, self.offsets[1:-1]) if len(self) else []


def strands_of(lines: Sequence[Floats]) -> Strands:
    """Return lines of (n, 3) points as strands; lines of a single point are left out."""
    lines = [line for line in lines if len(line) > 1]
    offsets = np.cumsum([0, *(len(line) for line in lines)])
    return Strands(np.concatenate(lines) if lines else np.empty((0, 3)), offsets)


def at_height(line_mm: Floats, height_mm: float) -> Floats:
    """Return a line of (n, 2) points at a height, (n, 3)."""
    return np.column_stack([line_mm, np.full(len(line_mm), height_mm)])


def length_mm(line_mm: Floats) -> float:
    """Return a line's length."""
    return float(np.linalg.norm(np.diff(line_mm, axis=0), axis=1).sum())


def joined(parts: Sequence[Strands]) -> Strands:
    """Return all lines of all parts, in their order."""
    return strands_of([line for part in parts for line in part.lines()])


def between(strands: Strands, low_mm: float, high_mm: float) -> Strands:
    """Return what of the lines has a height from ``low_mm`` to ``high_mm``, cut exactly at both."""
    if not len(strands):
        return strands
    strands = _split_at(_split_at(strands, low_mm), high_mm)
    heights_mm = strands.points_mm[:, 2]
    middle_mm = (heights_mm[:-1] + heights_mm[1:]) / 2
    return unbroken(strands, (middle_mm >= low_mm) & (middle_mm <= high_mm))


def level(strands: Strands, upper_mm: float, lower_mm: float) -> Strands:
    """Return one depth pass: what lies deeper than ``upper_mm``, but no deeper than ``lower_mm``.

    Args:
        strands: Where the bit is to go in the end.
        upper_mm: Height down to which earlier passes have cut.
        lower_mm: Height below which this pass does not go.
    """
    strands = between(strands, -np.inf, upper_mm)
    strands = _split_at(strands, lower_mm)
    points_mm = strands.points_mm.copy()
    np.maximum(points_mm[:, 2], lower_mm, out=points_mm[:, 2])
    return Strands(points_mm, strands.offsets)


def simplified_strands(strands: Strands, tolerance_mm: float, depth_weight: float = 1.0) -> Strands:
    """Return the lines with fewer points, each within the tolerance in space.

    Args:
        strands: The lines.
        tolerance_mm: No point left out is farther than this from its new straight piece.
        depth_weight: What a deviation in depth counts against one in plan.
    """
    if not len(strands):
        return strands
    weighed_mm = strands.points_mm * np.array([1.0, 1.0, depth_weight])
    stays = kept(weighed_mm, strands.offsets, tolerance_mm)
    counts = np.add.reduceat(stays, strands.offsets[:-1], dtype=np.int32)
    return Strands(strands.points_mm[stays], np.concatenate([[0], np.cumsum(counts)]))


def refined(strands: Strands, longest_mm: float) -> Strands:
    """Return the lines with no straight piece longer than allowed, measured in plan."""
    if not len(strands):
        return strands
    points_mm = strands.points_mm
    steps_mm = np.where(is_inner(strands)[:, None], np.diff(points_mm, axis=0), 0.0)
    counts = np.maximum(np.ceil(np.hypot(steps_mm[:, 0], steps_mm[:, 1]) / longest_mm), 1).astype(np.int64)
    before = np.concatenate([[0], np.cumsum(counts)])
    rows = np.repeat(np.arange(len(counts)), counts)
    share = (np.arange(len(rows)) - before[rows]) / counts[rows]
    fine_mm = points_mm[rows] + share[:, None] * steps_mm[rows]
    return Strands(np.vstack([fine_mm, points_mm[-1:]]), np.append(before, before[-1] + 1)[strands.offsets])


def parted_at(strands: Strands, places_mm: Floats, reach_mm: float) -> Strands:
    """Return the lines led through places near them, and parted there.

    Args:
        strands: The lines.
        places_mm: (n, 3) points; each parts the line nearest to it in plan.
        reach_mm: Places farther than this from every line part none.
    """
    if not len(strands) or not len(places_mm):
        return strands
    numbers, rows, along_mm = nearest_pieces(strands, places_mm, reach_mm)
    order = np.lexsort((along_mm, rows))
    numbers, rows = numbers[order], rows[order]
    points_mm = np.insert(
        strands.points_mm, np.repeat(rows + 1, 2), np.repeat(places_mm[numbers], 2, axis=0), axis=0
    )
    cuts = rows + 2 + 2 * np.arange(len(rows))  # between the two copies of each place
    moved = strands.offsets + 2 * np.searchsorted(rows, strands.offsets, side="left")
    return Strands(points_mm, np.union1d(moved, cuts))


def nearest_pieces(
    strands: Strands, places_mm: Floats, reach_mm: float
) -> tuple[NDArray[np.int64], NDArray[np.int64], Floats]:
    """Return where places are nearest to lines in plan, for those within reach of one.

    Returns:
        The places' numbers, the row at which the nearest straight piece begins, and how far
        along it the nearest point is.
    """
    ends_mm = np.stack([strands.points_mm[:-1, :2], strands.points_mm[1:, :2]], axis=1)
    inner = np.flatnonzero(is_inner(strands))
    pieces = np.asarray(shapely.linestrings(ends_mm[inner]))
    places = np.asarray(shapely.points(places_mm[:, :2]))
    numbers, found = shapely.STRtree(pieces).query_nearest(places, max_distance=reach_mm, all_matches=False)
    return numbers, inner[found], np.asarray(shapely.line_locate_point(pieces[found], places[numbers]))


def is_inner(strands: Strands) -> NDArray[np.bool_]:
    """Return for each pair of neighbouring rows whether they belong to one line."""
    inner = np.ones(max(len(strands.points_mm) - 1, 0), np.bool_)
    inner[strands.offsets[1:-1] - 1] = False
    return inner


def _split_at(strands: Strands, height_mm: float) -> Strands:
    """Return the lines with a point wherever they cross a height."""
    points_mm = strands.points_mm
    above_mm = points_mm[:, 2] - height_mm
    crossing = np.flatnonzero((above_mm[:-1] * above_mm[1:] < 0) & is_inner(strands))
    if not len(crossing):
        return strands
    share = (above_mm[crossing] / (above_mm[crossing] - above_mm[crossing + 1]))[:, None]
    between_mm = points_mm[crossing] + share * (points_mm[crossing + 1] - points_mm[crossing])
    between_mm[:, 2] = height_mm
    offsets = strands.offsets + np.searchsorted(crossing, strands.offsets, side="left")
    return Strands(np.insert(points_mm, crossing + 1, between_mm, axis=0), offsets)


def unbroken(strands: Strands, wanted: NDArray[np.bool_]) -> Strands:
    """Return the unbroken runs of wanted pieces; piece i goes from row i to row i + 1."""
    wanted = wanted & is_inner(strands)
    before = np.concatenate([[False], wanted])
    after = np.concatenate([wanted, [False]])
    chosen = before | after
    starts = np.flatnonzero((after & ~before)[chosen])
    offsets = np.append(starts, np.count_nonzero(chosen)).astype(np.int32)
    return Strands(strands.points_mm[chosen], offsets)
