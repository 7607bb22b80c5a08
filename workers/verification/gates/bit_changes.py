"""Changes of bit within a program: is it safe to change there, and does each cut with its own length?"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from workers.values.finding import Finding, Severity
from workers.values.program import BitChange, LengthOffset, Motion
from workers.verification.stretches import Reading
from workers.verification.tolerances import DEPTH_ROUNDING_MM


def change_findings(reading: Reading) -> list[Finding]:
    """Return findings for changes while the spindle turns or the bit is in the board, and for wrong lengths.

    Args:
        reading: A whole program. Its M6 stops the spindle by the standard, but not on every machine.
    """
    changes = reading.trace.changes
    turning = [change for change in changes if change.spindle_rpm > 0]
    sunk = [change for change in changes if (change.height_mm or 0.0) < -DEPTH_ROUNDING_MM]
    found = []
    if turning:
        said = f"the bit is changed while the spindle turns at {turning[0].spindle_rpm:.0f} rpm"
        remedy = "write M5 before M6; waive this if the machine's own M6 stops the spindle"
        found.append(_finding("spindle-on-at-change", reading, turning, said, remedy))
    if sunk:
        said = f"the bit is changed {-(sunk[0].height_mm or 0.0):.3f} mm below the face"
        found.append(_finding("change-in-the-work", reading, sunk, said, "lift the bit with G0 before M6"))
    return found + _length_findings(reading)


def _finding(code: str, reading: Reading, changes: Sequence[BitChange], said: str, remedy: str) -> Finding:
    others = f", and {len(changes) - 1} more such changes" if len(changes) > 1 else ""
    return Finding(
        code=code,
        severity=Severity.ERROR,
        message=f"{reading.program.name}, line {changes[0].line}: {said}{others}",
        remedy=remedy,
    )


def _length_findings(reading: Reading) -> list[Finding]:
    """Where lengths come from the machine's table, every bit must cut with its own."""
    trace = reading.trace
    if not reading.program.bits or not trace.lengths:
        return []
    cutting = (trace.motions == Motion.FEED) & (trace.lowest_mm < 0)
    lengths, bits = _in_force(trace.lengths, len(cutting)), _in_force(trace.changes, len(cutting))
    wrong = np.flatnonzero(cutting & (lengths != bits))
    if not len(wrong) or not lengths[cutting].any():
        return []
    bit, length = bits[wrong[0]], lengths[wrong[0]]
    taken = (
        f"the length of bit {length} (G43 H{length})" if length else "no bit's length, others with their own"
    )
    return [
        Finding(
            code="other-bits-length",
            severity=Severity.ERROR,
            message=f"{reading.line_of(int(wrong[0]))}: bit {bit} cuts with {taken}",
            remedy=f"write G43 H{bit} after the change to bit {bit}; or waive this, if its H is numbered so",
            at_mm=reading.end_of(int(wrong[0])),
        )
    ]


def _in_force(said: Sequence[BitChange | LengthOffset], count: int) -> NDArray[np.int64]:
    """Return which number is in force for each of so many motions, 0 before the first."""
    numbers = np.array([0, *(one.number or 0 for one in said)])
    return numbers[np.searchsorted([one.motion for one in said], np.arange(count), side="right")]
