"""One diagram of an outline holds the axes of both its sides."""

import numpy as np
import pytest
from shapely.geometry import MultiPolygon, box

from workers.geometry.medial_axis import medial_axis
from workers.geometry.outline_diagram import ink_axis, outline_diagram, paper_axis
from workers.values.region import Region

FRAME = Region(MultiPolygon([box(0, 0, 60, 40) - box(4, 3, 56, 37)]))
BARS = Region(MultiPolygon([box(0, 0, 40, 4), box(0, 6, 40, 10)]))


def test_the_ink_has_the_axis_that_its_own_diagram_gives_it() -> None:
    """The same nodes with the same radii, whatever their order."""
    here, alone = ink_axis(FRAME), medial_axis(FRAME)

    in_order = [axis.nodes_mm[np.lexsort(np.round(axis.nodes_mm, 6).T)] for axis in (here, alone)]
    np.testing.assert_allclose(*in_order, atol=1e-6)
    assert len(here.edges) == len(alone.edges)


def test_between_two_bars_the_paper_is_as_wide_as_their_gap() -> None:
    """Closed form: midway between parallel edges 2 mm apart the radius is 1 mm."""
    nodes_mm = paper_axis(BARS).nodes_mm

    is_between = abs(nodes_mm[:, 1] - 5) < 1e-6
    assert nodes_mm[is_between, 2].min() == pytest.approx(1.0, abs=1e-6)


def test_the_diagram_of_an_equal_area_is_not_built_again() -> None:
    """An area read back from a file is another object, and the same area."""
    again = Region(MultiPolygon(list(BARS.polygons.geoms)))

    assert outline_diagram(again) is outline_diagram(BARS)


@pytest.mark.parametrize(("width_mm", "grid_mm"), [(4.0, 1e-5), (4.0000004, 1e-6)])
def test_an_area_off_the_grid_of_files_is_taken_on_a_finer_one(width_mm: float, grid_mm: float) -> None:
    """A design is exact on the grid of files; another drawing would move by 7 nm there."""
    area = Region(MultiPolygon([box(0, 0, 30, width_mm)]))

    assert outline_diagram(area).voronoi.grid_mm == pytest.approx(grid_mm)
