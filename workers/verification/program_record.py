"""What the proof tells of a program: its digest, bits, times, lengths and bounds."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

import numpy as np

from workers.simulation.duration import duration_s
from workers.values.machine import Machine
from workers.values.program import Motion
from workers.values.proof import BitRecord, ProgramRecord
from workers.verification.stretches import Reading, Stretch


def record_of(reading: Reading, stretches: Sequence[Stretch], machine: Machine) -> ProgramRecord:
    """Return the record of a program.

    Args:
        reading: The whole of it.
        stretches: What each bit does in it in turn; the machine stands while bits are changed.
        machine: How fast it moves.
    """
    trace, program = reading.trace, reading.program
    steps = trace.ends_mm - trace.starts_mm
    lengths_mm = np.sqrt((steps * steps).sum(axis=1))
    feeding = trace.motions == Motion.FEED
    points_mm = np.concatenate([trace.starts_mm, trace.ends_mm])
    if not len(points_mm):
        points_mm = np.zeros((1, 3))
    low_x, low_y, low_z = points_mm.min(axis=0).tolist()
    high_x, high_y, high_z = points_mm.max(axis=0).tolist()
    seconds_s = [duration_s(stretch.trace, machine) for stretch in stretches]
    idle_s = trace.dwell_s - sum(stretch.trace.dwell_s for stretch in stretches)  # with nothing moved
    return ProgramRecord(
        name=program.name,
        sha256=hashlib.sha256(program.text.encode("latin-1", "replace")).hexdigest(),  # as the file has it
        bits=tuple(
            BitRecord(number=stretch.number, bit=stretch.cutter.name, seconds_s=one_s)
            for stretch, one_s in zip(stretches, seconds_s, strict=True)
            if stretch.number or program.cutter
        ),
        seconds_s=sum(seconds_s) + idle_s,
        feed_length_mm=float(lengths_mm[feeding].sum()),
        traverse_length_mm=float(lengths_mm[~feeding].sum()),
        low_mm=(low_x, low_y, low_z),
        high_mm=(high_x, high_y, high_z),
    )
