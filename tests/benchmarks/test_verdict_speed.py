"""How dear verdicts are, against the bare construction of the diagram in the same run, up to 300,000 sides.

Thread time, so that neighbours on the machine do not count; nothing kept from one run to the next.
"""

from __future__ import annotations

import json
import math
import sys
import time
from dataclasses import dataclass
from itertools import count
from pathlib import Path

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon

from tests.support.specimens import BASSWOOD, incise
from workers.geometry import segment_voronoi
from workers.geometry.outline_diagram import outline_diagram
from workers.geometry.polygon_repair import on_grid
from workers.resolvability.centre_lines import measured
from workers.resolvability.examine import examine
from workers.values.region import Region

pytestmark = pytest.mark.benchmark
DRAWINGS = Path(__file__).parents[1] / "support" / "drawings"
NAMES = ("anchor", "rope_locker", "teacup")
SIZES = (12_500, 50_000, 300_000)
CUT = incise(90, 2.5, 0.2)


@dataclass(frozen=True)
class Cost:
    """What verdicts cost, and the construction of the diagram alone within the same run."""

    sides: int
    whole_s: float
    bare_s: float

    @property
    def ratio(self) -> float:
        """Whole over bare."""
        return self.whole_s / self.bare_s

    @property
    def per_n_log_n(self) -> float:
        """The whole for each unit of n log n."""
        return self.whole_s / (self.sides * math.log(self.sides))


def drawings_side_by_side(sides: int) -> Region:
    """Return drawings 80 mm wide in rows until they have so many sides."""
    known = [json.loads((DRAWINGS / f"{name}.truth.json").read_text())["polygons"] for name in NAMES]
    kinds = [MultiPolygon([Polygon(rings[0], rings[1:]) for rings in polygons]) for polygons in known]
    parts: list[Polygon] = []
    found = 0
    for number in count():
        if found >= sides:
            return on_grid(MultiPolygon(parts))
        drawing = kinds[number % len(kinds)]
        left, top, right, _ = drawing.bounds
        scale = 80 / (right - left)
        place = (100 * (number % 20) - scale * left, -100 * (number // 20) + scale * top)
        placed = affinity.affine_transform(drawing, [scale, 0, 0, -scale, *place])
        parts += placed.geoms
        found += shapely.get_num_coordinates(placed)
    raise AssertionError


def cost_of(region: Region, monkeypatch: pytest.MonkeyPatch, runs: int) -> Cost:
    """Return the least cost of some runs."""
    construct = segment_voronoi._constructed
    bare_s = []

    def timed(sides: NDArray[np.float64]) -> object:
        start_s = time.thread_time()
        try:
            return construct(sides)
        finally:
            bare_s.append(time.thread_time() - start_s)

    monkeypatch.setattr(segment_voronoi, "_constructed", timed)
    whole_s = []
    for _ in range(runs):
        outline_diagram.cache_clear()
        measured.cache_clear()
        start_s = time.thread_time()
        examine(region, CUT, BASSWOOD)
        whole_s.append(time.thread_time() - start_s)
    monkeypatch.undo()
    return Cost(shapely.get_num_coordinates(region.polygons), min(whole_s), min(bare_s))


def test_verdicts_cost_little_more_than_the_bare_diagram(monkeypatch: pytest.MonkeyPatch) -> None:
    """At most 2.5 times the construction at any size; growth by n log n from 12,500 to 300,000 sides."""
    examine(drawings_side_by_side(100), CUT, BASSWOOD)  # compiled, or read from the cache
    costs = [
        cost_of(drawings_side_by_side(sides), monkeypatch, runs=1 if sides > 100_000 else 3)
        for sides in SIZES
    ]

    for cost in costs:
        sys.stdout.write(
            f"\n{cost.sides:8} sides: bare diagram {cost.bare_s:6.2f} s, verdicts {cost.whole_s:6.2f} s, "
            f"{cost.ratio:.2f} times; {cost.per_n_log_n * 1e6:.2f} us / (n ln n)"
        )
    sys.stdout.write("\n")
    assert max(cost.ratio for cost in costs) <= 2.5
    assert costs[-1].per_n_log_n <= 1.25 * costs[0].per_n_log_n
