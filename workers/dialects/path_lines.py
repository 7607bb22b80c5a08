"""Cut paths as lines of RS-274: straight moves only, every one of them with its G word."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from workers.dialects.word_format import WordFormat
from workers.values.cutting_plan import CutPath

Floats = NDArray[np.float64]

_AXES = "XYZ"


def path_lines(path: CutPath, words: WordFormat, clearance_mm: float, approach_mm: float) -> Iterator[str]:
    """Yield one cut path: over its start, down, along, and up again.

    Args:
        path: What to cut.
        words: The unit and its decimals.
        clearance_mm: Height over the face at which the machine arrives and leaves.
        approach_mm: Height over the face from which it goes down at the plunge feed.

    Axes that stand still are left out, and so are moves that rounding makes none; the feed
    is written on the first feed line and wherever it changes.
    """
    points = words.coordinates(path.points_mm)
    feeds = words.feeds(path.feeds_mm_per_min)
    first = tuple(points[0].tolist())
    yield f"G0 X{words.coordinate} Y{words.coordinate}" % first[:2]
    yield f"G0 Z{words.length(approach_mm)}"
    yield f"G1 Z{words.coordinate} F{words.feed}" % (first[2], feeds[0])
    yield from _moves(points, feeds, words)
    yield f"G0 Z{words.length(clearance_mm)}"


def _moves(points: Floats, feeds: Floats, words: WordFormat) -> Iterator[str]:
    """Yield the feed moves after the plunge: one bulk format for all lines."""
    moving = np.ones(len(points), np.bool_)
    moving[1:] = (points[1:] != points[:-1]).any(axis=1)
    points, feeds = points[moving], feeds[moving]
    if len(points) < 2:
        return
    says = np.empty((len(points) - 1, 4), np.bool_)  # X, Y, Z, F: what each line says
    says[:, :3] = points[1:] != points[:-1]
    says[:, 3] = feeds[1:] != feeds[:-1]
    templates = np.array([_template(code, words) for code in range(16)], dtype=object)
    lines = templates[says @ np.array([8, 4, 2, 1])]
    values = np.column_stack([points[1:], feeds[1:]])[says]
    yield from ("\n".join(lines.tolist()) % tuple(values.tolist())).split("\n")


def _template(code: int, words: WordFormat) -> str:
    """Return the % format of a move that says the axes and the feed of these four bits."""
    said = [f" {axis}{words.coordinate}" for axis, bit in zip(_AXES, (8, 4, 2), strict=True) if code & bit]
    return "G1" + "".join(said) + (f" F{words.feed}" if code & 1 else "")
