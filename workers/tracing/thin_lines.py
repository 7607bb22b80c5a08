"""Lines and gaps thinner than a pixel, made sure of before the edge is followed.

A crisp line seven tenths of a pixel wide may cover no pixel by half: where it passes between two rows, each
has a third of it. Half-way between ink and paper it would break there, and a gap as thin would close. What
tells it is that a pixel holds clearly more of it than those to either side across the line. Such pixels of a
pale line count as ink, such pixels of a dark gap as paper; how wide the line is their coverage says.

Only a crisp picture without noise can be read so. In others a faint ridge is a pencil line, or grain.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

Pixels = NDArray[np.uint8]
Places = NDArray[np.int64]

CRISP_BLUR_PX = 0.6  # exact coverage comes to 0.5, photos to 0.66 and more
LEAST_TONE = 51  # of 255, by which a line stands out: a fifth of a pixel; grain of scans stays below a tenth
LEAST_SHARE = 0.5  # of its own tone by which it does: half of a pale area's edge is no line
WORD = 8
ALL_PAPER, ALL_INK = np.uint64(0xFFFFFFFFFFFFFFFF), np.uint64(0)  # eight pixels
MIDDLE = 128  # tones from here on are paper


def thin_places(pixels: Pixels) -> Places:
    """Return where pixels are on the other side of the middle than the thin line that runs through them.

    Args:
        pixels: Coverage, 0 ink to 255 paper, paper two deep all round (rows, columns).
    """
    places: Places = _on_thin_lines(pixels.reshape(-1), pixels.shape[1])
    return places


def made_sure(pixels: Pixels, places: Places) -> Pixels:
    """Return a copy in which pixels on thin lines are all ink, those on thin gaps all paper.

    Args:
        pixels: Coverage (rows, columns).
        places: Where in it, row after row.
    """
    sure = pixels.copy()
    flat = sure.reshape(-1)
    flat[places] = np.where(flat[places] < MIDDLE, np.uint8(255), np.uint8(0))
    return sure


@njit(cache=True)
def _on_thin_lines(flat: Pixels, columns: int) -> Places:
    """Return where thin lines stand out of what lies before and after, along a row or across."""
    found = np.empty(1 << 8, np.int64)
    count = 0
    words = flat[: len(flat) // WORD * WORD].view(np.uint64)
    first, last = 2 * columns, len(flat) - 2 * columns
    for index in range(first // WORD, (last + WORD - 1) // WORD):
        if words[index] == ALL_PAPER or words[index] == ALL_INK:
            continue
        for i in range(max(index * WORD, first), min(index * WORD + WORD, last)):
            tone = flat[i]
            if not LEAST_TONE <= tone <= 255 - LEAST_TONE:
                continue
            if _stands_out(flat, i, 1, tone) or _stands_out(flat, i, columns, tone):
                if count == len(found):
                    found = np.concatenate((found, np.empty_like(found)))
                found[count] = i
                count += 1
    return found[:count].copy()


@njit(cache=True)
def _stands_out(flat: Pixels, i: int, step: int, tone: int) -> bool:
    """Return whether a pixel has clearly more of a thin line than those before and after it.

    Of two that have as much the first is taken.
    """
    flip = 255 if tone >= MIDDLE else 0  # pale: the line is ink; dark: it is paper
    here = abs(flip - np.int64(tone))
    before, after = abs(flip - np.int64(flat[i - step])), abs(flip - np.int64(flat[i + step]))
    if before >= here or after > here:
        return False
    before = min(before, abs(flip - np.int64(flat[i - 2 * step])))
    after = min(after, abs(flip - np.int64(flat[i + 2 * step])))
    return bool(here - max(before, after) >= max(LEAST_TONE, LEAST_SHARE * here))
