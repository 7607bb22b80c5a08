"""Programs as straight motions, by a reader that knows what our writers write and nothing else."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.values.cutter import Cutter
from workers.values.program import Program

Floats = NDArray[np.float64]

_CHORD_RAD = 0.02  # of an arc that is taken apart
_COMMENT = re.compile(r"\([^)]*\)")
_WORD = re.compile(r"([A-Z])([-+]?[0-9.]+)")
_NOT_OURS = frozenset(("G91", "G92", "G81", "G83", "M98", "M4"))

_Row = tuple[tuple[float, ...], tuple[float, ...], bool, float, float, Cutter | None]
"""A motion: start, end, is it a traverse, feed, spindle speed, bit."""


@dataclass(frozen=True)
class Moves:
    """Straight motions of all programs, in order."""

    starts_mm: Floats
    ends_mm: Floats
    rapid: NDArray[np.bool_]
    feeds: Floats  # mm/min
    spinning: Floats  # rpm; 0: stands
    bits: NDArray[np.intp]  # places in ``cutters``
    cutters: tuple[Cutter, ...]

    @property
    def lowest_mm(self) -> Floats:
        return np.minimum(self.starts_mm[:, 2], self.ends_mm[:, 2])


def moves_of(programs: Sequence[Program]) -> Moves:
    rows = [row for program in programs for row in _rows(program)]
    cutters = tuple(dict.fromkeys(row[5] for row in rows if row[5] is not None))
    return Moves(
        starts_mm=np.array([row[0] for row in rows]),
        ends_mm=np.array([row[1] for row in rows]),
        rapid=np.array([row[2] for row in rows]),
        feeds=np.array([row[3] for row in rows]),
        spinning=np.array([row[4] for row in rows]),
        bits=np.array([-1 if row[5] is None else cutters.index(row[5]) for row in rows]),
        cutters=cutters,
    )


def _rows(program: Program) -> Iterator[_Row]:
    scale, feed, speed, turning = math.nan, 0.0, 0.0, False
    place = [math.nan] * 3
    cutter, number = program.cutter, 0
    for line in _COMMENT.sub("", program.text).splitlines():
        said = [(letter, float(value)) for letter, value in _WORD.findall(line)]
        words, codes = dict(said), {f"{letter}{value:g}" for letter, value in said if letter in "GM"}
        if codes & _NOT_OURS:
            raise ValueError(f"not written by us: {line}")
        if codes & {"G20", "G21"}:
            scale = 25.4 if "G20" in codes else 1.0
        number = int(words.get("T", number))
        speed = words.get("S", speed)
        feed = words["F"] * scale if "F" in words else feed
        if "M6" in codes:
            cutter = program.bits[number]
        if codes & {"M3", "M5"}:
            turning = "M3" in codes
        mode = next((mode for mode in range(4) if f"G{mode}" in codes), None)
        if mode is None:
            if words.keys() & {"X", "Y", "Z"}:
                raise ValueError(f"a place without a motion word: {line}")
            continue
        end = [words[axis] * scale if axis in words else was for axis, was in zip("XYZ", place, strict=True)]
        for way in _arc(place, end, words, scale, clockwise=mode == 2) if mode > 1 else [end]:
            if not any(math.isnan(value) for value in (*place, *way)):
                yield tuple(place), tuple(way), mode == 0, feed, speed if turning else 0.0, cutter
            place = list(way)


def _arc(
    start: Sequence[float], end: Sequence[float], words: Mapping[str, float], scale: float, *, clockwise: bool
) -> list[list[float]]:
    centre = [start[0] + words.get("I", 0.0) * scale, start[1] + words.get("J", 0.0) * scale]
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    last = math.atan2(end[1] - centre[1], end[0] - centre[0])
    turn = -((first - last) % math.tau or math.tau) if clockwise else (last - first) % math.tau or math.tau
    radius = math.hypot(start[0] - centre[0], start[1] - centre[1])
    count = max(1, math.ceil(abs(turn) / _CHORD_RAD))
    made = []
    for step in range(1, count):
        angle = first + turn * step / count
        rise = start[2] + (end[2] - start[2]) * step / count
        made.append([centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle), rise])
    return [*made, list(end)]


def told_of(moves: Moves, place: int) -> str:
    """Say which motion it is."""
    start, end = (ends[place].round(3).tolist() for ends in (moves.starts_mm, moves.ends_mm))
    return f"motion {place} from {start} to {end}"
