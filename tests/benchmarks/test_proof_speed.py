"""Reading, sweeping and measuring against general routes in the same run; CPU time, one thread.

Measured when written: reading 55 times the full interpreter (40,000 lines in 11 ms); sweep 0.13 of
np.minimum's cell rate on grooves of 4 mm, 0.22 on rows of hundreds of cells (goal 0.2); designed
depth 0.6 to 0.9 of OpenCV's exact distance transform for a sharp bit, 1.6 to 2.4 for a flat tip on
a drawing four times as dense as a sign.
"""

from __future__ import annotations

import math
import os
import time
from collections.abc import Callable

import cv2
import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, box

from tests.support.specimens import incise, motions, region, vee
from workers.interpretation.interpreter import Interpreter
from workers.simulation.stock import Stock
from workers.simulation.sweeps import sweeps_below_face
from workers.values.program import Trace
from workers.verification.designed_depth import incised_depth, inside_of
from workers.verification.grid import Grid

pytestmark = pytest.mark.benchmark


@pytest.fixture(autouse=True)
def one_thread(monkeypatch: pytest.MonkeyPatch) -> None:
    """CPU time of one thread is steady on a shared machine."""
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0})


def best_s(work: Callable[[], object], runs: int = 5) -> float:
    """Return the least CPU time of some runs, after one that compiles."""
    work()
    times = []
    for _ in range(runs):
        before = time.process_time()
        work()
        times.append(time.process_time() - before)
    return min(times)


def wandering() -> Trace:
    """Return 32,000 motions of 0.3 mm, 0 to 5 mm deep, over 300 x 180 mm."""
    random = np.random.default_rng(2)
    angle = np.cumsum(random.normal(0, 0.3, 32_001))
    x = np.abs((np.cumsum(0.3 * np.cos(angle))) % 600 - 300)
    y = np.abs((np.cumsum(0.3 * np.sin(angle))) % 360 - 180)
    z = -5 * (0.6 + 0.4 * np.sin(np.cumsum(random.normal(0, 0.2, 32_001))))
    return motions(*np.column_stack([x, y, z]))


def test_plain_lines_are_read_many_times_faster_than_by_the_full_interpreter() -> None:
    """At least 20 times."""
    random = np.random.default_rng(1)
    body = "\n".join(f"G1 X{x:.3f} Y{y:.3f} Z{z:.3f} F900" for x, y, z in random.uniform(0, 300, (20_000, 3)))
    text = f"G21\nG90\nG0 Z5\n{body}\nM2\n"
    quick = best_s(lambda: Interpreter(text, "p").trace())
    full = best_s(lambda: Interpreter(text, "p", quick=False).trace(), runs=1)
    assert full / quick > 20


@pytest.mark.parametrize("tip_mm", [0.0, 0.1])
def test_the_sweep_keeps_up_with_the_memory(tip_mm: float) -> None:
    """At least 0.08 of the cell rate of an in-place minimum over an array."""
    trace, cutter = wandering(), vee(60, tip_mm, diameter_mm=12)
    motions = sweeps_below_face(trace, cutter).motions
    start, end, length = motions[:, 8], motions[:, 9], motions[:, 4]
    updates = (math.pi / 2 * (start**2 + end**2) + (start + end) * length).sum() / 0.01
    rate = updates / best_s(lambda: Stock(0, 0, 300, 180, 0.1).cut(trace, cutter))
    array, other = np.zeros(6_000_000, np.float32), np.ones(6_000_000, np.float32)
    yardstick = array.size / best_s(lambda: np.minimum(array, other, out=array))
    assert rate / yardstick > 0.08


@pytest.mark.parametrize(("tip_mm", "most"), [(0.0, 1.0), (0.1, 2.5)])
def test_the_designed_depth_is_about_as_quick_as_a_distance_transform(tip_mm: float, most: float) -> None:
    """Exact distances of 300 x 200 mm at 0.1 mm against those of the same raster to its own cells."""
    random = np.random.default_rng(4)
    strokes = []
    for _ in range(60):
        angle = np.cumsum(random.normal(0, 0.15, 500))
        line = np.column_stack([np.cumsum(0.25 * np.cos(angle)), np.cumsum(0.25 * np.sin(angle))])
        line += random.uniform((40, 30), (260, 170)) - line.mean(axis=0)
        strokes.append(LineString(line).buffer(random.uniform(0.5, 3), quad_segs=8))
    ink = region(shapely.union_all(strokes).intersection(box(2, 2, 298, 198)))
    grid = Grid(left_mm=0, bottom_mm=0, right_mm=300, top_mm=200, cell_mm=0.1)
    raster = inside_of(ink, grid).astype(np.uint8)
    cv2.setNumThreads(1)
    library = best_s(lambda: cv2.distanceTransform(raster, cv2.DIST_L2, cv2.DIST_MASK_PRECISE))
    cut = incise(60, 2.0, tip_mm)
    assert best_s(lambda: incised_depth(ink, cut, grid)) / library <= most
