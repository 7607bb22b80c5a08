"""Few long trails through a net of pieces: which pieces to run twice, and in what order.

A piece run twice costs its length, a trail that ends costs a lift; both are
weighed in mm of feed. On a shortest spanning forest the best choice is found
exactly, from the leaves to the root; Euler's trails then run every piece.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int32]
Flags = NDArray[np.bool_]


def trails(
    ends: Integers, lengths_mm: Floats, deep_mm: Floats, lift_worth_mm: float
) -> list[tuple[Integers, Flags]]:
    """Return trails that run every piece once or twice.

    Args:
        ends: (m, 2) nodes that each piece joins.
        lengths_mm: Of each piece.
        deep_mm: For each node, what a trail that begins or ends there costs for its depth.
        lift_worth_mm: Length of feed that takes as long as lifting off at the face and coming down elsewhere.

    Returns:
        For each trail its pieces in order, and which of them run backwards.

    Source: Hierholzer 1873 for the trails; Edmonds and Johnson 1973 for the problem of the
    pieces run twice, solved here on a forest only; tests/reference/test_trails.py.
    """
    if not len(ends):
        return []
    order = np.argsort(lengths_mm, kind="stable").astype(np.int32)
    nodes_count = len(deep_mm)
    parents, parent_pieces, visited = _forest(ends, order, nodes_count)
    twice = _run_twice(ends, lengths_mm, parents, parent_pieces, visited, deep_mm, lift_worth_mm / 2)
    pieces = np.concatenate([np.arange(len(ends)), np.flatnonzero(twice)]).astype(np.int32)
    walked, backwards, breaks = _euler(ends[pieces], visited, parents, nodes_count)
    runs = zip(np.split(walked, breaks), np.split(backwards, breaks), strict=True)
    return [(pieces[run], flags) for run, flags in runs if len(run)]


@njit(cache=True)
def _neighbours(ends: Integers, nodes_count: int) -> tuple[Integers, Integers]:
    """Return half pieces (2 x piece + end) by the node they leave, and where each node's begin."""
    begins = np.zeros(nodes_count + 1, np.int32)
    for piece in range(len(ends)):
        for end in range(2):
            begins[ends[piece, end] + 1] += 1
    for node in range(nodes_count):
        begins[node + 1] += begins[node]
    fill = begins.copy()
    halves = np.empty(2 * len(ends), np.int32)
    for piece in range(len(ends)):
        for end in range(2):
            node = ends[piece, end]
            halves[fill[node]] = 2 * piece + end
            fill[node] += 1
    return halves, begins


@njit(cache=True)
def _root(roots: Integers, node: int) -> int:
    while roots[node] != node:
        roots[node] = roots[roots[node]]
        node = roots[node]
    return node


@njit(cache=True)
def _forest(ends: Integers, order: Integers, nodes_count: int) -> tuple[Integers, Integers, Integers]:
    """Return each node's parent and the piece to it on a shortest spanning forest (-1: a root).

    The third array is all nodes, parents before children, one tree after another.
    """
    roots = np.arange(nodes_count, dtype=np.int32)
    chosen = np.empty((nodes_count, 2), np.int32)
    pieces = np.empty(nodes_count, np.int32)
    count = 0
    for piece in order:
        one, other = _root(roots, ends[piece, 0]), _root(roots, ends[piece, 1])
        if one != other:
            roots[max(one, other)] = min(one, other)
            chosen[count] = ends[piece]
            pieces[count] = piece
            count += 1
    halves, begins = _neighbours(chosen[:count], nodes_count)
    parents = np.full(nodes_count, -1, np.int32)
    parent_pieces = np.full(nodes_count, -1, np.int32)
    seen = np.zeros(nodes_count, np.bool_)
    visited = np.empty(nodes_count, np.int32)
    length = 0
    for start in range(nodes_count):
        if seen[start]:
            continue
        seen[start] = True
        visited[length] = start
        head, length = length, length + 1
        while head < length:
            node = visited[head]
            head += 1
            for place in range(begins[node], begins[node + 1]):
                half = halves[place]
                other = chosen[half >> 1, 1 - (half & 1)]
                if not seen[other]:
                    seen[other] = True
                    parents[other], parent_pieces[other] = node, pieces[half >> 1]
                    visited[length] = other
                    length += 1
    return parents, parent_pieces, visited


# For a node, its tree below and its piece to the parent: the least cost, by whether an odd number of the
# pieces to its children run twice (or, once the node is settled, whether its piece to the parent does), and
# by how many nodes, of at most two a tree, stay odd without cost: the ends of the one trail each tree needs.


@njit(cache=True)
def _run_twice(
    ends: Integers, lengths_mm: Floats, parents: Integers, parent_pieces: Integers, visited: Integers,
    deep_mm: Floats, half_lift_mm: float,
) -> Flags:  # fmt: skip
    """Return which pieces of the forest to run twice."""
    count = len(parents)
    odd = np.zeros(count, np.int32)
    for piece in range(len(ends)):
        for end in range(2):
            odd[ends[piece, end]] ^= 1
    open_mm = np.full((count, 2, 3), np.inf)  # while children are added
    open_mm[:, 0, 0] = 0.0
    before_mm = np.empty((count, 2, 3))  # the parent's open costs before this child was added
    done_mm = np.empty((count, 2, 3))
    for place in range(count - 1, -1, -1):
        node = visited[place]
        _settle_node(open_mm[node], done_mm[node], odd[node], deep_mm[node], half_lift_mm)
        parent = parents[node]
        if parent >= 0:
            before_mm[node] = open_mm[parent]
            _add_child(before_mm[node], done_mm[node], lengths_mm[parent_pieces[node]], open_mm[parent])
    twice = np.zeros(len(ends), np.bool_)
    wanted = np.zeros((count, 2), np.int32)  # parity and free ends that the node's open costs must come to
    for place in range(count):
        node = visited[place]
        parent = parents[node]
        run, free = 0, 0
        if parent < 0:
            free = int(np.argmin(done_mm[node, 0]))
        else:
            # children were added from the last visited to the first, so the first is taken off first
            run, free = _child_choice(
                before_mm[node], done_mm[node], lengths_mm[parent_pieces[node]], wanted[parent]
            )
            twice[parent_pieces[node]] = run == 1
        wanted[node, 0], wanted[node, 1] = _open_choice(
            open_mm[node], odd[node], deep_mm[node], half_lift_mm, run, free
        )
    return twice


@njit(cache=True)
def _settle_node(open_mm: Floats, done_mm: Floats, odd: int, deep_mm: float, half_lift_mm: float) -> None:
    """Charge the node itself: nothing if even, else its depth, and one of the free ends or half a lift."""
    for run in range(2):
        for free in range(3):
            done_mm[run, free] = np.inf
            for parity in range(2):
                if (odd + parity + run) & 1:
                    cost_mm = open_mm[parity, free] + half_lift_mm
                    if free:
                        cost_mm = min(cost_mm, open_mm[parity, free - 1])
                    cost_mm += deep_mm
                else:
                    cost_mm = open_mm[parity, free]
                done_mm[run, free] = min(done_mm[run, free], cost_mm)


@njit(cache=True)
def _open_choice(
    open_mm: Floats, odd: int, deep_mm: float, half_lift_mm: float, run: int, free: int
) -> tuple[int, int]:
    """Return the parity and free ends below from which ``_settle_node`` got its cost."""
    best_mm, best_parity, best_free = np.inf, 0, 0
    for parity in range(2):
        is_odd = (odd + parity + run) & 1
        cost_mm = open_mm[parity, free] + (half_lift_mm + deep_mm if is_odd else 0.0)
        if cost_mm < best_mm:
            best_mm, best_parity, best_free = cost_mm, parity, free
        if is_odd and free and open_mm[parity, free - 1] + deep_mm < best_mm:
            best_mm, best_parity, best_free = open_mm[parity, free - 1] + deep_mm, parity, free - 1
    return best_parity, best_free


@njit(cache=True)
def _add_child(before_mm: Floats, child_mm: Floats, length_mm: float, open_mm: Floats) -> None:
    for parity in range(2):
        for free in range(3):
            best_mm = np.inf
            for run in range(2):
                for used in range(free + 1):
                    cost_mm = before_mm[parity ^ run, free - used] + child_mm[run, used] + run * length_mm
                    best_mm = min(best_mm, cost_mm)
            open_mm[parity, free] = best_mm


@njit(cache=True)
def _child_choice(before_mm: Floats, child_mm: Floats, length_mm: float, wanted: Integers) -> tuple[int, int]:
    """Return whether this child's piece runs twice and its free ends; put off to ``wanted`` what is left."""
    parity, free = wanted[0], wanted[1]
    best_mm, best_run, best_used = np.inf, 0, 0
    for run in range(2):
        for used in range(free + 1):
            cost_mm = before_mm[parity ^ run, free - used] + child_mm[run, used] + run * length_mm
            if cost_mm < best_mm:
                best_mm, best_run, best_used = cost_mm, run, used
    wanted[0], wanted[1] = parity ^ best_run, free - best_used
    return best_run, best_used


@njit(cache=True)
def _with_bridges(ends: Integers, visited: Integers, parents: Integers, nodes_count: int) -> Integers:
    """Return the pieces, and after them a bridge for each two odd nodes of a tree."""
    odd = np.zeros(nodes_count, np.int32)
    for piece in range(len(ends)):
        for end in range(2):
            odd[ends[piece, end]] ^= 1
    bridged = np.empty((len(ends) + nodes_count, 2), np.int32)
    bridged[: len(ends)] = ends
    count, waiting = len(ends), -1
    for node in visited:
        if parents[node] < 0:
            waiting = -1
        if odd[node]:
            if waiting < 0:
                waiting = node
            else:
                bridged[count, 0], bridged[count, 1] = waiting, node
                count, waiting = count + 1, -1
    return bridged[:count]


@njit(cache=True)
def _euler(
    ends: Integers, visited: Integers, parents: Integers, nodes_count: int
) -> tuple[Integers, Flags, Integers]:
    """Return every piece in trails: pieces, whether backwards, and where trails but the first begin."""
    bridged = _with_bridges(ends, visited, parents, nodes_count)
    halves, begins = _neighbours(bridged, nodes_count)
    following = begins[:-1].copy()
    used = np.zeros(len(bridged), np.bool_)
    walked = np.empty(len(ends), np.int32)
    backwards = np.empty(len(ends), np.bool_)
    breaks = np.empty(len(bridged) + nodes_count, np.int32)
    length, breaks_count = 0, 0
    path = np.empty(len(bridged) + 1, np.int32)  # half pieces on the way from the start
    circuit = np.empty(len(bridged), np.int32)  # half pieces of the finished circuit, last first
    for start in visited:
        depth, closed, node = 0, 0, start
        while True:
            while following[node] < begins[node + 1] and used[halves[following[node]] >> 1]:
                following[node] += 1
            if following[node] < begins[node + 1]:
                half = halves[following[node]]
                used[half >> 1] = True
                path[depth] = half
                depth += 1
                node = bridged[half >> 1, 1 - (half & 1)]
            elif depth:
                depth -= 1
                circuit[closed] = path[depth]
                closed += 1
                node = bridged[path[depth] >> 1, path[depth] & 1]
            else:
                break
        first = 0
        while first < closed and circuit[first] >> 1 < len(ends):
            first += 1
        if closed:
            breaks[breaks_count] = length
            breaks_count += 1
        for step in range(closed):  # round the circuit, beginning at a bridge if there is one
            half = circuit[(first + 1 + step) % closed if first < closed else step]
            if half >> 1 >= len(ends):
                breaks[breaks_count] = length
                breaks_count += 1
                continue
            walked[length] = half >> 1
            backwards[length] = (half & 1) == 0  # the circuit is read from its end
            length += 1
    return walked, backwards, breaks[1:breaks_count] if breaks_count else breaks[:0]
