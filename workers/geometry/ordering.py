"""Short traverses: in which order, and from which end, to cut many separate paths.

The round trip from home through all paths and back is a travelling salesman's
tour of their ends, in which the two ends of a path always follow each other.
Nearest neighbour first; then exchanges of two links and moves of up to three
neighbouring paths as long as they help; then small local shake-ups, each kept
only if it leads to a shorter tour. The shake-ups come from a fixed sequence of
numbers, so the same paths always give the same order.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int32]

_NEIGHBOURS_COUNT = 8  # near ends tried for each end; 12 is slower and hardly shorter
_SHAKES_PER_PATH = 4  # 12 gain another 0.3 % and take three times as long
_MOST_SHAKES_COUNT = 40_000
_SHAKEN_RUN_COUNT = 40  # a shake-up exchanges two neighbouring runs no longer than this in all


def shortest_order(
    starts_mm: Floats, ends_mm: Floats, home_mm: tuple[float, float] = (0.0, 0.0)
) -> tuple[Integers, NDArray[np.bool_]]:
    """Return the order in which to cut paths, and which of them backwards.

    Args:
        starts_mm: (n, 2) where each path starts.
        ends_mm: (n, 2) where it ends; a path may be run from either end.
        home_mm: Where the machine comes from and returns to.

    Returns:
        The paths' numbers in order, and for each of these whether it runs backwards.
        Not the shortest of all orders, but within a few percent of it.

    Source: Croes 1958 (exchange of two links), Or 1976 (moving short runs), Martin, Otto and
    Felten 1991 (shake-ups); tests/reference/test_traverse_order.py.
    """
    count = len(starts_mm)
    nodes_mm = np.empty((2 * count + 2, 2))
    nodes_mm[0:-2:2] = starts_mm
    nodes_mm[1:-2:2] = ends_mm
    nodes_mm[-2:] = home_mm  # home is one more path, of no length
    tour = _nearest_neighbour(nodes_mm)
    if count > 2:
        near = _near_nodes(nodes_mm, min(_NEIGHBOURS_COUNT, 2 * count))
        _improve(nodes_mm, tour, near, min(_MOST_SHAKES_COUNT, _SHAKES_PER_PATH * count))
    tour = np.roll(tour, -int(np.flatnonzero(tour >> 1 == count)[0]))[1:]
    return tour >> 1, (tour & 1).astype(np.bool_)


# A tour is an array of entered nodes: node 2i enters path i at its start, 2i + 1 at its end, and n ^ 1
# is where the path entered at n is left.


@njit(cache=True)
def _apart_mm(nodes_mm: Floats, one: int, other: int) -> float:
    x_mm = nodes_mm[one, 0] - nodes_mm[other, 0]
    y_mm = nodes_mm[one, 1] - nodes_mm[other, 1]
    return math.sqrt(x_mm * x_mm + y_mm * y_mm)


@njit(cache=True)
def _nearest_neighbour(nodes_mm: Floats) -> Integers:
    """Return the tour that always goes on to the nearest end not yet visited."""
    count = len(nodes_mm) // 2
    left = np.arange(count - 1, dtype=np.int32)
    tour = np.empty(count, np.int32)
    tour[0] = 2 * (count - 1)
    for step in range(1, count):
        here = tour[step - 1] ^ 1
        nearest_mm, chosen, place = np.inf, 0, 0
        for index in range(count - step):
            for node in (2 * left[index], 2 * left[index] + 1):
                x_mm = nodes_mm[node, 0] - nodes_mm[here, 0]
                y_mm = nodes_mm[node, 1] - nodes_mm[here, 1]
                if x_mm * x_mm + y_mm * y_mm < nearest_mm:
                    nearest_mm, chosen, place = x_mm * x_mm + y_mm * y_mm, node, index
        tour[step] = chosen
        left[place] = left[count - step - 1]
    return tour


@njit(cache=True)
def _near_nodes(nodes_mm: Floats, near_count: int) -> Integers:
    """Return for each node the nodes nearest to it, nearest first, its own path's other end left out."""
    by_x = np.argsort(nodes_mm[:, 0], kind="mergesort")
    near = np.full((len(nodes_mm), near_count), -1, np.int32)
    for place in range(len(by_x)):
        node = by_x[place]
        best_mm = np.full(near_count, np.inf)
        for step in (-1, 1):
            other_place = place + step
            while 0 <= other_place < len(by_x):
                other = by_x[other_place]
                if abs(nodes_mm[other, 0] - nodes_mm[node, 0]) > best_mm[-1]:
                    break
                apart_mm = _apart_mm(nodes_mm, node, other)
                if apart_mm < best_mm[-1] and other != node ^ 1:
                    slot = near_count - 1
                    while slot and best_mm[slot - 1] > apart_mm:
                        best_mm[slot], near[node, slot] = best_mm[slot - 1], near[node, slot - 1]
                        slot -= 1
                    best_mm[slot], near[node, slot] = apart_mm, other
                other_place += step
    return near


@njit(cache=True)
def _reverse(tour: Integers, place: Integers, first: int, last: int) -> None:
    """Run the round trip's part from place ``first`` to ``last`` backwards, or what lies outside it."""
    count = len(tour)
    length = (last - first) % count + 1
    if 2 * length > count:
        first, last, length = (last + 1) % count, (first - 1) % count, count - length
    for _ in range(length // 2):
        low, high = tour[first], tour[last]
        tour[first], tour[last] = high ^ 1, low ^ 1
        place[high >> 1], place[low >> 1] = first, last
        first = first + 1 if first + 1 < count else 0
        last = last - 1 if last else count - 1
    if length & 1:
        tour[first] ^= 1


@njit(cache=True)
def _exchange(
    tour: Integers,
    place: Integers,
    journal: Integers,
    noted: int,
    one: int,
    after: int,
    two: int,
    behind: int,
) -> int:
    """Replace the links one-after and two-behind by one-two and after-behind; note it for undoing.

    On the way round, in one sense or the other, ``one`` is left for ``after`` and ``two`` for ``behind``.
    """
    if tour[place[after >> 1]] == after:  # entered there: the tour runs in this sense
        first, last = place[after >> 1], place[two >> 1]
    else:
        first, last = place[two >> 1], place[after >> 1]
    _reverse(tour, place, first, last)
    if noted < len(journal):
        journal[noted, 0], journal[noted, 1] = first, last
    return noted + 1


@njit(cache=True)
def _next(tour: Integers, place: Integers, node: int) -> int:
    """Return the node linked to this one."""
    at = place[node >> 1]
    if tour[at] == node:  # it is entered here: its link leads back
        return int(tour[at - 1] ^ 1)
    return int(tour[at + 1 if at + 1 < len(tour) else 0])


@njit(cache=True)
def _improve_at(
    nodes_mm: Floats, tour: Integers, place: Integers, near: Integers, journal: Integers, noted: int,
    node: int, changed: Integers,
) -> tuple[int, int, float]:  # fmt: skip
    """Make the first change that shortens the tour by a new link at ``node``.

    Returns:
        The journal's length, how many nodes of ``changed`` have new links, and the length gained.
    """
    after = _next(tour, place, node)
    old_mm = _apart_mm(nodes_mm, node, after)
    onward = tour[place[after >> 1]] == after  # the sense in which node comes before after
    for slot in range(near.shape[1]):
        other = near[node, slot]
        if other < 0:
            break
        new_mm = _apart_mm(nodes_mm, node, other)
        if new_mm >= old_mm:
            break
        behind = _next(tour, place, other)
        if (tour[place[other >> 1]] == other) != onward:  # left in the same sense: exchange two links
            gain_mm = old_mm + _apart_mm(nodes_mm, other, behind)
            gain_mm -= new_mm + _apart_mm(nodes_mm, after, behind)
            if gain_mm > 1e-7:
                noted = _exchange(tour, place, journal, noted, node, after, other, behind)
                changed[0], changed[1], changed[2], changed[3] = node, after, other, behind
                return noted, 4, gain_mm
        # move a run of up to three paths that begins at ``other`` between ``node`` and ``after``
        far = other
        for _ in range(3):
            far = far ^ 1
            beyond = _next(tour, place, far)
            if far >> 1 == node >> 1 or far >> 1 == after >> 1 or beyond == other:
                break
            gain_mm = old_mm + _apart_mm(nodes_mm, other, behind) + _apart_mm(nodes_mm, far, beyond)
            gain_mm -= new_mm + _apart_mm(nodes_mm, far, after) + _apart_mm(nodes_mm, behind, beyond)
            if gain_mm > 1e-7:
                noted = _move_run(tour, place, journal, noted, node, after, other, far, behind, beyond)
                changed[0], changed[1], changed[2] = node, after, other
                changed[3], changed[4], changed[5] = far, behind, beyond
                return noted, 6, gain_mm
            far = beyond
    return noted, 0, 0.0


@njit(cache=True)
def _move_run(
    tour: Integers, place: Integers, journal: Integers, noted: int,
    node: int, after: int, near_end: int, far_end: int, behind: int, beyond: int,
) -> int:  # fmt: skip
    """Take the run near_end..far_end from between behind and beyond, put it between node and after."""
    onward = tour[place[after >> 1]] == after
    if (tour[place[near_end >> 1]] == near_end) == onward:  # entered at near_end, as it shall be
        # node after .. behind near .. far beyond  ->  node near .. far after .. behind beyond
        noted = _exchange(tour, place, journal, noted, node, after, far_end, beyond)
        noted = _exchange(tour, place, journal, noted, near_end, behind, after, beyond)
        return _exchange(tour, place, journal, noted, node, far_end, near_end, after)
    # node after .. beyond far .. near behind  ->  node near .. far after .. beyond behind
    noted = _exchange(tour, place, journal, noted, node, after, near_end, behind)
    return _exchange(tour, place, journal, noted, far_end, beyond, after, behind)


@njit(cache=True)
def _settle(
    nodes_mm: Floats, tour: Integers, place: Integers, near: Integers, journal: Integers, noted: int,
    queue: Integers, waiting: NDArray[np.bool_], length: int,
) -> tuple[int, float]:  # fmt: skip
    """Improve at the queue's nodes, and at those that this touches, until nothing helps."""
    changed = np.empty(6, np.int32)
    gained_mm = 0.0
    head = 0
    while length:
        node = queue[head]
        head = (head + 1) % len(queue)
        length -= 1
        waiting[node] = False
        noted, touched, gain_mm = _improve_at(nodes_mm, tour, place, near, journal, noted, node, changed)
        gained_mm += gain_mm
        for index in range(touched):
            if not waiting[changed[index]]:
                waiting[changed[index]] = True
                queue[(head + length) % len(queue)] = changed[index]
                length += 1
    return noted, gained_mm


@njit(cache=True)
def _improve(nodes_mm: Floats, tour: Integers, near: Integers, shakes_count: int) -> None:
    """Shorten the tour in place."""
    count = len(tour)
    place = np.empty(count, np.int32)
    for at in range(count):
        place[tour[at] >> 1] = at
    queue = np.empty(2 * count, np.int32)
    waiting = np.ones(2 * count, np.bool_)
    for at in range(count):
        queue[2 * at], queue[2 * at + 1] = tour[at], tour[at] ^ 1
    journal = np.empty((1000, 2), np.int32)
    _settle(nodes_mm, tour, place, near, journal, len(journal), queue, waiting, 2 * count)
    if count < 8:
        return
    state = np.uint32(1)
    run = min(_SHAKEN_RUN_COUNT, count // 2)
    cuts = np.empty(3, np.int64)
    for _ in range(shakes_count):
        for index in range(3):
            state = np.uint32(state * np.uint32(1664525) + np.uint32(1013904223))
            cuts[index] = (state >> np.uint32(8)) % np.uint32(count if index == 0 else run - 1)
        first = cuts[0]
        middle, last = min(cuts[1], cuts[2]), max(cuts[1], cuts[2]) + 1
        noted, lost_mm = _shake(
            nodes_mm, tour, place, journal, first, (first + middle) % count, (first + last) % count,
            queue, waiting,
        )  # fmt: skip
        noted, gained_mm = _settle(nodes_mm, tour, place, near, journal, noted, queue, waiting, 6)
        if gained_mm < lost_mm - 1e-9 and noted <= len(journal):
            for index in range(noted - 1, -1, -1):
                _reverse(tour, place, journal[index, 0], journal[index, 1])


@njit(cache=True)
def _shake(
    nodes_mm: Floats, tour: Integers, place: Integers, journal: Integers,
    first: int, middle: int, last: int, queue: Integers, waiting: NDArray[np.bool_],
) -> tuple[int, float]:  # fmt: skip
    """Exchange the runs first..middle and middle+1..last of the tour; return what that loses."""
    count = len(tour)
    before, start = tour[first - 1] ^ 1, tour[first]
    half, next_half = tour[middle] ^ 1, tour[(middle + 1) % count]
    end, after = tour[last] ^ 1, tour[(last + 1) % count]
    lost_mm = _apart_mm(nodes_mm, before, next_half) + _apart_mm(nodes_mm, end, start)
    lost_mm += _apart_mm(nodes_mm, half, after) - _apart_mm(nodes_mm, before, start)
    lost_mm -= _apart_mm(nodes_mm, half, next_half) + _apart_mm(nodes_mm, end, after)
    noted = _move_run(tour, place, journal, 0, before, start, next_half, end, half, after)
    queue[0], queue[1], queue[2] = before, start, half
    queue[3], queue[4], queue[5] = next_half, end, after
    for index in range(6):
        waiting[queue[index]] = True
    return noted, lost_mm
