"""Compiled sweeps of straight motions over the rows of a depth map.

A motion is turned so that it goes down: depth ``start + gain s`` at the way ``s`` across the
board, 0 to its length. At a cell ``along`` it and ``across`` from its line, the bit cuts deepest
when the tip stands at ``along + shift``, kept between the ends, where ``shift`` is

* for a cone of flank c with a flat of radius q: ``gain across / sqrt(c^2 - gain^2)``, and
  at least ``sqrt(q^2 - across^2)``, the rim of the flat;
* for a flat end of radius R: ``sqrt(R^2 - across^2)``;
* for a ball: ``gain sqrt((R^2 - across^2) / (1 + gain^2))``.

So there is no stepping error. Rows are float32 and counters int32, and no branch stands in
a row's loop: that lets the compiler use whole vector registers.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

# columns of the table of motions
X, Y, ALONG_X, ALONG_Y, LENGTH, START_DEPTH, GAIN, LEAN, START_REACH, END_REACH, BIAS = range(11)
COLUMNS = 11
CONE, DEEP_CONE, FLAT, BALL = 0, 1, 2, 3


@njit(cache=True, nogil=True)
def _cone_row(row, along, across, step_along, step_across, length, start, gain, lean, tip, flank):  # type: ignore[no-untyped-def]
    zero = np.float32(0.0)
    tip2 = tip * tip
    for column in range(np.int32(len(row))):
        steps = np.float32(column)
        at_foot = along + steps * step_along
        away = abs(across + steps * step_across)
        shift = max(lean * away, math.sqrt(max(tip2 - away * away, zero)))
        at = min(max(at_foot + shift, zero), length)
        apart = at - at_foot
        reach = math.sqrt(away * away + apart * apart)
        depth = start + gain * at - flank * max(reach - tip, zero)
        row[column] = max(row[column], depth)


@njit(cache=True, nogil=True)
def _deep_cone_row(  # type: ignore[no-untyped-def]
    row, along, across, step_along, step_across, length, start, gain, lean, tip, flank, bias, radius
):
    """The cone where it is in to its full width: the tip is never farther away than the radius."""
    zero = np.float32(0.0)
    tip2 = tip * tip
    radius2 = radius * radius
    for column in range(np.int32(len(row))):
        steps = np.float32(column)
        at_foot = along + steps * step_along
        away = abs(across + steps * step_across)
        shift = max(max(lean * away, bias), math.sqrt(max(tip2 - away * away, zero)))
        shift = min(shift, math.sqrt(max(radius2 - away * away, zero)))
        at = min(max(at_foot + shift, zero), length)
        apart = at - at_foot
        reach = math.sqrt(away * away + apart * apart)
        depth = start + gain * at - flank * max(reach - tip, zero)
        row[column] = max(row[column], depth)


@njit(cache=True, nogil=True)
def _flat_row(row, along, across, step_along, step_across, length, start, gain, radius):  # type: ignore[no-untyped-def]
    zero = np.float32(0.0)
    radius2 = radius * radius
    for column in range(np.int32(len(row))):
        steps = np.float32(column)
        at_foot = along + steps * step_along
        away = across + steps * step_across
        shift = math.sqrt(max(radius2 - away * away, zero))
        depth = start + gain * min(max(at_foot + shift, zero), length)
        row[column] = max(row[column], depth)


@njit(cache=True, nogil=True)
def _level_row(row, depth):  # type: ignore[no-untyped-def]
    for column in range(np.int32(len(row))):
        row[column] = max(row[column], depth)


@njit(cache=True, nogil=True)
def _ball_row(row, along, across, step_along, step_across, length, start, gain, lean, radius):  # type: ignore[no-untyped-def]
    zero = np.float32(0.0)
    radius2 = radius * radius
    for column in range(np.int32(len(row))):
        steps = np.float32(column)
        at_foot = along + steps * step_along
        away = across + steps * step_across
        shift = lean * math.sqrt(max(radius2 - away * away, zero))
        at = min(max(at_foot + shift, zero), length)
        apart = at - at_foot
        inside = math.sqrt(max(radius2 - away * away - apart * apart, zero))
        depth = start + gain * at - (radius - inside)
        row[column] = max(row[column], depth)


@njit(cache=True, nogil=True)
def _span(motion, y):  # type: ignore[no-untyped-def]
    """Return the x between which a row meets the hull of the discs at both ends of a motion."""
    length = motion[LENGTH]
    low, high = np.inf, -np.inf
    for end in range(2):
        reach = motion[START_REACH + end]
        off = y - motion[Y] - end * length * motion[ALONG_Y]
        if abs(off) <= reach:
            half = math.sqrt(reach * reach - off * off)
            centre = motion[X] + end * length * motion[ALONG_X]
            low, high = min(low, centre - half), max(high, centre + half)
    shrink = motion[START_REACH] - motion[END_REACH]
    if length <= abs(shrink):
        return low, high
    sine = shrink / length
    cosine = math.sqrt(1.0 - sine * sine)
    for side in (-1.0, 1.0):
        normal_x = motion[ALONG_X] * sine - side * motion[ALONG_Y] * cosine
        normal_y = motion[ALONG_Y] * sine + side * motion[ALONG_X] * cosine
        first_y = motion[Y] + motion[START_REACH] * normal_y
        last_y = motion[Y] + length * motion[ALONG_Y] + motion[END_REACH] * normal_y
        if first_y == last_y or (y < first_y) == (y < last_y):
            continue
        first_x = motion[X] + motion[START_REACH] * normal_x
        last_x = motion[X] + length * motion[ALONG_X] + motion[END_REACH] * normal_x
        crossing = first_x + (last_x - first_x) * (y - first_y) / (last_y - first_y)
        low, high = min(low, crossing), max(high, crossing)
    return low, high


@njit(cache=True, nogil=True)
def _sweep_row(row, motion, form, left, cell, y, radius, tip, flank):  # type: ignore[no-untyped-def]
    """Cut one row; ``row`` begins at the column whose centre is at ``left``."""
    beside_x, beside_y = left - motion[X], y - motion[Y]
    along = np.float32(beside_x * motion[ALONG_X] + beside_y * motion[ALONG_Y])
    across = np.float32(beside_y * motion[ALONG_X] - beside_x * motion[ALONG_Y])
    step_along = np.float32(cell * motion[ALONG_X])
    step_across = np.float32(-cell * motion[ALONG_Y])
    length, start = np.float32(motion[LENGTH]), np.float32(motion[START_DEPTH])
    gain, lean = np.float32(motion[GAIN]), np.float32(motion[LEAN])
    if form == CONE:
        _cone_row(row, along, across, step_along, step_across, length, start, gain, lean, tip, flank)
    elif form == DEEP_CONE:
        bias = np.float32(motion[BIAS])
        _deep_cone_row(
            row, along, across, step_along, step_across, length, start, gain, lean, tip, flank, bias, radius
        )
    elif form == BALL:
        _ball_row(row, along, across, step_along, step_across, length, start, gain, lean, radius)
    elif gain == 0:
        _level_row(row, start)
    else:
        _flat_row(row, along, across, step_along, step_across, length, start, gain, radius)


@njit(cache=True, nogil=True)
def sweep_band(
    depth_mm: NDArray[np.float32],
    first_row: int,
    last_row: int,
    left_mm: float,
    bottom_mm: float,
    cell_mm: float,
    motions: NDArray[np.float64],
    forms: NDArray[np.uint8],
    watched: NDArray[np.bool_],
    shape: NDArray[np.float32],
    removed_mm: NDArray[np.float32],
) -> None:
    """Cut all motions, in order, into the rows of one band of the depth map.

    Args:
        depth_mm: The whole map; only rows ``first_row`` to ``last_row`` (not included) change.
        first_row: First row of the band.
        last_row: Row after its last.
        left_mm: x of the map's left edge.
        bottom_mm: y of its lower edge.
        cell_mm: Side of a cell.
        motions: (n, COLUMNS) the table of motions.
        forms: (n,) CONE, DEEP_CONE, FLAT or BALL.
        watched: (n,) For which motions the removed depth is wanted.
        shape: Radius, radius of the tip's flat, and flank of the bit.
        removed_mm: (n,) Filled with the greatest depth a watched motion removed in this band.
    """
    columns = depth_mm.shape[1]
    radius, tip, flank = shape[0], shape[1], shape[2]
    for index in range(len(motions)):
        motion = motions[index]
        end_y = motion[Y] + motion[LENGTH] * motion[ALONG_Y]
        low_y = min(motion[Y] - motion[START_REACH], end_y - motion[END_REACH])
        high_y = max(motion[Y] + motion[START_REACH], end_y + motion[END_REACH])
        low_row = max(math.ceil((low_y - bottom_mm) / cell_mm - 0.5), first_row)
        high_row = min(math.floor((high_y - bottom_mm) / cell_mm - 0.5) + 1, last_row)
        for row_index in range(low_row, high_row):
            y = bottom_mm + (row_index + 0.5) * cell_mm
            low, high = _span(motion, y)
            if low > high:
                continue
            first = max(math.ceil((low - left_mm) / cell_mm - 0.5), 0)
            last = min(math.floor((high - left_mm) / cell_mm - 0.5) + 1, columns)
            if first >= last:
                continue
            row = depth_mm[row_index, first:last]
            x = left_mm + (first + 0.5) * cell_mm
            if watched[index]:
                before = row.copy()
                _sweep_row(row, motion, forms[index], x, cell_mm, y, radius, tip, flank)
                removed_mm[index] = max(removed_mm[index], (row - before).max())
            else:
                _sweep_row(row, motion, forms[index], x, cell_mm, y, radius, tip, flank)
