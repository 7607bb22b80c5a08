"""The medial axis of shapes with curved sides, cut into chords of several tolerances: no noise, no loss.

Source: elementary geometry, worked out in the trade's facts 3.3 (circle, annulus, slot, half disc, ellipse;
sizes of V-22, V-25, V-29, V-32, V-36). The chords are uneven, so nothing cancels by symmetry, and a chord of
sagitta e moves an outline by e: so may the axis and its radius, and the axis may have no branch for a joint.
"""

import math
from collections.abc import Callable

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

from tests.support.closed_forms import polygon_about
from workers.geometry.medial_axis import medial_axis
from workers.values.medial_axis import MedialAxis
from workers.values.region import Region

Points = NDArray[np.float64]  # (n, 2)
SAGITTAE_MM = (0.01, 0.005, 0.002, 0.0005)


@pytest.fixture(params=SAGITTAE_MM)
def sagitta_mm(request: pytest.FixtureRequest) -> float:
    """Return how far the chords may lie from their curve."""
    return float(request.param)


def chords(curve: Callable[[NDArray[np.float64]], Points], sagitta_mm: float, is_closed: bool) -> Points:
    """Return uneven points on a curve over 0 to 1, its chords hardly nearer to it than they may be."""
    count = 8
    while True:
        share = np.linspace(0, 1, count + 1)
        shifts = np.random.default_rng(count).uniform(-0.3, 0.3, count + 1) / count
        share[1:-1] += shifts[1:-1]
        steps = share[:-1, None] + np.diff(share)[:, None] * np.linspace(0, 1, 9)
        on_curve = curve(steps.ravel()).reshape(count, 9, 2)
        lines = shapely.linestrings(on_curve[:, [0, -1]])
        if shapely.distance(lines[:, None], shapely.points(on_curve)).max() <= sagitta_mm:
            return curve(share[:-1] if is_closed else share)
        count += max(1, count // 16)


def ring(radius_x_mm: float, radius_y_mm: float, sagitta_mm: float) -> Points:
    """Return an ellipse in chords."""

    def curve(share: NDArray[np.float64]) -> Points:
        angle = 2 * math.pi * (share + 0.0371)
        return np.column_stack([radius_x_mm * np.cos(angle), radius_y_mm * np.sin(angle)])

    return chords(curve, sagitta_mm, is_closed=True)


def arc(radius_mm: float, start_deg: float, end_deg: float, sagitta_mm: float) -> Points:
    """Return an arc about the origin in chords, both ends included."""

    def curve(share: NDArray[np.float64]) -> Points:
        angle = np.radians(start_deg + (end_deg - start_deg) * share)
        return radius_mm * np.column_stack([np.cos(angle), np.sin(angle)])

    return chords(curve, sagitta_mm, is_closed=False)


def axis_of(shape: Polygon) -> MedialAxis:
    """Return the axis of one polygon as verdicts use it: a branch goes that holds no more than 0.02 mm."""
    return medial_axis(Region(MultiPolygon([shape])), 0.02)


def ends_and_forks(axis: MedialAxis) -> tuple[int, int]:
    """Return how many ends an axis has, and at how many nodes it forks."""
    degree = np.bincount(axis.edges.ravel(), minlength=len(axis.nodes_mm))
    return int(np.count_nonzero(degree == 1)), int(np.count_nonzero(degree > 2))


def tips_mm(axis: MedialAxis) -> Points:
    """Return the ends of an axis."""
    return axis.nodes_mm[np.bincount(axis.edges.ravel()) == 1, :2]


def test_a_circle_has_a_centre(sagitta_mm: float) -> None:
    """V-22: all the axis of a circle is its centre."""
    axis = axis_of(Polygon(ring(10, 10, sagitta_mm)))

    assert len(axis.edges) == 0
    assert len(axis.lone_nodes) == 1
    assert axis.nodes_mm == pytest.approx(np.array([[0, 0, 10]]), abs=sagitta_mm)


def test_an_annulus_has_a_circle(sagitta_mm: float) -> None:
    """V-25: a circle midway of half the width, closed, without a branch."""
    axis = axis_of(Polygon(ring(30, 30, sagitta_mm), [ring(20, 20, sagitta_mm)]))

    assert ends_and_forks(axis) == (0, 0)
    assert np.abs(np.hypot(*axis.nodes_mm[:, :2].T) - 25).max() < sagitta_mm
    assert np.abs(axis.nodes_mm[:, 2] - 5).max() < sagitta_mm


def test_a_slot_has_a_segment(sagitta_mm: float) -> None:
    """V-29: a segment of length L - w, all of it half the width from the sides."""
    right = np.add(arc(3, -90, 90, sagitta_mm), (37, 0))
    left = np.subtract(arc(3, 90, 270, sagitta_mm), (37, 0))

    axis = axis_of(Polygon(np.concatenate([right, left])))

    assert ends_and_forks(axis) == (2, 0)
    assert np.abs(axis.nodes_mm[:, 1]).max() < sagitta_mm
    assert np.abs(axis.nodes_mm[:, 2] - 3).max() < sagitta_mm
    assert np.abs(tips_mm(axis)[:, 0]) == pytest.approx([37, 37], abs=0.1)  # where a disc hardly differs


def test_a_half_disc_has_a_parabola(sagitta_mm: float) -> None:
    """V-32: from corner to corner, the circle's centre its focus; as far from the arc as from the side."""
    axis = axis_of(Polygon(arc(20, 0, 180, sagitta_mm)))
    x, y, radius = axis.nodes_mm.T

    assert ends_and_forks(axis) == (2, 0)
    assert np.abs(tips_mm(axis)) == pytest.approx(np.array([[20, 0], [20, 0]]), abs=1e-6)
    assert radius == pytest.approx(y, abs=1e-6)
    assert np.abs(20 - np.hypot(x, y) - radius).max() < sagitta_mm
    assert radius.max() == pytest.approx(10, abs=sagitta_mm)


def test_an_ellipse_has_a_segment_between_its_centres_of_curvature(sagitta_mm: float) -> None:
    """V-36: |x| <= a - b^2 / a with r(x) = b sqrt(1 - x^2 / (a^2 - b^2)).

    Where it ends is ill-conditioned: 2 mm off, at (a^2 - b^2) / a = 25.2, a disc lacks 0.02 mm of the tip.
    """
    a, b = 30.0, 12.0
    axis = axis_of(Polygon(ring(a, b, sagitta_mm)))
    x, y, radius = axis.nodes_mm.T

    assert ends_and_forks(axis) == (2, 0)
    assert np.abs(y).max() < 2 * sagitta_mm
    assert np.abs(radius - b * np.sqrt(1 - x**2 / (a * a - b * b))).max() < sagitta_mm
    assert np.abs(tips_mm(axis)[:, 0]) == pytest.approx([25.2, 25.2], abs=2.0)


def test_a_lens_keeps_both_of_its_tips(sagitta_mm: float) -> None:
    """Two arcs that meet in corners of 60 degrees: the axis is the chord, and it ends in the corners."""
    upper = arc(20, 60, 120, sagitta_mm) - (0, 20 * math.sin(math.radians(60)))

    axis = axis_of(Polygon(np.concatenate([upper[:-1], -upper[:-1]])))

    assert ends_and_forks(axis) == (2, 0)
    assert np.abs(tips_mm(axis)) == pytest.approx(np.array([[10, 0], [10, 0]]), abs=1e-6)
    assert np.abs(axis.nodes_mm[:, 1]).max() < sagitta_mm


def test_an_offset_curve_has_the_line_it_was_drawn_along(sagitta_mm: float) -> None:
    """A brush 3 mm wide along a wave: its axis is the wave, without a branch though both sides are chords."""

    def wave(share: NDArray[np.float64]) -> Points:
        return np.column_stack([80 * share, 5 * np.sin(2 * math.pi * share)])

    def side(offset_mm: float) -> Callable[[NDArray[np.float64]], Points]:
        def curve(share: NDArray[np.float64]) -> Points:
            slope = 10 * math.pi / 80 * np.cos(2 * math.pi * share)
            normal = np.column_stack([-slope, np.ones_like(share)]) / np.hypot(1, slope)[:, None]
            return wave(share) + offset_mm * normal

        return curve

    lower, upper = (chords(side(offset_mm), sagitta_mm, is_closed=False) for offset_mm in (-1.5, 1.5))
    axis = axis_of(Polygon(np.concatenate([lower, upper[::-1]])))
    wide = axis.nodes_mm[np.abs(axis.nodes_mm[:, 0] - 40) < 37]  # away from the square ends
    line = shapely.LineString(wave(np.linspace(0, 1, 4001)))

    assert ends_and_forks(axis) == (4, 2)  # the corners of its square ends
    assert shapely.distance(line, shapely.points(wide[:, :2])).max() < 1.5 * sagitta_mm
    assert np.abs(wide[:, 2] - 1.5).max() < sagitta_mm


@pytest.mark.parametrize("seed", range(8))
def test_a_smooth_blob_has_the_same_branches_however_it_is_cut(seed: int) -> None:
    """Its bulges have branches; coarse chords and fine ones show the same, a fiftieth apart in length."""
    random = np.random.default_rng(seed)
    sizes, phases = random.uniform(0.02, 0.12, 6), random.uniform(0, 2 * math.pi, 6)

    def blob(share: NDArray[np.float64]) -> Points:
        angle = 2 * math.pi * share[:, None]
        radius = 15 * (1 + (sizes * np.cos(np.arange(2, 8) * angle + phases)).sum(axis=1))
        return radius[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])

    axes = [axis_of(Polygon(chords(blob, sagitta_mm, is_closed=True))) for sagitta_mm in SAGITTAE_MM]

    steps = [np.diff(axis.nodes_mm[axis.edges, :2], axis=1)[:, 0] for axis in axes]
    lengths_mm = [float(np.hypot(*step.T).sum()) for step in steps]
    assert ends_and_forks(axes[0])[0] >= 3
    assert len({ends_and_forks(axis) for axis in axes}) == 1
    assert max(lengths_mm) / min(lengths_mm) < 1.02


@pytest.mark.parametrize(("corners", "apothem_mm"), [(12, 5), (24, 20), (40, 60)])
def test_blunt_corners_keep_their_branches(corners: int, apothem_mm: float) -> None:
    """3.3: a spur to each corner, 171 degrees blunt though it be; only size tells a chord from a side."""
    axis = axis_of(polygon_about(apothem_mm, corners))

    assert ends_and_forks(axis)[0] == corners
    assert np.hypot(*tips_mm(axis).T) == pytest.approx(
        np.full(corners, apothem_mm / math.cos(math.pi / corners)), abs=1e-5
    )
