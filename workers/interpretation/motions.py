"""Straight motions and arcs, carried out on the controller's state."""

from __future__ import annotations

import math
from collections.abc import Mapping

from workers.interpretation.arcs import arc_of, chord_ends, oddity_of
from workers.interpretation.fault import Fault
from workers.interpretation.limits import SLOWEST_FEED
from workers.interpretation.recorder import Point, Recorder
from workers.interpretation.state import ControllerState
from workers.values.program import Motion

AXES = "xyz"


def destination(state: ControllerState, words: Mapping[str, float], *, machine_frame: bool = False) -> Point:
    """Return where the axis words lead, in the board frame; axes that are not named stay.

    Args:
        state: Position, offsets and modes.
        words: The words of the line, in the program's unit.
        machine_frame: G53: no offsets.
    """
    offsets_mm = [0.0, 0.0, 0.0] if machine_frame else state.offsets_mm
    point = list(state.position_mm)
    for axis, letter in enumerate(AXES):
        if letter in words:
            base_mm = offsets_mm[axis] if state.absolute else point[axis]
            point[axis] = words[letter] * state.mm_per_unit + base_mm
    return point


def go_straight(state: ControllerState, recorder: Recorder, line: int, end_mm: Point, feed: float) -> None:
    """Traverse (feed 0) or feed to a point, in mm a minute."""
    leave(state, recorder, line, end_mm, feed)
    motion = Motion.FEED if feed else Motion.TRAVERSE
    recorder.move(end_mm, motion, feed, line, state.spindle_rpm)
    state.position_mm = end_mm


def go_round(
    state: ControllerState,
    recorder: Recorder,
    line: int,
    words: dict[str, float],
    inverse_time: float | None,
    *,
    clockwise: bool,
) -> None:
    """Follow an arc or a helix at the feed in force, by chords.

    Args:
        state: Position, plane, unit and feed.
        recorder: Takes the chords.
        line: Line of the text, from 1.
        words: The words of the line.
        inverse_time: One over the minutes it shall take (G93), or None.
        clockwise: G2.
    """
    end_mm = destination(state, words)
    leave(state, recorder, line, end_mm, 1.0)
    start_mm = state.position_mm
    arc = arc_of(
        words, start_mm, end_mm, clockwise=clockwise, plane=state.plane, mm_per_unit=state.mm_per_unit
    )
    oddity = oddity_of(arc)
    if oddity:
        recorder.note(line, oddity)
    feed = feed_for(state, arc.length_mm, inverse_time)
    recorder.move(chord_ends(arc, start_mm, end_mm), Motion.FEED, feed, line, state.spindle_rpm)
    state.position_mm = end_mm


def feed_for(state: ControllerState, length_mm: float, inverse_time: float | None) -> float:
    """Return the feed in mm a minute for a path of that length.

    Raises:
        Fault: No feed is set.
    """
    if not state.inverse_time:
        if state.feed_mm_per_min == 0:
            raise Fault("a feed motion while the feed is zero", "set the feed with F first")
        _refuse_endless(state.feed_mm_per_min)
        return state.feed_mm_per_min
    if not inverse_time:
        raise Fault("a feed motion in G93 without its own F", "give F on every line, or use G94")
    _refuse_endless(inverse_time)
    return length_mm * inverse_time or math.ulp(0.0)


def _refuse_endless(feed: float) -> None:
    if feed < SLOWEST_FEED:
        raise Fault(f"a feed of {feed:g}, which never arrives", "check the number behind F", word="f")


def leave(state: ControllerState, recorder: Recorder, line: int, end_mm: Point, feed: float) -> None:
    """Settle where the next motion starts when the program has not said how high the bit is."""
    if state.height_known and recorder.count:
        return
    if state.was_home and feed:
        raise Fault("a feed from the machine's home, which only the machine knows", "go back with G0 first")
    if state.was_home or (state.height_named and not recorder.count):
        # over the end of the motion, and never below the face: nothing is cut on the way there
        across_mm = end_mm[:2] if state.was_home else state.position_mm[:2]
        state.position_mm = [*across_mm, max(end_mm[2], 0.0)]
    elif not recorder.count:
        recorder.note(line, "moves before a height is set; the bit was taken to start on the face (Z0)")
    recorder.start_afresh(state.position_mm)
    state.height_known = True
    state.was_home = False
