"""A whole sign, photo to bundle: CPU time by stage, as shares of the stage's own yardstick or of the whole.

No limit is a number of seconds. The diagram of the design's outline, bare, is the floor under
verdicts and grooves; distances of the proof's raster by a library are the one under the proof.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest

from api.local_run import run_here
from workers.geometry import segment_voronoi
from workers.geometry.outline_diagram import outline_diagram
from workers.layout.design_file import read_design
from workers.pipeline.capabilities import capabilities
from workers.pipeline.outcome import Read, StepOutcome
from workers.pipeline.run_step import run_step
from workers.resolvability.centre_lines import measured
from workers.values.progress import Reporter

pytestmark = pytest.mark.benchmark
DRAWINGS = Path(__file__).parents[1] / "support" / "drawings"
RUNS = 3


@dataclass
class Clock:
    """The least CPU time of every stage, and the design they worked on."""

    least_s: dict[str, float] = field(default_factory=dict)
    design: bytes = b""

    def run_step(self, process: str, inputs: dict[str, Any], read: Read, report: Reporter) -> StepOutcome:
        """Run a step and remember how long it took."""
        before_s = time.process_time()
        outcome = run_step(process, inputs, read, report)
        spent_s = time.process_time() - before_s
        self.least_s[process] = min(spent_s, self.least_s.get(process, spent_s))
        self.design = outcome.files.get("design", self.design)
        return outcome


def order(name: str) -> dict[str, Any]:
    """Return an order for a board of 300 x 200 mm, the drawing 240 mm wide or 160 mm high."""
    known = json.loads((DRAWINGS / f"{name}.truth.json").read_text())
    points = np.concatenate([np.array(rings[0]) for rings in known["polygons"]])
    wide, high = np.ptp(points, axis=0)
    size = {"width": 240} if wide / high > 240 / 160 else {"height": 160}
    return {
        "board": {"width": 300, "height": 200, "thickness": 18, "material": "basswood"},
        "art": [
            {
                "photos": [{"href": f"{name}.s1.jpg"}],
                "sheet": {"width": known["sheet_width_mm"], "height": known["sheet_height_mm"]},
                "place": {"x": 150, "y": 100, **size},
            }
        ],
        "incise": {"bit": "vee-90", "depth_limit": 2.5},
        "clear": {"bit": "flat-1/8in"},
    }


@pytest.fixture(params=["anchor", "rope_locker", "teacup"])
def clock(request: pytest.FixtureRequest) -> Clock:
    """Return the times of a sign made three times, nothing kept from one to the next."""
    clock = Clock()
    for _ in range(RUNS):
        outline_diagram.cache_clear()
        measured.cache_clear()
        made = run_here(
            "sign",
            order(request.param),
            DRAWINGS,
            clock.run_step,
            lambda fraction, message: None,
            capabilities,
        )
        assert made.problem is None
    table = "".join(f"\n  {stage:14}{spent_s:6.2f} s" for stage, spent_s in clock.least_s.items())
    sys.stdout.write(f"\n{request.param}: {sum(clock.least_s.values()):.2f} s CPU{table}\n")
    return clock


def least_s(work: Callable[[], object]) -> float:
    """Return the least CPU time of some runs."""
    times_s = []
    for _ in range(RUNS):
        before_s = time.process_time()
        work()
        times_s.append(time.process_time() - before_s)
    return min(times_s)


def test_no_stage_costs_much_more_than_its_floor(clock: Clock) -> None:
    """Verdicts with repair cost 7 bare diagrams, two of them needed; grooves, with theirs at hand, 4.

    The proof with its pictures costs 16 library distance transforms of 300 x 200 mm at 0.1 mm.
    Measured when written: 2.6 to 4.8, 0.6 to 2.2, 10 to 12.
    """
    ink = read_design(clock.design, "").ink
    diagram = outline_diagram(ink).voronoi
    sides = np.rint((diagram.sides_mm - np.round(diagram.sides_mm.mean())) / diagram.grid_mm)
    bare_s = least_s(lambda: segment_voronoi._constructed(sides))
    raster = (np.indices((2000, 3000)).sum(axis=0) % 40 > 20).astype(np.uint8)
    cv2.setNumThreads(1)
    distances_s = least_s(lambda: cv2.distanceTransform(raster, cv2.DIST_L2, cv2.DIST_MASK_PRECISE))

    ratios = {
        "resolvability": clock.least_s["resolvability"] / bare_s,
        "toolpaths": clock.least_s["toolpaths"] / bare_s,
        "verification": clock.least_s["verification"] / distances_s,
    }
    sys.stdout.write(f"  { ({stage: round(ratio, 1) for stage, ratio in ratios.items()}) }\n")
    assert ratios["resolvability"] < 7
    assert ratios["toolpaths"] < 4
    assert ratios["verification"] < 16
