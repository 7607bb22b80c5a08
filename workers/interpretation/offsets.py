"""Codes that move the origin, and trips to the machine's home.

The board frame is the machine's frame as long as a program sets no offsets: the
work origin is taken to be where the board's lower left corner is.

Source: NISTIR 6556, sections 3.5.7 to 3.5.19, restated.
"""

from __future__ import annotations

from workers.interpretation.blocks import Block
from workers.interpretation.fault import Fault
from workers.interpretation.motions import AXES, destination, go_straight
from workers.interpretation.recorder import Recorder
from workers.interpretation.state import ControllerState

_MOVED = (
    "moves the work origin ({code}); the proof holds only if it lies at the board's lower left corner, "
    "on the face"
)


def apply_offset_code(code: int, state: ControllerState, recorder: Recorder, line: int, block: Block) -> None:
    """Carry out G10, G28, G30 or one of the G92 family.

    Args:
        code: The G code times ten.
        state: Changed.
        recorder: Takes a trip's first leg and remarks.
        line: Line of the text, from 1.
        block: The line's words.
    """
    if code in (280, 300):
        _go_home(code, state, recorder, line, block)
    elif code == 100:
        _set_origin(state, recorder, line, block)
    elif code == 920:
        _shift_to(state, recorder, line, block)
    elif code == 921:
        state.shift_mm, state.saved_shift_mm = [0.0] * 3, [0.0] * 3
    elif code == 922:
        state.shift_mm = [0.0] * 3
    elif code == 923:
        state.shift_mm = list(state.saved_shift_mm)


def _set_origin(state: ControllerState, recorder: Recorder, line: int, block: Block) -> None:
    kind = block.words.get("l")
    if kind != 2:
        said = "G10 without L2" if kind is None else f"G10 L{kind:g}, which sets the machine's tables,"
        raise Fault(said, "write G10 L2 P1 to P9, or leave tables to the operator", word="g100")
    number = block.words.get("p", 0.0)
    if number not in range(1, 10):
        raise Fault(f"work system P{number:g}", "choose P1 to P9", word="p")
    origin = state.origins_mm[int(number) - 1]
    for axis, letter in enumerate(AXES):
        if letter in block.words:
            origin[axis] = block.words[letter] * state.mm_per_unit
    recorder.note(line, _MOVED.format(code="G10 L2"))


def _shift_to(state: ControllerState, recorder: Recorder, line: int, block: Block) -> None:
    """Make the present position read as the words say."""
    if not block.has_axes:
        raise Fault("G92 without X, Y or Z", "say what the position shall read", word="g920")
    origin_mm = state.origins_mm[state.work_system]
    for axis, letter in enumerate(AXES):
        if letter in block.words:
            reading_mm = block.words[letter] * state.mm_per_unit
            state.shift_mm[axis] = state.position_mm[axis] - origin_mm[axis] - reading_mm
    state.saved_shift_mm = list(state.shift_mm)
    recorder.note(line, _MOVED.format(code="G92"))


def _go_home(code: int, state: ControllerState, recorder: Recorder, line: int, block: Block) -> None:
    """Only the machine knows its home: the way through the given point is kept, the rest is a remark."""
    name = f"G{code // 10}"
    if block.has_axes and recorder.count:
        go_straight(state, recorder, line, destination(state, block.words), 0.0)
    if state.position_mm[2] < 0:
        raise Fault(f"{name} from below the face", "lift the bit with G0 first")
    recorder.note(
        line,
        f"goes to the machine's home ({name}), which only the machine knows; taken as away from the work",
    )
    state.was_home = True
    state.height_known = False
