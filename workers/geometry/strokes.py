"""The axis as somebody would draw it: strokes that go straight on where they cross."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from workers.geometry.chains import chains
from workers.values.medial_axis import MedialAxis

_SHARPEST_TURN_DEG = 45.0  # at a crossing; what turns more is another stroke

_End = tuple[int, int]  # number of a run, and 0 for its first node or -1 for its last


def strokes(axis: MedialAxis) -> list[NDArray[np.int32]]:
    """Return the axis as runs of nodes, those joined that go straight on through a junction."""
    runs = chains(axis)
    partners = _partners(axis, runs)
    taken = [False] * len(runs)
    joined = []
    starts = [end for end in _ends(runs) if end not in partners]
    for start in starts + [(number, 0) for number in range(len(runs))]:  # closed ones come last
        if not taken[start[0]]:
            joined.append(_walk(runs, partners, start, taken))
    return joined


def _ends(runs: list[NDArray[np.int32]]) -> list[_End]:
    return [(number, side) for number in range(len(runs)) for side in (0, -1)]


def _partners(axis: MedialAxis, runs: list[NDArray[np.int32]]) -> dict[_End, _End]:
    """Return which end of a run goes on as which other one, straightest first."""
    meeting: dict[int, list[_End]] = {}
    for end in _ends(runs):
        meeting.setdefault(int(runs[end[0]][end[1]]), []).append(end)
    least_cosine = math.cos(math.radians(_SHARPEST_TURN_DEG))
    partners: dict[_End, _End] = {}
    for node, ends in meeting.items():
        if len(ends) < 3:
            continue
        away = {end: _direction(axis, runs[end[0]], end[1], node) for end in ends}
        pairs = [(-float(away[one] @ away[other]), one, other) for one, other in combinations(ends, 2)]
        for cosine, one, other in sorted(pairs, key=lambda pair: -pair[0]):
            if cosine >= least_cosine and one not in partners and other not in partners:
                partners[one], partners[other] = other, one
    return partners


def _direction(axis: MedialAxis, run: NDArray[np.int32], side: int, node: int) -> NDArray[np.float64]:
    """Return the unit vector from a junction along a run, seen as far away as the stroke is wide there."""
    places_mm = axis.nodes_mm[run if side == 0 else run[::-1], :2] - axis.nodes_mm[node, :2]
    distances_mm = np.hypot(places_mm[:, 0], places_mm[:, 1])
    beyond = np.flatnonzero(distances_mm >= 2 * axis.nodes_mm[node, 2])
    seen = beyond[0] if len(beyond) else int(distances_mm.argmax())
    return np.asarray(places_mm[seen] / max(float(distances_mm[seen]), 1e-12))


def _walk(
    runs: list[NDArray[np.int32]], partners: dict[_End, _End], start: _End, taken: list[bool]
) -> NDArray[np.int32]:
    """Return the nodes from one end of a run on through all that follow."""
    pieces: list[NDArray[np.int32]] = []
    end: _End | None = start
    while end is not None and not taken[end[0]]:
        number, side = end
        taken[number] = True
        run = runs[number] if side == 0 else runs[number][::-1]
        pieces.append(run if not pieces else run[1:])
        end = partners.get((number, -1 - side))
    return np.concatenate(pieces)
