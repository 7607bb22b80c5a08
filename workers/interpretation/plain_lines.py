"""The quick way through plain lines: ``G0``/``G1`` with X, Y, Z and F as plain numbers.

Nearly all lines of a long program are of this kind. A compiled kernel reads runs of
them and stops before the first line that is anything else, or wrong in any way;
that line then goes to the full interpreter, which also owns every error message.
Numbers of up to 15 digits become an integer over a power of ten, which IEEE 754
division rounds to the same double as any correct reader of decimals.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

X, Y, Z, FEED, MOTION, UNIT, OFFSET_X, OFFSET_Y, OFFSET_Z = range(9)  # places in the kernel's state
_LONGEST_LINE = 256
_MOST_DIGITS = 15
_PLACES = np.full(256, -1, np.int8)  # of lower-case letters among the words of a line
for _place, _letter in enumerate("xyzfg"):
    _PLACES[ord(_letter)] = _place
_MESSAGE = np.frombuffer(b"msg,", np.uint8)
_POWERS_OF_TEN = np.array([10.0**power for power in range(_MOST_DIGITS + 1)])


@njit(cache=True)
def _end_of_comment(codes: NDArray[np.uint8], at: int, end: int) -> int:
    """Return the place behind the comment here, -1 when it does not close, nests or is a message."""
    read = 0  # letters of "msg," that its beginning has matched; -1 when it is another text
    for place in range(at + 1, end):
        code = codes[place]
        if code == 41:
            return place + 1
        if code == 40 or code > 126:
            return -1
        if read >= 0 and code != 32 and code != 9:
            read = read + 1 if (code | 32 if code >= 65 else code) == _MESSAGE[read] else -1
            if read == len(_MESSAGE):
                return -1
    return -1


@njit(cache=True)
def _number(codes: NDArray[np.uint8], at: int, end: int, powers: NDArray[np.float64]) -> tuple[float, int]:
    """Return the plain number that stands here and the place behind it, -1 when there is none."""
    negative = False
    if at < end and (codes[at] == 45 or codes[at] == 43):
        negative = codes[at] == 45
        at += 1
    digits = 0
    decimals = 0
    mantissa = 0
    has_point = False
    while at < end:
        code = codes[at]
        if 48 <= code <= 57:
            mantissa = mantissa * 10 + (code - 48)
            digits += 1
            decimals += has_point
            if digits > _MOST_DIGITS:
                return 0.0, -1
        elif code == 46 and not has_point:
            has_point = True
        else:
            break
        at += 1
    if digits == 0:
        return 0.0, -1
    value = mantissa / powers[decimals]
    return (-value if negative else value), at


@njit(cache=True)
def _plain_line(
    codes: NDArray[np.uint8], at: int, end: int, words: NDArray[np.float64], powers: NDArray[np.float64]
) -> int:
    """Read one line into ``words`` (x, y, z, f, g); return their set as bits, -1 when not plain."""
    seen = 0
    while at < end:
        code = codes[at]
        if code == 32 or code == 9:
            at += 1
            continue
        if code == 40:
            at = _end_of_comment(codes, at, end)
            if at < 0:
                return -1
            continue
        place = _PLACES[code | 32]
        if code < 65 or place < 0 or seen >> place & 1:
            return -1
        at += 1
        while at < end and (codes[at] == 32 or codes[at] == 9):
            at += 1
        value, at = _number(codes, at, end, powers)
        if at < 0:
            return -1
        words[place] = value
        seen |= 1 << place
    return seen


@njit(cache=True)
def read_plain_run(
    codes: NDArray[np.uint8],
    at: int,
    line: int,
    state: NDArray[np.float64],
    powers: NDArray[np.float64],
    ends_mm: NDArray[np.float64],
    motions: NDArray[np.uint8],
    feeds: NDArray[np.float64],
    lines: NDArray[np.int32],
) -> tuple[int, int, int]:
    """Read plain lines from ``at`` on, in absolute distance and feed-a-minute mode.

    Args:
        codes: The whole text as bytes, lines ended by line feeds.
        at: Where the first line starts.
        line: Its number, from 1.
        state: Position, feed, motion (0, 1, or -1 for none), unit and offsets; changed.
        powers: Powers of ten.
        ends_mm: Filled with the ends of the motions, from 0.
        motions: Filled with 0 for G0, 1 for G1.
        feeds: Filled with mm a minute.
        lines: Filled with line numbers.

    Returns:
        Start and number of the first line that is not plain, and how many motions were read.
    """
    words = np.zeros(5)
    count = 0
    size = len(codes)
    while at < size and count < len(motions):
        end = at
        while end < size and codes[end] != 10:
            end += 1
        seen = -1 if end - at > _LONGEST_LINE else _plain_line(codes, at, end, words, powers)
        if seen < 0:
            break
        if seen:
            motion = words[4] if seen & 16 else state[MOTION]
            feed = words[3] * state[UNIT] if seen & 8 else state[FEED]
            if not seen & 7 or not (motion == 0.0 or motion == 1.0) or feed < 0.0:
                break
            if motion == 1.0 and feed == 0.0:
                break
            state[MOTION] = motion
            state[FEED] = feed
            for axis in range(3):
                if seen >> axis & 1:
                    state[axis] = words[axis] * state[UNIT] + state[OFFSET_X + axis]
                ends_mm[count, axis] = state[axis]
            motions[count] = np.uint8(motion)
            feeds[count] = feed if motion == 1.0 else 0.0
            lines[count] = line
            count += 1
        at = end + 1
        line += 1
    return at, line, count


def powers_of_ten() -> NDArray[np.float64]:
    """Return the table that the kernel divides by."""
    return _POWERS_OF_TEN
