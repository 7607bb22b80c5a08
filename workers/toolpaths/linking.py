"""From a net of strands to few paths in a good order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.geometry.ordering import shortest_order
from workers.toolpaths.pace import COORDINATE_MM, PATH_TOLERANCE_MM, Pace, cut_path, feeds_along
from workers.toolpaths.rings import Room
from workers.toolpaths.strands import Strands, simplified_strands
from workers.toolpaths.trails import trails
from workers.values.cutting_plan import CutPath

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

_HOME_MM = (0.0, 0.0)
_ROUNDS_COUNT = (
    2  # of ordering runs and beginning closed ones anew: 80 circles 5 % less air, with 5 rounds 5.3 %
)
OVER_FLOOR_MM = 0.3  # links across a floor stay off it: a bit set anew is never at quite the same height


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """One unbroken cut; each of its pieces has the number of the straight piece it runs along."""

    points_mm: Floats  # (n, 3)
    pieces: Integers  # (n - 1,)

    def turned(self) -> _Run:
        return _Run(self.points_mm[::-1], self.pieces[::-1])

    @property
    def is_closed(self) -> bool:
        return len(self.points_mm) > 2 and bool((self.points_mm[0] == self.points_mm[-1]).all())

    def from_between(self, before_mm: Floats, after_mm: Floats, pace: Pace) -> _Run:
        """Return the closed run begun where getting there from one place and on to another is quickest."""
        places_mm = self.points_mm[:-1, :2]
        ways_mm = np.linalg.norm(places_mm - before_mm, axis=1) + np.linalg.norm(places_mm - after_mm, axis=1)
        first = int(np.argmin(pace.air_worth * ways_mm - pace.depth_worth * self.points_mm[:-1, 2]))
        points_mm = np.roll(self.points_mm[:-1], -first, axis=0)
        return _Run(np.vstack([points_mm, points_mm[:1]]), np.roll(self.pieces, -first))


@dataclass(frozen=True, slots=True, eq=False)
class Floor:
    """Where the bit may go from cut to cut without lifting out of the board."""

    room: Room
    height_mm: float


def linked_paths(
    strands: Strands,
    pace: Pace,
    dots_mm: Floats | None = None,
    home_mm: Floats | None = None,
    floor: Floor | None = None,
) -> list[CutPath]:
    """Return paths that run along every strand, few and well ordered.

    Strands that share an end are run on from one to the next; a piece may be run twice
    where that is quicker than lifting off.

    Args:
        strands: What to cut.
        pace: The feeds allowed, and what a lift is worth.
        dots_mm: (n, 3) places to plunge to besides.
        home_mm: Where the bit comes from.
        floor: Between cuts at its height the bit stays down where the way is not too long.
    """
    strands = simplified_strands(strands, PATH_TOLERANCE_MM, pace.depth_weight)
    runs = _runs(strands, pace)
    if dots_mm is not None:
        runs += [_Run(dot[None, :], np.empty(0, np.int64)) for dot in dots_mm]
    runs = _ordered(runs, np.array(_HOME_MM) if home_mm is None else home_mm, pace)
    if floor:
        runs = _joined_over(floor, runs, pace.lift_worth_at(-floor.height_mm))
    return [cut_path(run.points_mm, pace, again) for run, again in zip(runs, _again(runs), strict=True)]


def _runs(strands: Strands, pace: Pace) -> list[_Run]:
    """Return the strands joined to trails."""
    if not len(strands):
        return []
    first, last = strands.offsets[:-1], strands.offsets[1:] - 1
    ends_mm = strands.points_mm[np.column_stack([first, last]).ravel()]
    _, nodes = np.unique(np.round(ends_mm / COORDINATE_MM).astype(np.int64), axis=0, return_inverse=True)
    ends = nodes.reshape(-1, 2).astype(np.int32)
    along_mm = _air_lengths_along_mm(strands, pace)
    deep_mm = np.zeros(int(ends.max()) + 1)
    deep_mm[ends] = np.maximum(-ends_mm[:, 2].reshape(-1, 2), 0.0) * pace.depth_worth / 2
    found = trails(ends, along_mm[last] - along_mm[first], deep_mm, pace.lift_worth_mm)
    return [_assembled(strands, pieces, backwards) for pieces, backwards in found]


def _air_lengths_along_mm(strands: Strands, pace: Pace) -> Floats:
    """Return at each point how long the way there takes where it is cut already, as length at the feed."""
    steps_mm = np.linalg.norm(np.diff(strands.points_mm, axis=0), axis=1)
    again = np.ones(len(steps_mm), np.bool_)
    minutes = steps_mm / feeds_along(strands.points_mm, again, pace)[1:]
    return np.concatenate([[0.0], np.cumsum(minutes * pace.feed_mm_per_min)])


def _assembled(strands: Strands, pieces: NDArray[np.int32], backwards: NDArray[np.bool_]) -> _Run:
    """Return one trail's points; where two strands meet, once."""
    rows = []
    for piece, is_backwards in zip(pieces.tolist(), backwards.tolist(), strict=True):
        row = np.arange(strands.offsets[piece], strands.offsets[piece + 1])
        rows.append(row[::-1] if is_backwards else row)
    numbers = [np.minimum(row[1:], row[:-1]) for row in rows]
    chosen = np.concatenate([rows[0][:1], *(row[1:] for row in rows)])
    return _Run(strands.points_mm[chosen], np.concatenate(numbers))


def _ordered(runs: Sequence[_Run], home_mm: Floats, pace: Pace) -> list[_Run]:
    """Return the runs in a good order, each from its better end; closed ones from between their neighbours.

    With closed runs begun elsewhere another order may be shorter: so both are found in turns.
    """
    ordered = list(runs)
    for _ in range(_ROUNDS_COUNT if any(run.is_closed for run in runs) else 1):
        ordered = _begun_between(_in_order(ordered, home_mm), home_mm, pace)
    return ordered


def _in_order(runs: Sequence[_Run], home_mm: Floats) -> list[_Run]:
    if not runs:
        return []
    starts_mm = np.array([run.points_mm[0, :2] for run in runs])
    ends_mm = np.array([run.points_mm[-1, :2] for run in runs])
    order, turned = shortest_order(starts_mm, ends_mm, (float(home_mm[0]), float(home_mm[1])))
    return [
        runs[number].turned() if is_turned else runs[number]
        for number, is_turned in zip(order.tolist(), turned.tolist(), strict=True)
    ]


def _begun_between(runs: Sequence[_Run], home_mm: Floats, pace: Pace) -> list[_Run]:
    """Return the runs in their order, closed ones begun where getting there and away is quickest."""
    begun: list[_Run] = []
    for number, run in enumerate(runs):
        before_mm = begun[-1].points_mm[-1, :2] if begun else home_mm
        after_mm = runs[number + 1].points_mm[0, :2] if number + 1 < len(runs) else np.array(_HOME_MM)
        begun.append(run.from_between(before_mm, after_mm, pace) if run.is_closed else run)
    return begun


def _joined_over(floor: Floor, runs: Sequence[_Run], longest_mm: float) -> list[_Run]:
    """Return the runs, neighbours joined by a way just over the floor where there is one short enough."""
    joined = list(runs[:1])
    for number, run in enumerate(runs[1:], 1):
        before = joined[-1]
        way_mm = np.stack([before.points_mm[-1], run.points_mm[0]])
        is_short = float(np.linalg.norm(way_mm[1] - way_mm[0])) <= longest_mm
        is_level = bool((way_mm[:, 2] == floor.height_mm).all())
        if is_short and is_level and floor.room.holds(way_mm[None, :, :2])[0]:
            link = -3 * number - np.arange(3)  # three pieces that nothing else runs along: up, across, down
            raised_mm = way_mm + np.array([0.0, 0.0, OVER_FLOOR_MM])
            joined[-1] = _Run(
                np.vstack([before.points_mm, raised_mm, run.points_mm]),
                np.concatenate([before.pieces, link, run.pieces]),
            )
        else:
            joined.append(run)
    return joined


def _again(runs: Sequence[_Run]) -> list[NDArray[np.bool_]]:
    """Return which pieces of each run have been cut before."""
    if not runs:
        return []
    pieces = np.concatenate([run.pieces for run in runs])
    again = np.ones(len(pieces), np.bool_)
    again[np.unique(pieces, return_index=True)[1]] = False
    return np.split(again, np.cumsum([len(run.pieces) for run in runs])[:-1])
