"""Path data of closed loops as bytes, written digit by digit: a drawing has tens of thousands of numbers."""

from __future__ import annotations

import itertools

import numpy as np
from numba import njit
from numpy.typing import NDArray

DECIMALS = 4  # of a millimetre: rounding moves no point by more than 0.07 um
UNITS_PER_MM = 10**DECIMALS
_LONGEST_NUMERAL = 22  # of 64 bits: a space, a sign, 19 digits and a point
_NUMERALS_PER_PIECE = 6
_MOVE, _LINE, _CURVE, _CLOSE, _SPACE, _MINUS, _POINT, _NIL = (ord(letter) for letter in "MLCZ -.0")

Text = NDArray[np.uint8]
Units = NDArray[np.int64]


def loop_texts(pieces: Units, is_straight: NDArray[np.bool_], starts: NDArray[np.int64]) -> list[bytes]:
    """Return path data of each loop: M, then L for straight pieces and C for the others, then Z.

    Args:
        pieces: Control points (n, 4, 2), y down, in 0.0001 mm.
        is_straight: Of which pieces only the end is written (n).
        starts: Where each loop starts, and the end of the last (m + 1).
    """
    loops = len(starts) - 1
    text = np.empty((_NUMERALS_PER_PIECE * len(pieces) + 3 * loops) * _LONGEST_NUMERAL, np.uint8)
    ends = _write_loops(pieces, is_straight, starts, text)
    whole = text[: ends[-1]].tobytes()
    return [whole[first:last] for first, last in itertools.pairwise(ends)]


def numeral(ten_thousandths: int) -> str:
    """Return the shortest decimal numeral of a length in mm."""
    text = np.empty(_LONGEST_NUMERAL, np.uint8)
    return text[: _write_numeral(text, 0, ten_thousandths)].tobytes().decode("ascii")


@njit(cache=True)
def _write_loops(pieces: Units, is_straight: NDArray[np.bool_], starts: Units, text: Text) -> Units:
    """Write all loops one after the other; return where each starts, and the end of the last."""
    ends = np.zeros(len(starts), np.int64)
    at = ends[0]
    for loop in range(len(starts) - 1):
        first, last = starts[loop], starts[loop + 1] - 1
        at = _write_place(text, at, _MOVE, pieces[first, 0])
        for k in range(first, last + 1):
            if not is_straight[k]:
                at = _write_place(text, at, _CURVE, pieces[k, 1])
                at = _write_place(text, at, _SPACE, pieces[k, 2])
                at = _write_place(text, at, _SPACE, pieces[k, 3])
            elif k < last:  # the last straight piece is what Z draws
                at = _write_place(text, at, _LINE, pieces[k, 3])
        text[at] = _CLOSE
        at += 1
        ends[loop + 1] = at
    return ends


@njit(cache=True)
def _write_place(text: Text, at: int, letter: int, place: Units) -> int:
    """Write a letter and a place after it; return where the text goes on."""
    text[at] = letter
    at = _write_numeral(text, at + 1, place[0])
    text[at] = _SPACE
    return _write_numeral(text, at + 1, place[1])


@njit(cache=True)
def _write_numeral(text: Text, at: int, value: int) -> int:
    """Write the shortest decimal numeral; return where the text goes on."""
    if value < 0:
        text[at] = _MINUS
        at += 1
        value = -value
    whole, rest = value // UNITS_PER_MM, value % UNITS_PER_MM
    digits = 1
    scale = 10
    while scale <= whole:
        digits += 1
        scale *= 10
    for k in range(at + digits - 1, at - 1, -1):
        text[k] = _NIL + whole % 10
        whole //= 10
    at += digits
    if rest > 0:
        text[at] = _POINT
        at += 1
        step = UNITS_PER_MM // 10
        while rest > 0:
            text[at] = _NIL + rest // step
            rest %= step
            step //= 10
            at += 1
    return at
