"""Runs of an axis joined as somebody would draw them."""

import numpy as np
from shapely.geometry import LineString, MultiPolygon, Polygon, box

from workers.geometry.medial_axis import medial_axis
from workers.geometry.pruning import without_corners
from workers.geometry.strokes import strokes
from workers.values.medial_axis import MedialAxis
from workers.values.region import Region


def axis_of(shape: Polygon) -> MedialAxis:
    """Return the axis of a shape without its corners."""
    return without_corners(medial_axis(Region(MultiPolygon([shape]))))


def test_a_cross_is_two_strokes() -> None:
    """Each bar goes straight on through the other."""
    axis = axis_of(box(-20, -1, 20, 1).union(box(-1, -15, 1, 15)))

    found = strokes(axis)

    spans_mm = sorted(float(np.ptp(axis.nodes_mm[run, :2], axis=0).max()) for run in found)
    assert len(found) == 2
    assert 27 < spans_mm[0] < 30
    assert 37 < spans_mm[1] < 40


def test_a_t_is_a_bar_and_a_stem() -> None:
    """The bar goes on; the stem ends at it."""
    axis = axis_of(box(-20, 0, 20, 2).union(box(-1, -15, 1, 1)))

    assert len(strokes(axis)) == 2


def test_three_arms_at_equal_angles_are_three_strokes() -> None:
    """None of them goes straight on."""
    angles = np.radians([90, 210, 330])
    arms = [LineString([(0, 0), (20 * np.cos(a), 20 * np.sin(a))]).buffer(1) for a in angles]

    assert len(strokes(axis_of(arms[0].union(arms[1]).union(arms[2])))) == 3


def test_every_edge_is_in_one_stroke() -> None:
    """Joining loses nothing and repeats nothing."""
    lattice = MultiPolygon([box(-20, y, 20, y + 1) for y in (-6, 0, 6)]).union(
        MultiPolygon([box(x, -20, x + 1, 20) for x in (-6, 0, 6)])
    )
    axis = without_corners(medial_axis(Region(MultiPolygon([lattice]))))

    found = strokes(axis)

    walked = np.sort(np.vstack([np.column_stack([run[:-1], run[1:]]) for run in found]), axis=1)
    assert len(walked) == len(axis.edges)
    assert len(np.unique(walked, axis=0)) == len(np.unique(np.sort(axis.edges, axis=1), axis=0))
    assert len(found) == 6
