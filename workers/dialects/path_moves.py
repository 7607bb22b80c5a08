"""Cut paths as moves of RS-274: straight ones, and arcs where they are wanted; each with its G word."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from workers.dialects.word_format import WordFormat
from workers.geometry.arc_fitting import centre_of
from workers.values.cutting_plan import CutPath

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Integers = NDArray[np.int64]

_LETTERS = "XYZIJF"
_FEED = 5  # the place of F among them
_STRAIGHT, _CLOCKWISE, _ANTICLOCKWISE = 1, 2, 3  # G1, G2, G3


class Heights(NamedTuple):
    """Over the face, mm."""

    approach_mm: float  # from where the bit goes down at the plunge feed
    leave_mm: float  # where the way to the next path, or home, is run


def path_moves(
    path: CutPath, words: WordFormat, heights: Heights, *, with_arcs: bool = False
) -> Iterator[str]:
    """Yield one cut path: over its start, down, along, a dwell if it has one, and up again.

    Args:
        path: What to cut.
        words: The unit and its decimals.
        heights: Of its beginning and its end.
        with_arcs: Run the path's arcs as such, and not by their chords.

    Axes that stand still are left out, and so are moves that rounding makes none; the feed
    is written on the first feed line and wherever it changes.
    """
    points = words.coordinates(path.points_mm)
    feeds = words.feeds(path.feeds_mm_per_min)
    first = tuple(points[0].tolist())
    yield f"G0 X{words.coordinate} Y{words.coordinate}" % first[:2]
    yield f"G0 Z{words.length(heights.approach_mm)}"
    yield f"G1 Z{words.coordinate} F{words.feed}" % (first[2], feeds[0])
    yield from _moves(points, feeds, _arcs(path, points) if with_arcs else {}, words)
    if path.dwell_s:
        yield f"G4 P{path.dwell_s:.2f}"
    yield f"G0 Z{words.length(heights.leave_mm)}"


def _arcs(path: CutPath, points: Floats) -> dict[int, tuple[int, float]]:
    """Return arcs by the row they end at: where they begin, and their turn.

    One whose ends rounding brings together would be read as a full circle: its chords are written.
    """
    begins, ends = path.arc_rows.T
    sound = (points[begins, :2] != points[ends, :2]).any(axis=1)
    found = zip(begins[sound].tolist(), path.arc_turns_rad[sound].tolist(), strict=True)
    return dict(zip(ends[sound].tolist(), found, strict=True))


def _moves(
    points: Floats, feeds: Floats, arcs: dict[int, tuple[int, float]], words: WordFormat
) -> Iterator[str]:
    """Yield the feed moves after the plunge: one bulk format for all lines."""
    verbs = np.full(len(points), _STRAIGHT)
    values = np.column_stack([points, np.zeros((len(points), 2)), feeds])
    visited = np.ones(len(points), np.bool_)
    if arcs:
        ends = np.array(list(arcs))
        begins = np.array([begin for begin, _ in arcs.values()])
        turns_rad = np.array([turn for _, turn in arcs.values()])
        for begin, end in zip(begins.tolist(), ends.tolist(), strict=True):
            visited[begin + 1 : end] = False
        verbs[ends] = np.where(turns_rad > 0, _ANTICLOCKWISE, _CLOCKWISE)
        # the centre is found from the rounded ends: however it is rounded itself, it is as far from both
        # as the arc rule asks (trade.md G-59)
        centres = centre_of(points[begins, :2], points[ends, :2], turns_rad)
        values[ends, 3:5] = np.round(centres - points[begins, :2], words.coordinate_decimals_count) + 0.0
    values, verbs = values[visited], verbs[visited]
    moving = (values[1:, :3] != values[:-1, :3]).any(axis=1)
    moving = np.concatenate([[True], moving])
    values, verbs = values[moving], verbs[moving]
    if len(values) > 1:
        yield from _written(values, verbs[1:], words)


def _written(values: Floats, verbs: Integers, words: WordFormat) -> Iterator[str]:
    """Yield a line for each row of values but the first: what changes, and all of an arc's words."""
    says = np.empty((len(verbs), len(_LETTERS)), np.bool_)
    says[:] = values[1:] != values[:-1]
    says[:, 3:_FEED] = False
    says[verbs != _STRAIGHT] |= np.array([True, True, False, True, True, False])
    codes = verbs * 2 ** len(_LETTERS) + says @ 2 ** np.arange(len(_LETTERS))
    known, numbers = np.unique(codes, return_inverse=True)
    lines = np.array([_template(code, words) for code in known.tolist()], dtype=object)[numbers]
    yield from ("\n".join(lines.tolist()) % tuple(values[1:][says].tolist())).split("\n")


def _template(code: int, words: WordFormat) -> str:
    """Return the % format of a move: its verb, and the letters it says as the bits below."""
    said = [place for place in range(len(_LETTERS)) if code >> place & 1]
    formats = [words.feed if place == _FEED else words.coordinate for place in said]
    return f"G{code >> len(_LETTERS)}" + "".join(
        f" {_LETTERS[place]}{form}" for place, form in zip(said, formats, strict=True)
    )
