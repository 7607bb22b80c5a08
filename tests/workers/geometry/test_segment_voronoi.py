"""The diagram read from its cells is the one the library describes edge by edge."""

import numpy as np
import pytest
import pyvoronoi
from shapely.geometry import MultiPolygon, Point, Polygon, box

from workers.errors import LimitExceededError
from workers.geometry.segment_voronoi import SEGMENT, _on_corners, segment_voronoi
from workers.values.region import Region

DRAWINGS = {
    "a hole": MultiPolygon([box(0, 0, 9, 5) - Point(3, 2).buffer(1, quad_segs=5)]),
    "one corner where parts touch": MultiPolygon([box(0, 0, 2, 2), box(2, 2, 4, 4), box(7, 0, 9, 2)]),
    "many": MultiPolygon([box(x, y, x + 1, y + 1) for x in range(5) for y in range(5) if (x + y) % 2]),
}


@pytest.mark.parametrize("name", DRAWINGS)
def test_half_edges_agree_with_the_library_s_own_list(name: str) -> None:
    """Start, end and cell of every half edge are those the library's edges name."""
    voronoi = segment_voronoi(Region(DRAWINGS[name]))
    centre_mm = np.round(np.reshape(DRAWINGS[name].bounds, (2, 2)).mean(axis=0))
    diagram = pyvoronoi.Pyvoronoi(1)
    for side in np.rint((voronoi.sides_mm.reshape(-1, 2, 2) - centre_mm) / voronoi.grid_mm).tolist():
        diagram.AddSegment(side)
    diagram.Construct()

    edges = diagram.GetEdges()

    assert voronoi.starts.tolist() == [edge.start for edge in edges]
    assert voronoi.starts[np.arange(len(edges)) ^ 1].tolist() == [edge.end for edge in edges]
    assert voronoi.cells.tolist() == [edge.cell for edge in edges]


def test_a_square_has_a_cell_for_each_side_and_corner() -> None:
    """Four sides, four corners; the sides run round with the area to their left."""
    voronoi = segment_voronoi(Region(MultiPolygon([box(0, 0, 2, 2)])))

    assert np.count_nonzero(voronoi.cell_parts == SEGMENT) == 4
    assert len(voronoi.cell_parts) == 8
    along_mm = voronoi.sides_mm[:, 2:] - voronoi.sides_mm[:, :2]
    inward_mm = 1 - voronoi.sides_mm[:, :2]
    assert (along_mm[:, 0] * inward_mm[:, 1] - along_mm[:, 1] * inward_mm[:, 0] > 0).all()
    assert voronoi.turns.tolist() == [1, 1, 1, 1]


def test_a_tip_on_a_side_becomes_a_corner_of_it() -> None:
    """Sides may meet only at their ends: the long side is cut where another part's tip touches it."""
    tip = Polygon([(5, 2), (8, 1), (8, 3)])

    voronoi = segment_voronoi(Region(MultiPolygon([box(0, 0, 5, 5), tip])))

    touching = (voronoi.sides_mm[:, :2] == (5, 2)).all(axis=1)
    assert np.count_nonzero(touching) == 2
    assert voronoi.shared[touching].all()


def test_a_vertex_beyond_all_integers_is_on_no_corner() -> None:
    """Bisectors of corners that are all but in line meet beyond the planets: no warning, no match."""
    vertices = np.array([[1e30, -1e30], [5e18, 0], [2 + 1e-7, 3], [2.5, 3]])

    assert _on_corners(vertices, np.array([[2.0, 3.0]])).tolist() == [False, False, True, False]


def test_a_drawing_kilometres_across_is_refused() -> None:
    """Coordinates must fit the integers at a micrometre."""
    with pytest.raises(LimitExceededError, match="too large"):
        segment_voronoi(Region(MultiPolygon([box(0, 0, 5e6, 1)])))


@pytest.mark.parametrize(("size_mm", "grid_mm"), [(4000, 1e-6), (40_000, 1e-5)])
def test_the_grid_is_as_fine_as_the_integers_allow(size_mm: float, grid_mm: float) -> None:
    """A board of four metres is held to a nanometre."""
    assert segment_voronoi(Region(MultiPolygon([box(0, 0, size_mm, 1)]))).grid_mm == grid_mm
