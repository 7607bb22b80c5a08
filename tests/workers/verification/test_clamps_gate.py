"""Motions through a clamp, measured as a general geometry library measures them."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from shapely.geometry import box

from tests.support.specimens import MACHINE, board, mill, motions, vee
from workers.values.keep_out import KeepOut
from workers.values.program import Program, Trace
from workers.verification.evidence import Circumstances, Exhibit
from workers.verification.gates.clamps import clamp_findings, entering
from workers.verification.outline_ring import outline_of

ZONE = KeepOut(left_mm=-5, bottom_mm=-8, right_mm=7, top_mm=4, height_mm=10)

CLAMPED = Circumstances(
    board=board(),
    outline=outline_of(board()),
    machine=MACHINE,
    incise=None,
    cutout=None,
    keep_outs=(ZONE,),
)


def exhibit_of(trace: Trace) -> Exhibit:
    """A program of a bit of 6 mm."""
    program = Program(name="x.ngc", cutter=mill(6.0), text="")
    removed_mm = np.zeros(len(trace.lines), np.float32)
    return Exhibit(
        program=program,
        trace=trace,
        cutter=mill(6.0),
        removed_mm=removed_mm,
        sunk_mm=np.zeros((3, len(trace.lines)), np.float32),
        cut_cells=True,
        freed_fraction=0.0,
    )


@pytest.mark.parametrize(
    ("start", "end", "is_in"),
    [
        ((-20, 0, 5), (20, 0, 5), True),
        ((-20, 0, 10), (20, 0, 10), False),
        ((-20, 0, 15), (20, 0, 5), True),
        ((-20, 0, 15), (100, 0, 9.9), False),
        ((-7.9, 0, 20), (-7.9, 0, -5), True),
        ((-8.1, 0, 20), (-8.1, 0, -5), False),
    ],
)
def test_only_what_is_low_and_near_runs_into_a_clamp(
    start: tuple[float, float, float], end: tuple[float, float, float], is_in: bool
) -> None:
    """Level over it or falling past it is none; a falling one is looked at where it is below the top."""
    findings = clamp_findings(exhibit_of(motions(start, end)), CLAMPED)

    assert [finding.code for finding in findings] == ["through-clamp"] * is_in


def test_a_cone_is_as_wide_as_it_is_below_the_clamps_top() -> None:
    """90 degrees, tip at -1: at the top of 10 mm the cone's radius is 11, whatever the bit's diameter."""
    trace = motions((-20, 0, -1), (-16.1, 0, -1), (-15.9, 0, -1))
    exhibit = replace(exhibit_of(trace), cutter=vee(90))

    assert entering(exhibit, ZONE).tolist() == [False, True]


@pytest.mark.parametrize(
    ("stick_out_mm", "beside_mm", "struck_by"),
    [(30, 3.1, ""), (30, 2.9, "runs"), (16, 11.9, "its nut"), (16, 12.1, ""), (0.5, 32.4, "its spindle")],
)
def test_nut_and_spindle_run_into_high_clamps(stick_out_mm: float, beside_mm: float, struck_by: str) -> None:
    """7 mm deep beside a clamp of 10 mm: a nut 24 mm thick 16 mm over the tip is 1 mm below its top.

    The bit itself is 6 mm thick; a spindle 65 mm thick begins 16 mm over the nut's lower end.
    """
    bit = replace(mill(6.0), stick_out_mm=stick_out_mm, cutting_length_mm=20)
    trace = motions((20, 7 + beside_mm - 3, 12), (7 + beside_mm, 0, 12), (7 + beside_mm, 0, -7))

    findings = clamp_findings(replace(exhibit_of(trace), cutter=bit), CLAMPED)

    assert len(findings) == bool(struck_by)
    assert all(struck_by in finding.message for finding in findings)


@given(
    starts=arrays(np.float64, (6, 3), elements=st.floats(-30, 30)),
    ends=arrays(np.float64, (6, 3), elements=st.floats(-30, 30)),
)
@settings(deadline=None, max_examples=40)
def test_distances_are_those_of_a_general_geometry_library(starts: np.ndarray, ends: np.ndarray) -> None:
    """A motion below the zone's top is in it if shapely finds it nearer than the bit's radius."""
    starts, ends = np.round(starts, 2), np.round(ends, 2)
    starts[:, 2] = ends[:, 2] = -1
    trace = replace(motions(*map(tuple, [*starts.tolist(), (0, 0, 0)])), starts_mm=starts, ends_mm=ends)
    distances_mm = shapely.distance(
        shapely.linestrings(np.stack([starts[:, :2], ends[:, :2]], axis=1)), box(-5, -8, 7, 4)
    )
    sure = np.abs(distances_mm - 3.0) > 0.01

    assert (entering(exhibit_of(trace), ZONE) == (distances_mm < 3.0))[sure].all()
