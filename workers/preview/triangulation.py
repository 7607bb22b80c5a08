"""Right triangles over a grid of heights, small where the surface bends and large where it is plane.

A square is two right triangles along its diagonal; a triangle is divided at the middle of its longest side,
again and again, down to half a cell. A point is kept if leaving it out would move the surface by more than
the tolerance, or if a point below it in this order is kept; so neighbours always agree about the points on
the side between them, and nothing gapes.

Source: W. Evans, D. Kirkpatrick, G. Townsend, Right-triangulated irregular networks, Algorithmica 30 (2001).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]
Truths = NDArray[np.bool_]
Integers = NDArray[np.uint32]

BLOCK = 32  # cells along a side of the largest square; a grid must be whole blocks


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Splits:
    """Which middles of one size of square are kept."""

    centres: Truths  # (squares down, squares across)
    level_sides: Truths  # (squares down + 1, squares across): sides along x
    upright_sides: Truths  # (squares down, squares across + 1)


@dataclass(frozen=True, slots=True, eq=False)
class Triangulation:
    """Which points of a grid are in use, and the triangles over them."""

    splits: dict[int, _Splits]  # by the size of square
    shape: tuple[int, ...]  # rows and columns of points

    @property
    def triangles_count(self) -> int:
        """How many triangles there are: two a block, and each division within makes two of four."""
        largest = self.splits[BLOCK].centres.size
        divided = sum(
            np.count_nonzero(part)
            for own in self.splits.values()
            for part in (own.centres, own.level_sides, own.upright_sides)
        )
        return int(2 * (largest + divided))  # a side on the border is divided once, not twice: a few too many

    def triangles(self) -> Integers:
        """Return the triangles (n, 3) over point numbers, row by row, anticlockwise with rows going up."""
        return _triangles(self.splits, self.shape)

    def border(self) -> Truths:
        """Return the points in use along the grid's four sides, as a grid of points."""
        return _border(self.splits, self.shape)


def triangulated(height_mm: Floats, tolerance_mm: float, must_keep: Truths) -> Triangulation:
    """Return a triangulation that follows heights within a tolerance at each division.

    Args:
        height_mm: At the points of a grid of whole blocks, one more each way than cells.
        tolerance_mm: How far a point that is left out may lie from the middle between its neighbours.
        must_keep: Points that are in use whatever their height.
    """
    return Triangulation(_splits(height_mm, tolerance_mm, must_keep), height_mm.shape)


def _splits(height_mm: Floats, tolerance_mm: float, must_keep: Truths) -> dict[int, _Splits]:
    """For each size of square, from the smallest up, what is kept of its own and because of what is below."""
    found: dict[int, _Splits] = {}
    size = 2
    while size <= BLOCK:
        half, below = size // 2, found.get(size // 2)
        level = _bends(height_mm[::size, half::size], height_mm[::size, ::size], tolerance_mm, axis=1)
        level |= must_keep[::size, half::size]
        upright = _bends(height_mm[half::size, ::size], height_mm[::size, ::size], tolerance_mm, axis=0)
        upright |= must_keep[half::size, ::size]
        if below is not None:
            level |= _either_side(below.centres)
            upright |= _either_side(below.centres.T).T
        centres = _bent_centres(height_mm, size, tolerance_mm) | must_keep[half::size, half::size]
        centres |= level[:-1] | level[1:] | upright[:, :-1] | upright[:, 1:]
        found[size] = _Splits(centres=centres, level_sides=level, upright_sides=upright)
        size *= 2
    return found


def _bends(middle: Floats, ends: Floats, tolerance_mm: float, axis: int) -> Truths:
    """Where the middle of a side lies off the line between its ends."""
    before, after = (ends[:, :-1], ends[:, 1:]) if axis else (ends[:-1], ends[1:])
    bent: Truths = np.abs(middle - (before + after) / 2) > tolerance_mm
    return bent


def _bent_centres(height_mm: Floats, size: int, tolerance_mm: float) -> Truths:
    """Where a square's centre lies off its diagonal: rising in even squares, falling in odd ones."""
    corners = height_mm[::size, ::size]
    rising = corners[:-1, :-1] + corners[1:, 1:]
    falling = corners[:-1, 1:] + corners[1:, :-1]
    along = np.where(_even(rising.shape), rising, falling) / 2
    bent: Truths = np.abs(height_mm[size // 2 :: size, size // 2 :: size] - along) > tolerance_mm
    return bent


def _even(shape: tuple[int, ...]) -> Truths:
    """Which squares of a grid are as the black ones of a chess board."""
    even: Truths = (np.arange(shape[0])[:, None] + np.arange(shape[1])) % 2 == 0
    return even


def _either_side(centres: Truths) -> Truths:
    """For each side along x of squares twice as large: is one of the four at its middle divided?"""
    pairs = centres[:, 0::2] | centres[:, 1::2]
    nothing = np.zeros((1, pairs.shape[1]), dtype=np.bool_)
    padded = np.concatenate((nothing, pairs, nothing))
    touched: Truths = padded[0::2] | padded[1::2]
    return touched


def _triangles(splits: dict[int, _Splits], shape: tuple[int, ...]) -> Integers:
    """Every triangle that is there and not divided."""
    made = _halves(splits[BLOCK], shape[1])
    size = BLOCK
    while size > 1:
        own, below = splits[size], splits.get(size // 2)
        centres = None if below is None else below.centres
        made += _quarters(own, size, shape[1])
        made += _round_sides(own.level_sides, centres, size // 2, (shape[1], 1))
        turned = None if centres is None else centres.T
        made += [
            corners[:, ::-1]
            for corners in _round_sides(own.upright_sides.T, turned, size // 2, (1, shape[1]))
        ]
        size //= 2
    return np.concatenate(made).astype(np.uint32)


def _halves(largest: _Splits, width: int) -> list[NDArray[np.intp]]:
    """The two halves of each of the largest squares that is whole."""
    is_even = _even(largest.centres.shape)
    made: list[NDArray[np.intp]] = []
    for kind, orders in ((is_even, ((0, 1, 2), (0, 2, 3))), (~is_even, ((0, 1, 3), (1, 2, 3)))):
        corners, _ = _corners(~largest.centres & kind, BLOCK, width)
        made += [np.column_stack([corners[number] for number in order]) for order in orders]
    return made


def _round_sides(
    divided: Truths, centres: Truths | None, half: int, steps: tuple[int, int]
) -> list[NDArray[np.intp]]:
    """The four triangles round the middle of each divided side, less those that are divided themselves.

    Args:
        divided: Sides along the columns, (squares down + 1, squares across).
        centres: Which of the four squares at each are divided, half as large.
        half: Their side, in cells.
        steps: From a point to the next down and across.
    """
    down, across = steps[0] * half, steps[1] * half
    row, column = np.nonzero(divided)
    middle = row * (2 * down) + column * (2 * across) + across
    last = 2 * (divided.shape[0] - 1)
    made = []
    for upward, rightward in ((1, 0), (1, 1), (0, 0), (0, 1)):
        square_row, square_column = 2 * row - 1 + upward, 2 * column + rightward
        there = (square_row >= 0) & (square_row < last)
        if centres is not None:
            there &= ~centres[np.clip(square_row, 0, last - 1), square_column]
        at = middle[there]
        beside, beyond = at + (across if rightward else -across), at + (down if upward else -down)
        order = (at, beside, beyond) if upward == rightward else (at, beyond, beside)
        made.append(np.column_stack(order))
    return made


def _quarters(own: _Splits, size: int, width: int) -> list[NDArray[np.intp]]:
    """Triangles from the sides of divided squares to their centres, where the side itself is whole."""
    made = []
    sides = (
        (own.level_sides[:-1], 0, 1),
        (own.upright_sides[:, 1:], 1, 2),
        (own.level_sides[1:], 2, 3),
        (own.upright_sides[:, :-1], 3, 0),
    )
    for divided, first, second in sides:
        corners, centre = _corners(own.centres & ~divided, size, width)
        made.append(np.column_stack((corners[first], corners[second], centre)))
    return made


def _corners(chosen: Truths, size: int, width: int) -> tuple[list[NDArray[np.intp]], NDArray[np.intp]]:
    """Point numbers of squares: their corners anticlockwise from the lower left, and their centres."""
    row, column = np.nonzero(chosen)
    first = row * size * width + column * size
    corners = [first, first + size, first + size * width + size, first + size * width]
    return corners, first + (size // 2) * (width + 1)


def _border(splits: dict[int, _Splits], shape: tuple[int, ...]) -> Truths:
    """Points in use along the grid's four sides."""
    kept = np.zeros(shape, dtype=np.bool_)
    for size, own in splits.items():
        half = size // 2
        kept[0, half::size], kept[-1, half::size] = own.level_sides[0], own.level_sides[-1]
        kept[half::size, 0], kept[half::size, -1] = own.upright_sides[:, 0], own.upright_sides[:, -1]
    return kept
