"""RS-274 text to motions, by the standard alone.

Source: NISTIR 6556 (Kramer, Proctor, Messina, 2000), restated; see ``tests/reference``.
"""

from __future__ import annotations

import numpy as np

from workers.errors import UnreadableProgramError
from workers.interpretation.blocks import Block, read_block
from workers.interpretation.execution import carry_out
from workers.interpretation.fault import Fault, error_of
from workers.interpretation.limits import FARTHEST_MM
from workers.interpretation.plain_lines import (
    FEED,
    MOTION,
    OFFSET_X,
    UNIT,
    X,
    powers_of_ten,
    read_plain_run,
)
from workers.interpretation.recorder import Recorder
from workers.interpretation.state import NO_MOTION, ControllerState
from workers.values.program import Trace

_DELETED = "begins with a slash; left out, so keep block delete switched on"
_UNENDED = "end the program with M2 on a line of its own"


def read_program(text: str, name: str) -> Trace:
    r"""Return the motions that a program says.

    Args:
        text: RS-274 as NISTIR 6556 defines it.
        name: How messages call the program.

    Raises:
        UnreadableProgramError: The text breaks a rule; the message has the line and what it says.

    >>> trace = read_program("G21 G90\nG0 Z5\nG1 X3 Y4 F600\nM2", "hook.ngc")
    >>> trace.ends_mm[-1].tolist()
    [3.0, 4.0, 5.0]
    """
    return Interpreter(text, name).trace()


class Interpreter:
    """Reads one program.

    Args:
        text: RS-274.
        name: How messages call the program.
        quick: Let runs of plain lines take the compiled way; the motions are the same without.
    """

    def __init__(self, text: str, name: str, *, quick: bool = True) -> None:
        self._text = text.replace("\r\n", "\n").replace("\r", "\n")
        self._name = name
        self._quick = quick
        self._state = ControllerState()
        self._parameters: dict[int, float] = {}
        self._lines = self._text.split("\n")
        self._recorder = Recorder(len(self._lines) + 16)
        self._line = 1

    def trace(self) -> Trace:
        """Read to the end and return the motions."""
        framed, first = self._frame()
        self._line = first
        run = _PlainRuns(self._text) if self._quick else None
        closed = False
        while self._line <= len(self._lines) and not self._state.ended:
            if run and self._state_is_plain():
                self._read_run(run)
                if self._line > len(self._lines):
                    break
            text = self._lines[self._line - 1]
            if framed and text.strip() == "%":
                closed = True
                break
            self._read_line(text)
            self._line += 1
        self._check_end(framed, closed)
        self._check_choice()
        trace = self._recorder.trace()
        self._check_reach(trace)
        return trace

    def _frame(self) -> tuple[bool, int]:
        """Say whether the file opens with a percent line, and which line comes next."""
        for number, text in enumerate(self._lines, 1):
            if text.strip():
                return (True, number + 1) if text.strip() == "%" else (False, 1)
        raise error_of(Fault("the program is empty", "send the program's text"), self._name, 1, "")

    def _check_end(self, framed: bool, closed: bool) -> None:
        if self._state.ended:
            rest = self._lines[self._line - 1 :]
            if framed and not closed and not any(text.strip() == "%" for text in rest):
                self._recorder.note(len(self._lines), "opens with % but does not close with it")
        elif framed and not closed:
            raise self._cut_short("a program that opens with % and never closes with it", "end it with %")
        elif not framed:
            raise self._cut_short("a program with neither M2 nor M30: it may have been cut short", _UNENDED)

    def _cut_short(self, problem: str, remedy: str) -> UnreadableProgramError:
        """Return the error of a file that is not ended, with the last place where something stands."""
        line = max(number for number, text in enumerate(self._lines, 1) if text.strip())
        text = self._lines[line - 1]
        return error_of(Fault(problem, remedy, at=len(text)), self._name, line, text)

    def _check_choice(self) -> None:
        state = self._state
        if state.tool and state.tool != state.tool_in_spindle:
            self._recorder.note(
                state.tool_line, f"chooses bit T{state.tool}, and no M6 takes it into the spindle"
            )

    def _check_reach(self, trace: Trace) -> None:
        far = np.flatnonzero(~(np.abs(trace.ends_mm) < FARTHEST_MM).all(axis=1))
        if len(far):
            line = int(trace.lines[far[0]])
            fault = Fault("a place no machine reaches", "check the numbers and the unit")
            raise error_of(fault, self._name, line, self._lines[line - 1])

    def _state_is_plain(self) -> bool:
        state = self._state
        return (
            state.absolute
            and not state.inverse_time
            and state.height_known
            and state.unit_stated
            and state.motion in (0, 10, NO_MOTION)
        )

    def _read_run(self, run: _PlainRuns) -> None:
        try:
            self._line = run.read(self._line, self._state, self._recorder)
        except Fault as fault:
            raise error_of(fault, self._name, self._line, self._lines[self._line - 1]) from fault

    def _read_line(self, text: str) -> None:
        def remark(what: str) -> None:
            self._recorder.note(self._line, what)

        if text.lstrip().startswith("/"):
            remark(_DELETED)
            return
        block = Block()
        try:
            block = read_block(text, self._parameters, remark)
            self._parameters.update(block.settings)
            carry_out(block, self._state, self._recorder, self._line)
        except Fault as fault:
            fault.at = block.places.get(fault.word, fault.at)
            raise error_of(fault, self._name, self._line, text) from fault


class _PlainRuns:
    """The text as bytes, and the way from the controller's state to the kernel and back."""

    def __init__(self, text: str) -> None:
        self._codes = np.frombuffer(text.encode("utf-8", "replace"), np.uint8)
        ends = np.flatnonzero(self._codes == ord("\n"))
        self._line_starts = np.concatenate(([0], ends + 1, [len(self._codes) + 1]))

    def read(self, line: int, state: ControllerState, recorder: Recorder) -> int:
        """Read plain lines from a line on; return the number of the first that is not."""
        recorder.reserve(len(self._line_starts) - line + 1)
        room = slice(recorder.count, None)
        packed = np.empty(OFFSET_X + 3)
        packed[X : X + 3] = state.position_mm
        packed[FEED] = state.feed_mm_per_min
        packed[MOTION] = -1.0 if state.motion == NO_MOTION else state.motion / 10
        packed[UNIT] = state.mm_per_unit
        packed[OFFSET_X:] = state.offsets_mm
        start = int(self._line_starts[line - 1])
        _, line, count = read_plain_run(
            self._codes,
            start,
            line,
            packed,
            powers_of_ten(),
            recorder.ends_mm[room],
            recorder.motions[room],
            recorder.feeds_mm_per_min[room],
            recorder.lines[room],
        )
        recorder.spindle_rpm[recorder.count : recorder.count + count] = state.spindle_rpm
        recorder.count += count
        state.position_mm = packed[X : X + 3].tolist()
        state.feed_mm_per_min = float(packed[FEED])
        if count:
            state.motion = round(10 * float(packed[MOTION]))
        return int(line)
