"""How dear the medial axis is, against the bare construction of the diagram in the same run."""

import time

import numpy as np
import pytest
from shapely.geometry import MultiPolygon, Polygon

from workers.geometry import segment_voronoi
from workers.geometry.chains import chains
from workers.geometry.medial_axis import medial_axis
from workers.values.region import Region

pytestmark = pytest.mark.benchmark


def wavy_rings(count: int) -> Region:
    """Return rings of 1250 sides each with a wavy outline, side by side."""
    parts = []
    for number in range(count):
        angle = np.linspace(0, 2 * np.pi, 1001)[:-1]
        waves = sum(0.15 / k * np.sin(k * angle + number + k * k) for k in range(2, 30))
        around = np.column_stack([np.cos(angle), np.sin(angle)]) * (15 * (1 + waves))[:, None]
        place = np.array([60.0 * (number % 8), 60.0 * (number // 8)])
        parts.append(Polygon(around + place, [around[::-4] * 0.3 + place]))
    return Region(MultiPolygon(parts))


def test_the_whole_stage_costs_little_more_than_the_bare_diagram(monkeypatch: pytest.MonkeyPatch) -> None:
    """Cleaning, diagram, reading, radii, pruning and chains take at most 2.2 times the construction alone."""
    region = wavy_rings(8)
    medial_axis(wavy_rings(1))  # compiled, or read from the cache
    chains(medial_axis(wavy_rings(1)))
    bare_s = []
    construct = segment_voronoi._constructed

    def timed(sides: np.ndarray) -> object:
        start_s = time.perf_counter()
        try:
            return construct(sides)
        finally:
            bare_s.append(time.perf_counter() - start_s)

    monkeypatch.setattr(segment_voronoi, "_constructed", timed)
    whole_s = []
    for _ in range(5):
        start_s = time.perf_counter()
        chains(medial_axis(region))
        whole_s.append(time.perf_counter() - start_s)

    ratios = np.array(whole_s) / np.array(bare_s)
    assert float(np.median(ratios)) <= 2.2
