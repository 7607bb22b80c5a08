"""Bridges that keep the board in its blank: where on the outline they stand."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from workers.toolpaths.circuit import Circuit

Floats = NDArray[np.float64]

_STRAIGHT_DEG = 0.5  # a line that turns no more than this from piece to piece is one straight run
_CORNER_MARGIN_MM = 2.0  # between a lifted stretch and the end of its straight run
GENTLE_DEG = 30.0  # that a line may turn over a tab (a choice); more is a corner
_SAMPLES_A_TAB = 8
_STARTS_COUNT = 180  # ways to turn the evenly spaced places round the outline that are tried


@dataclass(frozen=True, slots=True, kw_only=True)
class Tabs:
    """Where the bit stays lifted, as places along its circuit."""

    centres_mm: tuple[float, ...]
    lifted_mm: float  # length of path for each

    def spans_mm(self) -> list[tuple[float, float]]:
        """Return where each lifted stretch begins and ends."""
        half_mm = self.lifted_mm / 2
        return [(centre - half_mm, centre + half_mm) for centre in self.centres_mm]


def placed_tabs(circuit: Circuit, count: int, lifted_mm: float, apart_mm: float) -> Tabs:
    """Return tabs spread as evenly as straight runs allow, away from corners.

    Where straight runs have no room for all, gentle bends serve, and at last any place. No two
    are nearer to each other than they need; if that many do not fit, there are fewer.

    Args:
        circuit: The bit's way round the board.
        count: How many are wanted.
        lifted_mm: Length of path over each: the bridge's width and the bit's diameter.
        apart_mm: Least length of path between two lifted stretches.
    """
    round_mm = circuit.length_mm
    count = min(count, int(round_mm / (lifted_mm + apart_mm)))
    kinds_mm = [_straight(circuit, lifted_mm), _gentle(circuit, lifted_mm), np.array([[0.0, round_mm]])]
    while count:
        for allowed_mm in (kind_mm for kind_mm in kinds_mm if len(kind_mm)):
            centres_mm = _spread(allowed_mm, round_mm, count, lifted_mm + apart_mm)
            if centres_mm is not None:
                return Tabs(centres_mm=tuple(centres_mm.tolist()), lifted_mm=lifted_mm)
        count -= 1
    return Tabs(centres_mm=(), lifted_mm=lifted_mm)


def tabs_on_both(tabs: Tabs, circuit: Circuit, other: Circuit) -> tuple[Tabs, Tabs]:
    """Return tabs of a circuit and of another, a little farther in or out, so that both leave all of them.

    Round a bend one way is longer than the other, and what the one leaves the other must not cut: each is
    lifted until it is beside the ends of what the other leaves.

    Args:
        tabs: Where they stand on the circuit.
        circuit: A way round the board.
        other: The other way; its tabs are at the places nearest to those of the first.
    """
    if not tabs.centres_mm:
        return tabs, tabs
    centres = tuple(other.nearest_place(place_mm) for place_mm in circuit.at(np.array(tabs.centres_mm)))
    ends = [other.nearest_place(place_mm) for place_mm in circuit.at(np.array(tabs.spans_mm()).ravel())]
    beside_mm = np.diff(np.reshape(ends, (-1, 2)), axis=1)[:, 0] % other.length_mm
    longer = max(1.0, float(beside_mm.max()) / tabs.lifted_mm)
    shorter = max(1.0, tabs.lifted_mm / float(beside_mm.min()))
    return (
        replace(tabs, lifted_mm=tabs.lifted_mm * shorter),
        Tabs(centres_mm=centres, lifted_mm=tabs.lifted_mm * longer),
    )


def bends_deg(circuit: Circuit, firsts_mm: Floats, lasts_mm: Floats) -> Floats:
    """Return how far the line turns in all between places, left and right alike."""
    corners_mm, turns_deg = circuit.along_mm[:-1], np.degrees(_turns_rad(circuit))
    turned_deg = np.concatenate([[0.0], np.cumsum(turns_deg)])

    def until(places_mm: Floats) -> Floats:
        rounds, within_mm = np.divmod(places_mm, circuit.length_mm)
        passed = np.searchsorted(corners_mm, within_mm, side="right")
        return np.asarray(rounds * turned_deg[-1] + turned_deg[passed])

    return until(lasts_mm) - until(firsts_mm)


def _turns_rad(circuit: Circuit) -> Floats:
    """Return how far the line turns at each of its points."""
    steps_mm = np.diff(circuit.points_mm, axis=0)
    headings_rad = np.arctan2(steps_mm[:, 1], steps_mm[:, 0])
    return np.asarray(np.abs((headings_rad - np.roll(headings_rad, 1) + np.pi) % (2 * np.pi) - np.pi))


def _straight(circuit: Circuit, lifted_mm: float) -> Floats:
    """Return stretches (n, 2) on straight runs in which a tab's middle may lie."""
    corners = np.flatnonzero(_turns_rad(circuit) > np.radians(_STRAIGHT_DEG))
    if not len(corners):
        return np.array([[0.0, circuit.length_mm]])
    along_mm = circuit.along_mm
    starts_mm = along_mm[corners]
    stops_mm = np.append(starts_mm[1:], starts_mm[0] + circuit.length_mm)
    margin_mm = lifted_mm / 2 + _CORNER_MARGIN_MM
    runs_mm = np.column_stack([starts_mm + margin_mm, stops_mm - margin_mm])
    return runs_mm[runs_mm[:, 0] < runs_mm[:, 1]]


def _gentle(circuit: Circuit, lifted_mm: float) -> Floats:
    """Return stretches (n, 2) in which a tab's middle may lie without standing in a corner."""
    step_mm = lifted_mm / _SAMPLES_A_TAB
    places_mm = np.arange(0.0, circuit.length_mm, step_mm, dtype=np.float64)
    half_mm = lifted_mm / 2 + _CORNER_MARGIN_MM
    gentle = bends_deg(circuit, places_mm - half_mm, places_mm + half_mm) <= GENTLE_DEG
    edges = np.diff(np.concatenate([[False], gentle, [False]]).astype(np.int8))
    starts, stops = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    return np.column_stack([places_mm[starts], places_mm[stops]])


def _spread(allowed_mm: Floats, round_mm: float, count: int, least_mm: float) -> Floats | None:
    """Return the places nearest to even spacing, or None if they come too near to each other."""
    spacing_mm = round_mm / count
    best, best_score = None, (np.inf, np.inf)
    for start_mm in np.arange(_STARTS_COUNT) * spacing_mm / _STARTS_COUNT:
        wanted_mm = start_mm + spacing_mm * np.arange(count)
        centres_mm, margins_mm = _moved(wanted_mm, allowed_mm, round_mm)
        gaps_mm = np.diff(np.append(centres_mm, centres_mm[0] + round_mm))
        if gaps_mm.min() < least_mm - 1e-9:
            continue
        score = (round(float(((centres_mm - wanted_mm) ** 2).sum()), 6), -float(margins_mm.min()))
        if score < best_score:
            best, best_score = centres_mm, score
    return best


def _moved(wanted_mm: Floats, allowed_mm: Floats, round_mm: float) -> tuple[Floats, Floats]:
    """Return each place moved into the nearest stretch, and how far inside its stretch it is."""
    shifts_mm = np.array([-round_mm, 0.0, round_mm])
    runs_mm = (allowed_mm[None, :, :] + shifts_mm[:, None, None]).reshape(-1, 2)
    inside_mm = np.clip(wanted_mm[:, None], runs_mm[:, 0], runs_mm[:, 1])
    nearest = np.argmin(np.abs(inside_mm - wanted_mm[:, None]), axis=1)
    centres_mm = inside_mm[np.arange(len(wanted_mm)), nearest]
    margins_mm = np.minimum(centres_mm - runs_mm[nearest, 0], runs_mm[nearest, 1] - centres_mm)
    return centres_mm, margins_mm
