"""Branches are peeled by what would be lost."""

import math

import numpy as np
import pytest
from shapely.geometry import MultiPolygon, Point, Polygon, box

from workers.geometry.medial_axis import medial_axis
from workers.geometry.pruning import peel, without_corners
from workers.values.region import Region


def test_a_tip_is_peeled_when_the_disc_below_covers_it() -> None:
    """A leaf of radius 1 at distance 0.5 from a node of radius 1.49 sticks out by 0.01."""
    edges = np.array([[0, 1], [1, 2]], np.int32)
    lengths, radii = np.array([0.5, 5.0]), np.array([1.0, 1.49, 1.49])

    for tolerance_mm, stays in ((0.011, False), (0.009, True)):
        kept, _ = peel(edges, lengths, radii, tolerance_mm, math.inf)
        assert kept.tolist() == [stays, True]


def test_losses_add_up_along_a_branch() -> None:
    """A branch of many short pieces is judged by its tip, not piece by piece."""
    count = 50
    edges = np.column_stack([np.arange(count), np.arange(1, count + 1)]).astype(np.int32)
    lengths, radii = np.full(count, 0.1), np.full(count + 1, 1.0)

    kept, _ = peel(edges, lengths, radii, 0.35, math.inf)

    assert kept.sum() == count - 2 * 3  # three pieces of 0.1 from either end


def test_the_last_node_of_a_tree_is_named() -> None:
    """When all goes, the last node stands for it."""
    edges = np.array([[0, 1], [2, 1], [3, 1]], np.int32)

    kept, is_last = peel(edges, np.full(3, 0.01), np.array([1.0, 1.0, 1.0, 1.0]), 0.02, math.inf)

    assert not kept.any()
    assert np.flatnonzero(is_last).tolist() == [1]


def test_a_loop_is_never_opened() -> None:
    """A ring has no leaf, whatever the tolerance."""
    edges = np.array([[0, 1], [1, 2], [2, 0]], np.int32)

    kept, _ = peel(edges, np.full(3, 0.01), np.ones(3), 100.0, math.inf)

    assert kept.all()


@pytest.mark.parametrize("sides", [64, 256])
def test_the_spurs_of_a_circle_s_chords_go(sides: int) -> None:
    """A polygon stands for a circle within its sagitta; a tolerance of 1.3 of that leaves one node."""
    sagitta_mm = 10 * (1 - math.cos(math.pi / sides))
    polygon = Point(0, 0).buffer(10, quad_segs=sides // 4)

    axis = medial_axis(Region(MultiPolygon([polygon])), tolerance_mm=1.3 * sagitta_mm)

    assert len(axis.edges) == 0
    assert len(axis.lone_nodes) == 1


def test_the_spine_of_a_stroke_is_left_without_its_corners() -> None:
    """A rectangle's four spurs go; its spine of length a - b stays."""
    axis = without_corners(medial_axis(Region(MultiPolygon([box(0, 0, 60, 20)]))))

    assert len(axis.edges) == 1
    assert np.ptp(axis.nodes_mm[:, 0]) == pytest.approx(40)


def test_a_slender_point_is_no_corner() -> None:
    """A taper of less than 35 degrees is a stroke that gets thin."""
    wedge = Polygon([(0, 0), (30, -3), (30, 3)])

    axis = without_corners(medial_axis(Region(MultiPolygon([wedge]))))

    assert axis.nodes_mm[:, 2].min() < 0.02


def test_a_square_is_left_as_its_centre() -> None:
    """All corners, no spine."""
    axis = without_corners(medial_axis(Region(MultiPolygon([box(0, 0, 4, 4)]))))

    assert axis.nodes_mm[axis.lone_nodes] == pytest.approx(np.array([[2, 2, 2]]))
