"""Noise of an edge is measured and evened out; what was drawn is not.

Sources: the weights printed by Savitzky and Golay (1964), from memory; the drawings' own closed forms.
"""

from __future__ import annotations

import itertools

import cv2
import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from tests.support.exact_coverage import circle, covered, star
from workers.geometry.flattening import flat_rings
from workers.tracing.curve_fitting import fit_loops
from workers.tracing.edge_points import edge_loops
from workers.tracing.edge_tracer import TracingRecord, trace_with_record
from workers.tracing.stations import noise_px, parabola_weights
from workers.values.image import InkCoverage
from workers.values.outlines import Outlines

SIDE_PX = 260
MM_PER_PX = 0.1
TABLE = [
    (2, [17, 12, -3], 35),
    (3, [7, 6, 3, -2], 21),
    (4, [59, 54, 39, 14, -21], 231),
    (6, [25, 24, 21, 16, 9, 0, -11], 143),
]


def grained(ring: NDArray[np.float64], tones: float) -> NDArray[np.uint8]:
    """A slightly blurred picture of one ring of points with noise of so many tones."""
    soft = cv2.GaussianBlur(covered([ring], SIDE_PX, SIDE_PX).astype(np.float32), (0, 0), 0.8)
    noisy = soft + tones * np.random.default_rng(7).standard_normal(soft.shape)
    return np.clip(np.rint(noisy), 0, 255).astype(np.uint8)


def measured_px(pixels: NDArray[np.uint8]) -> float:
    edge = edge_loops(pixels, 12.0)
    return noise_px(edge.points, edge.starts)


def traced(pixels: NDArray[np.uint8]) -> tuple[Outlines, TracingRecord]:
    return trace_with_record(InkCoverage(pixels=pixels, mm_per_px=MM_PER_PX), 0.02)


@pytest.mark.parametrize(("reach", "half", "divisor"), TABLE)
def test_the_weights_are_those_of_the_printed_table(reach: int, half: list[int], divisor: int) -> None:
    """From the middle outwards, both sides alike."""
    expected = np.array([*half[:0:-1], *half]) / divisor
    assert parabola_weights(reach) == pytest.approx(expected)


@pytest.mark.parametrize("tones", [4.0, 8.0, 12.0])
def test_noise_is_measured_as_strong_as_it_is(tones: float) -> None:
    """By the points' distances from the circle that was drawn, to a quarter of them."""
    ring = circle(130.2, 129.7, 100)
    edge = edge_loops(grained(ring, tones), 12.0)
    misses = np.hypot(*(edge.points - [130.2, 129.7]).T) - 100
    assert noise_px(edge.points, edge.starts) == pytest.approx(misses.std(), rel=0.25)


@pytest.mark.parametrize("radius_px", [5.0, 20.0, 100.0])
def test_a_clean_edge_has_no_noise(radius_px: float) -> None:
    """However round, and none in a star."""
    assert measured_px(covered([circle(130.2, 129.7, radius_px)], SIDE_PX, SIDE_PX)) == 0.0
    assert measured_px(covered([star(130.3, 129.7, 100, 45, 7, 0.2)], SIDE_PX, SIDE_PX)) == 0.0


def test_fine_detail_is_not_taken_for_noise() -> None:
    """A picture of nothing but bends of a few pixels."""
    grain = np.random.default_rng(1).normal(size=(SIDE_PX, SIDE_PX)).astype(np.float32)
    soft = cv2.GaussianBlur(grain, (0, 0), 2.0)
    assert measured_px(np.clip(np.rint(127.5 + 110 * soft / soft.std()), 0, 255).astype(np.uint8)) == 0.0


def test_a_noisy_circle_is_few_smooth_pieces_nearer_to_it_than_its_points() -> None:
    """Less than half as many as curves that follow every point need, joined in one direction (G1)."""
    pixels = grained(circle(130.2, 129.7, 100), 12.0)
    outlines, record = traced(pixels)
    edge = edge_loops(pixels, 12.0)
    no_corners = (np.empty(0, np.int32), np.empty((0, 2)))
    followed = fit_loops(edge.points, edge.starts, *no_corners, 2, 0.2)
    (ring,) = flat_rings(outlines.loops, 0.001)
    curve = shapely.get_coordinates(shapely.segmentize(shapely.LinearRing(ring), 0.05))
    off_px = np.abs(np.hypot(*(curve / MM_PER_PX - [130.2, SIDE_PX - 129.7]).T) - 100)
    points_off_px = np.abs(np.hypot(*(edge.points - [130.2, 129.7]).T) - 100)
    assert record.noise_px > 0
    assert record.corners_count == 0
    assert record.pieces_count < len(followed.controls) / 2
    assert np.sqrt((off_px**2).mean()) < np.sqrt((points_off_px**2).mean())
    for before, after in itertools.pairwise([*outlines.loops[0], outlines.loops[0][0]]):
        a, b = before[3] - before[2], after[1] - after[0]
        assert abs(a[0] * b[1] - a[1] * b[0]) <= 1e-6 * np.hypot(*a) * np.hypot(*b)


def test_the_tolerance_told_allows_for_noise() -> None:
    """0.2 px and twice the noise, in quadrature; without noise it is what was asked."""
    _, record = traced(grained(circle(130.2, 129.7, 100), 8.0))
    assert record.tolerance_mm == pytest.approx(MM_PER_PX * np.hypot(0.2, 2 * record.noise_px), abs=2e-4)
    _, clean = traced(covered([circle(130.2, 129.7, 100)], SIDE_PX, SIDE_PX))
    assert (clean.noise_px, clean.tolerance_mm) == (0.0, 0.02)
