"""One line carried out, in the standard's order.

Source: NISTIR 6556, table 8, restated: comment, feed mode, F, S, T, M6, spindle, coolant,
overrides, dwell, plane, units, compensation, tool length, work system, path control,
distance mode, cycle return, origin and home, motion, stop.
"""

from __future__ import annotations

import math

from workers.interpretation.blocks import Block
from workers.interpretation.cycles import drill_holes
from workers.interpretation.fault import Fault
from workers.interpretation.modal_groups import CYCLES, NON_MODAL, check_words, groups_of, motion_of
from workers.interpretation.motions import destination, feed_for, go_round, go_straight
from workers.interpretation.offsets import apply_offset_code
from workers.interpretation.recorder import Recorder
from workers.interpretation.state import NO_MOTION, WORK_SYSTEMS, ControllerState, end_program
from workers.values.frames import MM_PER_INCH

_LONG_DWELL_S = 100.0  # in seconds nobody waits so long, in milliseconds a program may
_STOP_GROUP, _TOOL_GROUP, _SPINDLE_GROUP = 4, 6, 7


def carry_out(block: Block, state: ControllerState, recorder: Recorder, line: int) -> None:
    """Carry out one line.

    Args:
        block: Its words.
        state: Changed.
        recorder: Takes motions, dwells and remarks.
        line: Its number, from 1.

    Raises:
        Fault: The line breaks a rule.
    """
    g_codes, m_codes = groups_of(block)
    if block.message and not recorder.at_change:
        recorder.note(line, f'tells the operator: "{block.message}"')
    motion = motion_of(block, g_codes, state.motion)
    check_words(block, g_codes, motion)
    inverse_time = _set_feed(block, g_codes, state, recorder, line)
    _set_spindle(block, m_codes, state, recorder, line)
    if g_codes.get(NON_MODAL) == 40:
        _dwell(block, recorder, line)
    _set_modes(g_codes, state, recorder, line)
    _set_tool_length(block, g_codes, recorder, line)
    _move(block, g_codes, motion, state, recorder, line, inverse_time)
    if _STOP_GROUP in m_codes:
        _stop(m_codes[_STOP_GROUP], state, recorder, line)


def _set_feed(
    block: Block, g_codes: dict[int, int], state: ControllerState, recorder: Recorder, line: int
) -> float | None:
    """Feed mode and F; returns F of this line when it is inverse time."""
    if 5 in g_codes:
        if state.inverse_time != (g_codes[5] == 930):
            state.feed_mm_per_min = 0.0  # a number of the other kind
        state.inverse_time = g_codes[5] == 930
    feed = block.words.get("f")
    if feed is not None and feed < 0:
        raise Fault("F is negative", "write F above zero", word="f")
    if feed is not None and not state.inverse_time:
        state.feed_mm_per_min = feed * state.mm_per_unit
        if 6 in g_codes and _mm_per_unit(g_codes[6]) != state.mm_per_unit:
            recorder.note(line, "sets F and the unit on one line; F counts in the unit before it")
    return feed if state.inverse_time else None


def _set_spindle(
    block: Block, m_codes: dict[int, int], state: ControllerState, recorder: Recorder, line: int
) -> None:
    """S, T, tool change, spindle on and off."""
    if "s" in block.words:
        state.spindle_speed_rpm = block.words["s"]
    if "t" in block.words:
        state.tool, state.tool_line = int(block.words["t"]), line
    if _TOOL_GROUP in m_codes:
        _change_bit(state, recorder, line)
    if _SPINDLE_GROUP in m_codes:
        state.spindle_on = m_codes[_SPINDLE_GROUP] != 5
        if m_codes[_SPINDLE_GROUP] == 4:
            recorder.note(line, "turns the spindle anticlockwise (M4); router bits cut clockwise")


def _change_bit(state: ControllerState, recorder: Recorder, line: int) -> None:
    """M6: the bit chosen last is in the spindle, which stands, and the axes are where they were (3.6.3)."""
    height_mm = state.position_mm[2] if state.height_known else None
    recorder.change_bit(line, state.tool, state.spindle_rpm, height_mm)
    state.tool_in_spindle = state.tool
    state.spindle_on = False


def _dwell(block: Block, recorder: Recorder, line: int) -> None:
    if "p" not in block.words:
        raise Fault("G4 without P", "give the seconds as P", word="g40")
    dwell_s = block.words["p"]
    if dwell_s >= _LONG_DWELL_S:
        recorder.note(line, f"waits for {dwell_s:g} seconds (G4 P); some controllers count milliseconds")
    recorder.dwell_s += dwell_s


def _set_modes(g_codes: dict[int, int], state: ControllerState, recorder: Recorder, line: int) -> None:
    """Plane, units, work system, distance mode, cycle return; what changes no motion is let pass."""
    state.plane = g_codes.get(2, state.plane)
    if 6 in g_codes:
        mm_per_unit = _mm_per_unit(g_codes[6])
        if state.cycle_words and mm_per_unit != state.mm_per_unit:
            state.cycle_words = {}
        state.mm_per_unit = mm_per_unit
        state.unit_stated = True
    if 12 in g_codes:
        state.work_system = WORK_SYSTEMS.index(g_codes[12])
    if 3 in g_codes:
        state.absolute = g_codes[3] == 900
    if 10 in g_codes:
        state.retract_to_initial = g_codes[10] == 980


def _mm_per_unit(code: int) -> float:
    return MM_PER_INCH if code == 200 else 1.0


def _set_tool_length(block: Block, g_codes: dict[int, int], recorder: Recorder, line: int) -> None:
    if g_codes.get(8) == 490:
        recorder.take_length(line, 0)
    elif g_codes.get(8) == 430:
        if "h" not in block.words:
            raise Fault("G43 without H", "give the tool's index as H, or leave G43 out", word="g430")
        recorder.take_length(line, int(block.words["h"]))
        recorder.note(line, "uses the machine's tool length (G43); the proof takes Z0 as the board's face")


def _move(
    block: Block,
    g_codes: dict[int, int],
    motion: int | None,
    state: ControllerState,
    recorder: Recorder,
    line: int,
    inverse_time: float | None,
) -> None:
    special = g_codes.get(NON_MODAL)
    if special not in (None, 40, 530):
        apply_offset_code(special, state, recorder, line, block)
    if g_codes.get(1) == NO_MOTION:
        state.motion = NO_MOTION
    if special == 530 and (motion not in (0, 10) or not state.absolute):
        raise Fault("G53 without G0 or G1, or in G91", "write G53 G0 with G90 in force", word="g530")
    if motion is None:
        return
    state.height_named = state.height_named or "z" in block.words
    if not state.unit_stated:
        recorder.note(line, "does not say its unit (G20 or G21); millimetres were taken")
    if motion in CYCLES:
        drill_holes(motion, state, recorder, line, block.words)
    elif motion in (20, 30):
        go_round(state, recorder, line, block.words, inverse_time, clockwise=motion == 20)
    else:
        _go(block, state, recorder, line, inverse_time, feeding=motion == 10, machine_frame=special == 530)
    state.motion = motion


def _go(
    block: Block,
    state: ControllerState,
    recorder: Recorder,
    line: int,
    inverse_time: float | None,
    *,
    feeding: bool,
    machine_frame: bool,
) -> None:
    if machine_frame:
        recorder.note(line, "moves in the machine's own frame (G53); taken as the board's frame")
    end_mm = destination(state, block.words, machine_frame=machine_frame)
    feed = 0.0
    if feeding:
        feed = feed_for(state, math.dist(state.position_mm, end_mm), inverse_time)
    go_straight(state, recorder, line, end_mm, feed)


def _stop(code: int, state: ControllerState, recorder: Recorder, line: int) -> None:
    if code in (2, 30):
        end_program(state)
    elif recorder.at_change:
        return  # the stop belongs to the change of bit
    elif code == 1:
        recorder.note(line, "may stop here (M1), if the machine's optional stop is on")
    else:
        recorder.note(line, f"stops here (M{code}) until the operator goes on")
