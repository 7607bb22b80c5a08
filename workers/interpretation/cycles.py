"""Drilling cycles G81 to G89, in any plane, as straight motions.

Along the plane's normal: R is where the feed begins, the normal's own letter says the bottom.

Source: NISTIR 6556, section 3.5.16, restated; the order of motions in G84 to G89 from memory of it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from workers.interpretation.arcs import PLANE_AXES
from workers.interpretation.fault import Fault
from workers.interpretation.motions import AXES, destination, feed_for, go_straight
from workers.interpretation.recorder import Point, Recorder
from workers.interpretation.state import ControllerState
from workers.values.frames import MM_PER_INCH

PECK_CLEARANCE_MM = 0.01 * MM_PER_INCH  # how far above the last peck the feed begins again
MOST_STROKES = 5000  # of one line; guards against repeats and pecks without end
_PECKING, _TAPPING, _BORING_FROM_BEHIND = 830, 840, 870
_STICKY = "xyzrpqijk"
_NEEDED = {820: "p", _PECKING: "q", 860: "p", _BORING_FROM_BEHIND: "ijk", 880: "p", 890: "p"}
_FED_OUT = (_TAPPING, 850, 890)  # tapping at the same speed, turning the other way
_WITH_SPINDLE = (_TAPPING, 860, _BORING_FROM_BEHIND, 880)  # stop it in the hole, so it has to turn


def drill_holes(
    code: int, state: ControllerState, recorder: Recorder, line: int, words: dict[str, float]
) -> None:
    """Drill the hole of this line, or L holes in a row.

    Args:
        code: The cycle's G code times ten, 810 to 890.
        state: Position and modes.
        recorder: Takes the motions.
        line: Line of the text, from 1.
        words: The words of the line; the bottom, R, P, Q and a bore's I, J, K stay in force
            while the cycle does.

    Raises:
        Fault: Something a cycle needs is missing.
    """
    if state.inverse_time:
        raise Fault("a drilling cycle in G93", "use G94 for drilling")
    if code in _WITH_SPINDLE and not state.spindle_on:
        raise Fault(f"G{code // 10} with the spindle standing", "start the spindle with M3 first")
    hole = _hole(code, state, words)
    stroke = _Stroke(code, state, recorder, line, hole)
    initial_mm = max(state.position_mm[hole.normal], hole.retract_mm)
    clear_mm = initial_mm if state.retract_to_initial else hole.retract_mm
    across = {letter: words[letter] for letter in AXES if letter in words and letter != AXES[hole.normal]}
    for _ in range(_repeats(code, state, words, hole)):
        stroke.drill(across, clear_mm)


@dataclass(frozen=True, slots=True)
class _Hole:
    """Where along the plane's normal a hole begins and ends."""

    normal: int
    retract_mm: float
    bottom_mm: float
    feed: float


def _hole(code: int, state: ControllerState, words: dict[str, float]) -> _Hole:
    """R and the bottom, in the board frame; incremental R counts from the bit, the bottom from R."""
    normal = PLANE_AXES[state.plane][2]
    depth = AXES[normal]
    kept = state.cycle_words
    if code != state.motion:
        kept.clear()
    kept.update({letter: words[letter] for letter in _STICKY if letter in words})
    missing = [letter.upper() for letter in depth + "r" + _NEEDED.get(code, "") if letter not in kept]
    if missing:
        raise Fault(f"a drilling cycle without {' and '.join(missing)}", "give what the cycle needs")
    if code == _PECKING and kept["q"] <= 0:
        raise Fault("pecks of no depth", "give Q above zero", word="q")
    unit = state.mm_per_unit
    base_mm = state.offsets_mm[normal] if state.absolute else state.position_mm[normal]
    retract_mm = kept["r"] * unit + base_mm
    bottom_mm = kept[depth] * unit + (base_mm if state.absolute else retract_mm)
    if bottom_mm > retract_mm:
        raise Fault("a hole whose bottom is above R", f"give {depth.upper()} below R", word=depth)
    return _Hole(normal, retract_mm, bottom_mm, feed_for(state, 0.0, None))


def _repeats(code: int, state: ControllerState, words: dict[str, float], hole: _Hole) -> int:
    """L, once it is sure that the holes and their pecks come to an end."""
    repeats = int(words.get("l", 1))
    if repeats < 1:
        raise Fault("a drilling cycle no times", "give L of 1 or more", word="l")
    deep_mm = hole.retract_mm - hole.bottom_mm
    pecks = deep_mm / (state.cycle_words["q"] * state.mm_per_unit) if code == _PECKING else 1.0
    if repeats * pecks > MOST_STROKES:
        raise Fault(
            f"more than {MOST_STROKES} strokes of the drill on one line", "give a smaller L or a larger Q"
        )
    return repeats


class _Stroke:
    """The motions of one hole."""

    def __init__(self, code: int, state: ControllerState, recorder: Recorder, line: int, hole: _Hole) -> None:
        self._code, self._state, self._recorder, self._line, self._hole = code, state, recorder, line, hole
        self._kept = state.cycle_words

    def drill(self, across: dict[str, float], clear_mm: float) -> None:
        """Go over the hole, down, and back to the clear height."""
        hole = self._hole
        if self._state.position_mm[hole.normal] < hole.retract_mm:
            self._traverse_to(hole.retract_mm)
        go_straight(self._state, self._recorder, self._line, destination(self._state, across), 0.0)
        if self._code == _BORING_FROM_BEHIND:
            self._bore_from_behind(clear_mm)
            return
        self._traverse_to(hole.retract_mm)
        if self._code == _PECKING:
            self._peck()
        self._feed_to(hole.bottom_mm)
        self._recorder.dwell_s += self._kept["p"] if "p" in _NEEDED.get(self._code, "") else 0.0
        self._leave(clear_mm)

    def _leave(self, clear_mm: float) -> None:
        """Up again, as the cycle has it: fast, by feed, or with the spindle stopped."""
        if self._code == 880:
            self._recorder.note(
                self._line, "stops in the hole (G88) until the operator has drawn the bit out by hand"
            )
        if self._code in _FED_OUT:
            self._feed_to(clear_mm)
        elif self._code in _WITH_SPINDLE:
            with self._spindle_stopped():
                self._traverse_to(clear_mm)
        else:
            self._traverse_to(clear_mm)

    def _peck(self) -> None:
        """Feed by Q, out to R, and back to just above the last peck, until the bottom is near."""
        hole = self._hole
        peck_mm = self._kept["q"] * self._state.mm_per_unit
        pecks = math.ceil((hole.retract_mm - hole.bottom_mm) / peck_mm)
        for peck in range(1, pecks):  # counted: far from zero a small peck would be lost in rounding
            reached_mm = hole.retract_mm - peck * peck_mm
            self._feed_to(reached_mm)
            self._traverse_to(hole.retract_mm)
            self._traverse_to(min(reached_mm + PECK_CLEARANCE_MM, hole.retract_mm))

    def _bore_from_behind(self, clear_mm: float) -> None:
        """Enter beside the axis with the spindle stopped, bore up to K from below, leave beside it."""
        state, hole = self._state, self._hole
        first, second, normal = PLANE_AXES[state.plane]
        middle_mm = list(state.position_mm)
        beside_mm = list(middle_mm)
        beside_mm[first] += self._kept["ijk"[first]] * state.mm_per_unit
        beside_mm[second] += self._kept["ijk"[second]] * state.mm_per_unit
        top_mm = self._kept["ijk"[normal]] * state.mm_per_unit
        top_mm += state.offsets_mm[normal] if state.absolute else hole.bottom_mm
        with self._spindle_stopped():
            self._across_to(beside_mm)
            self._traverse_to(hole.bottom_mm)
            self._across_to(middle_mm)
        self._feed_to(top_mm)
        self._feed_to(hole.bottom_mm)
        with self._spindle_stopped():
            self._across_to(beside_mm)
            self._traverse_to(clear_mm)
            self._across_to(middle_mm)

    @contextmanager
    def _spindle_stopped(self) -> Iterator[None]:
        self._state.spindle_on = False
        yield
        self._state.spindle_on = True

    def _across_to(self, place_mm: Point) -> None:
        end_mm = list(place_mm)
        end_mm[self._hole.normal] = self._state.position_mm[self._hole.normal]
        go_straight(self._state, self._recorder, self._line, end_mm, 0.0)

    def _traverse_to(self, height_mm: float) -> None:
        self._to_height(height_mm, 0.0)

    def _feed_to(self, height_mm: float) -> None:
        self._to_height(height_mm, self._hole.feed)

    def _to_height(self, height_mm: float, feed: float) -> None:
        end_mm = list(self._state.position_mm)
        if height_mm != end_mm[self._hole.normal] or not self._recorder.count:
            end_mm[self._hole.normal] = height_mm
            go_straight(self._state, self._recorder, self._line, end_mm, feed)
