"""Changes of bit within a program: is it safe to change there, and does each cut with its own length?"""

from __future__ import annotations

from collections import Counter
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
        remedy = "write M5 before M6; not every machine's M6 stops the spindle"
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
    """Where lengths come from the machine's table, every bit must cut with its own.

    A number that no other bit has or uses may be the machine's own way of counting: a warning.
    """
    trace, given = reading.trace, reading.program.bits
    if not given or not trace.lengths:
        return []
    cutting = np.flatnonzero((trace.motions == Motion.FEED) & (trace.lowest_mm < 0))
    lengths, bits = (_in_force(said, cutting) for said in (trace.lengths, trace.changes))
    pairs = set(zip(bits.tolist(), lengths.tolist(), strict=True))
    users = Counter(length for _, length in pairs)
    found = []
    for bit, length in sorted(pairs):
        if length == bit or not lengths.any():
            continue
        sure = not length or length in given or users[length] > 1
        first = int(cutting[np.argmax((bits == bit) & (lengths == length))])
        found.append(
            _length_finding(reading, first, bit, length, Severity.ERROR if sure else Severity.WARNING)
        )
    return found


def _length_finding(reading: Reading, first: int, bit: int, length: int, severity: Severity) -> Finding:
    taken = (
        f"the length of number {length} (G43 H{length})" if length else "no bit's length, others with theirs"
    )
    return Finding(
        code="other-bits-length",
        severity=severity,
        message=f"{reading.line_of(first)}: bit {bit} cuts with {taken}",
        remedy=f"write G43 H{bit} after the change to bit {bit}",
        at_mm=reading.end_of(first),
    )


def _in_force(said: Sequence[BitChange | LengthOffset], motions: NDArray[np.intp]) -> NDArray[np.int64]:
    """Return which number is in force for each of the motions, 0 before the first."""
    numbers = np.array([0, *(one.number or 0 for one in said)])
    return numbers[np.searchsorted([one.motion for one in said], motions, side="right")]
