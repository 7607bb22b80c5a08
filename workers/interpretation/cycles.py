"""Drilling cycles G81, G82 and G83 in the plane G17, as straight motions.

Source: NISTIR 6556, section 3.5.16, restated.
"""

from __future__ import annotations

from workers.interpretation.fault import Fault
from workers.interpretation.motions import destination, feed_for, go_straight
from workers.interpretation.recorder import Recorder
from workers.interpretation.state import ControllerState
from workers.values.frames import MM_PER_INCH

PECK_CLEARANCE_MM = 0.01 * MM_PER_INCH  # how far above the last peck the feed begins again
MOST_STROKES = 5000  # of one line; guards against repeats and pecks without end
_DWELLING, _PECKING = 820, 830


def drill_holes(
    code: int, state: ControllerState, recorder: Recorder, line: int, words: dict[str, float]
) -> None:
    """Drill the hole of this line, or L holes in a row.

    Args:
        code: 810, 820 or 830.
        state: Position and modes.
        recorder: Takes the motions.
        line: Line of the text, from 1.
        words: The words of the line; Z and R stay in force while the cycle does.

    Raises:
        Fault: Something a cycle needs is missing.
    """
    if state.plane != 170:
        raise Fault("a drilling cycle outside the plane G17", "drill along Z, in G17")
    if state.inverse_time:
        raise Fault("a drilling cycle in G93", "use G94 for drilling")
    if code != state.motion:
        state.cycle_words = {}
    kept = state.cycle_words
    kept.update({letter: words[letter] for letter in "zrpq" if letter in words})
    needed = {_DWELLING: "zrp", _PECKING: "zrq"}.get(code, "zr")
    missing = [letter.upper() for letter in needed if letter not in kept]
    if missing:
        raise Fault(f"a drilling cycle without {' and '.join(missing)}", "give what the cycle needs")
    if "q" in kept and kept["q"] <= 0:
        raise Fault("pecks of no depth", "give Q above zero")
    retract_mm, bottom_mm = _heights(state, kept)
    repeats = _repeats(code, state, words, retract_mm - bottom_mm)
    initial_mm = max(state.position_mm[2], retract_mm)
    across = {letter: words[letter] for letter in "xy" if letter in words}
    for _ in range(repeats):
        _drill_one(code, state, recorder, line, across, retract_mm, bottom_mm)
        up_mm = initial_mm if state.retract_to_initial else retract_mm
        _to_height(state, recorder, line, up_mm, 0.0)


def _repeats(code: int, state: ControllerState, words: dict[str, float], deep_mm: float) -> int:
    """L, once it is sure that the holes and their pecks come to an end."""
    if deep_mm < 0:
        raise Fault("a hole whose bottom is above R", "give Z below R")
    repeats = int(words.get("l", 1))
    if repeats < 1:
        raise Fault("a drilling cycle no times", "give L of 1 or more")
    pecks = deep_mm / (state.cycle_words["q"] * state.mm_per_unit) if code == _PECKING else 1.0
    if repeats * pecks > MOST_STROKES:
        raise Fault(
            f"more than {MOST_STROKES} strokes of the drill on one line", "give a smaller L or a larger Q"
        )
    return repeats


def _heights(state: ControllerState, kept: dict[str, float]) -> tuple[float, float]:
    """R and the bottom, in the board frame; incremental R counts from the bit, Z from R."""
    unit = state.mm_per_unit
    if state.absolute:
        offset_mm = state.offsets_mm[2]
        return kept["r"] * unit + offset_mm, kept["z"] * unit + offset_mm
    retract_mm = state.position_mm[2] + kept["r"] * unit
    return retract_mm, retract_mm + kept["z"] * unit


def _drill_one(
    code: int,
    state: ControllerState,
    recorder: Recorder,
    line: int,
    across: dict[str, float],
    retract_mm: float,
    bottom_mm: float,
) -> None:
    feed = feed_for(state, 0.0, None)
    if state.position_mm[2] < retract_mm:
        _to_height(state, recorder, line, retract_mm, 0.0)
    go_straight(state, recorder, line, destination(state, across), 0.0)
    _to_height(state, recorder, line, retract_mm, 0.0)
    if code == _PECKING:
        peck_mm = state.cycle_words["q"] * state.mm_per_unit
        reached_mm = retract_mm - peck_mm
        while reached_mm > bottom_mm:
            _to_height(state, recorder, line, reached_mm, feed)
            _to_height(state, recorder, line, retract_mm, 0.0)
            _to_height(state, recorder, line, min(reached_mm + PECK_CLEARANCE_MM, retract_mm), 0.0)
            reached_mm -= peck_mm
    _to_height(state, recorder, line, bottom_mm, feed)
    if code == _DWELLING:
        recorder.dwell_s += state.cycle_words["p"]


def _to_height(state: ControllerState, recorder: Recorder, line: int, z_mm: float, feed: float) -> None:
    if z_mm != state.position_mm[2] or not recorder.count:
        go_straight(state, recorder, line, [*state.position_mm[:2], z_mm], feed)
