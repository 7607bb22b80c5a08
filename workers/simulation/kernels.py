"""Compiled sweeps of straight motions over the rows of a depth map.

A motion is turned so that it goes down: depth ``start + gain s`` at the way ``s`` across the
board, 0 to its length. At a cell ``along`` it and ``across`` from its line, the bit cuts deepest
when the tip stands at ``along + shift``, kept between the ends, where ``shift`` is

* for a cone of flank c with a flat of radius q: ``gain across / sqrt(c^2 - gain^2)``, and
  at least ``sqrt(q^2 - across^2)``, the rim of the flat;
* for a flat end of radius R: ``sqrt(R^2 - across^2)``;
* for a ball: ``gain sqrt((R^2 - across^2) / (1 + gain^2))``.

What is over a bit's edges - shank, nut, spindle - is swept like a flat end that stands so much higher; it
is only measured how deep it would be in what stands, and nothing is cut.

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
BLOCK = 16  # cells: rows of whole blocks run in vector registers alone, a third faster for short rows
CONE, DEEP_CONE, FLAT, BALL, DEEP_BALL, SHARP, COLLAR = 0, 1, 2, 3, 4, 5, 6  # a collar's radius is its BIAS


@njit(cache=True, nogil=True)
def _cone_row(  # type: ignore[no-untyped-def]
    row, along, across, step_along, step_across, length, start, gain, lean, tip, flank
):
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
def _sharp_row(  # type: ignore[no-untyped-def]
    row, along, across, step_along, step_across, length, start, gain, lean, flank
):
    """The cone without a flat, with one root less."""
    zero = np.float32(0.0)
    for column in range(np.int32(len(row))):
        steps = np.float32(column)
        at_foot = along + steps * step_along
        away = abs(across + steps * step_across)
        at = min(max(at_foot + lean * away, zero), length)
        apart = at - at_foot
        depth = start + gain * at - flank * math.sqrt(away * away + apart * apart)
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
def _tangent(motion, side):  # type: ignore[no-untyped-def]
    """Return y and x where a common tangent of the discs at both ends touches them, and dx / dy.

    The lower y comes first; a level tangent, or none, comes back as an empty range of y.
    """
    shrink, length = motion[START_REACH] - motion[END_REACH], motion[LENGTH]
    if length <= abs(shrink):
        return np.inf, -np.inf, 0.0, 0.0
    sine = shrink / length
    cosine = math.sqrt(1.0 - sine * sine)
    normal_x = motion[ALONG_X] * sine - side * motion[ALONG_Y] * cosine
    normal_y = motion[ALONG_Y] * sine + side * motion[ALONG_X] * cosine
    first_x = motion[X] + motion[START_REACH] * normal_x
    first_y = motion[Y] + motion[START_REACH] * normal_y
    last_x = motion[X] + length * motion[ALONG_X] + motion[END_REACH] * normal_x
    last_y = motion[Y] + length * motion[ALONG_Y] + motion[END_REACH] * normal_y
    if first_y == last_y:
        return np.inf, -np.inf, 0.0, 0.0
    lean = (last_x - first_x) / (last_y - first_y)
    if first_y < last_y:
        return first_y, last_y, first_x, lean
    return last_y, first_y, last_x, lean


@njit(cache=True, nogil=True)
def _span(  # type: ignore[no-untyped-def]
    y, start_x, start_y, start_reach, end_x, end_y, end_reach, right_tangent, left_tangent
):
    """Return the x between which a row meets the hull of the discs at both ends of a motion."""
    low, high = np.inf, -np.inf
    half2 = start_reach * start_reach - (y - start_y) * (y - start_y)
    if half2 >= 0:
        half = math.sqrt(half2)
        low, high = start_x - half, start_x + half
    half2 = end_reach * end_reach - (y - end_y) * (y - end_y)
    if half2 >= 0:
        half = math.sqrt(half2)
        low, high = min(low, end_x - half), max(high, end_x + half)
    for lower_y, upper_y, lower_x, lean in (right_tangent, left_tangent):
        if lower_y <= y <= upper_y:
            x = lower_x + lean * (y - lower_y)
            low, high = min(low, x), max(high, x)
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
    if form == SHARP:
        _sharp_row(row, along, across, step_along, step_across, length, start, gain, lean, flank)
    elif form == CONE:
        _cone_row(row, along, across, step_along, step_across, length, start, gain, lean, tip, flank)
    elif form == DEEP_CONE:
        bias = np.float32(motion[BIAS])
        _deep_cone_row(
            row, along, across, step_along, step_across, length, start, gain, lean, tip, flank, bias, radius
        )
    elif form in (BALL, DEEP_BALL):
        _ball_row(row, along, across, step_along, step_across, length, start, gain, lean, radius)
    elif gain == 0:
        _level_row(row, start)
    else:
        _flat_row(row, along, across, step_along, step_across, length, start, gain, radius)


@njit(cache=True, nogil=True)
def _depth_in_stock(row, bare, motion, left, cell, y, zero):  # type: ignore[no-untyped-def]
    """Return how deep a collar is in what stands of one row, where the row is not bare of stock."""
    swept = row.copy()
    _sweep_row(swept, motion, FLAT, left, cell, y, np.float32(motion[BIAS]), zero, zero)
    deepest = zero
    for column in range(len(row)):
        if not bare[column]:
            deepest = max(deepest, swept[column] - row[column])
    return deepest


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
    bare: NDArray[np.bool_],
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
        forms: (n,) CONE, DEEP_CONE, FLAT, BALL, DEEP_BALL, SHARP or COLLAR.
        watched: (n,) For which motions the removed depth is wanted.
        shape: Radius, radius of the tip's flat, and flank of the bit.
        bare: Cells without stock, as many as the map has; may be empty if there are no collars.
        removed_mm: (n,) Filled with the greatest depth a watched motion removed in this band, and how deep
            a collar was in the stock.
    """
    columns = depth_mm.shape[1]
    per_mm = 1.0 / cell_mm
    radius, tip, flank = shape[0], shape[1], shape[2]
    for index in range(len(motions)):
        motion, form = motions[index], forms[index]
        start_x, start_y = motion[X], motion[Y]
        end_x = start_x + motion[LENGTH] * motion[ALONG_X]
        end_y = start_y + motion[LENGTH] * motion[ALONG_Y]
        start_reach, end_reach = motion[START_REACH], motion[END_REACH]
        low_y = min(start_y - start_reach, end_y - end_reach)
        high_y = max(start_y + start_reach, end_y + end_reach)
        low_row = max(math.ceil((low_y - bottom_mm) / cell_mm - 0.5), first_row)
        high_row = min(math.floor((high_y - bottom_mm) / cell_mm - 0.5) + 1, last_row)
        if low_row >= high_row:
            continue
        right_tangent, left_tangent = _tangent(motion, -1.0), _tangent(motion, 1.0)
        for row_index in range(low_row, high_row):
            y = bottom_mm + (row_index + 0.5) * cell_mm
            low, high = _span(
                y, start_x, start_y, start_reach, end_x, end_y, end_reach, right_tangent, left_tangent
            )
            first = max(math.ceil((low - left_mm) * per_mm - 0.5), 0)
            last = min(math.floor((high - left_mm) * per_mm - 0.5) + 1, columns)
            if low > high or first >= last:
                continue
            if form in (SHARP, CONE, BALL):  # beyond their reach these forms are below zero: no harm
                whole = first + (last - first + BLOCK - 1) // BLOCK * BLOCK
                last = whole if whole <= columns else last
            row = depth_mm[row_index, first:last]
            x = left_mm + (first + 0.5) * cell_mm
            if form == COLLAR:
                deepest = _depth_in_stock(
                    row, bare[row_index, first:last], motion, x, cell_mm, y, np.float32(0.0)
                )
                removed_mm[index] = max(removed_mm[index], deepest)
            elif watched[index]:
                before = row.copy()
                _sweep_row(row, motion, form, x, cell_mm, y, radius, tip, flank)
                removed_mm[index] = max(removed_mm[index], (row - before).max())
            else:
                _sweep_row(row, motion, form, x, cell_mm, y, radius, tip, flank)
