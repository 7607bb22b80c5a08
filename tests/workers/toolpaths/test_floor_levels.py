"""Lines along walls, and the pieces of middle lines between them."""

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon, box

from tests.support.specimens import disc, region
from workers.geometry.medial_axis import medial_axis
from workers.toolpaths.floor_levels import levels_over, linked_lines, middles_between
from workers.toolpaths.rings import Room
from workers.toolpaths.strands import Strands, length_mm, strands_of
from workers.values.region import Region

STEP_MM, REACH_MM = 0.5, 0.27
STRIP = region(box(0, 0, 30, 3))


def middles_of(area: Region) -> Strands:
    """The axis as lines with the distance to the wall for height."""
    axis = medial_axis(area)
    return strands_of([axis.nodes_mm[edge] for edge in axis.edges])


def run_over(walls: Region, area: Region) -> shapely.Geometry:
    """Everything that is run, the pass along the walls too."""
    levels = levels_over(walls, area, STEP_MM)
    middles = middles_between(middles_of(walls), levels, area, STEP_MM, REACH_MM)
    lines_mm = [line_mm for level in levels for line_mm in level.all_mm()]
    lines_mm += [line_mm[:, :2] for line_mm in middles.lines()]
    return shapely.union_all([walls.polygons.boundary, *map(LineString, lines_mm)])


@pytest.mark.parametrize(
    "shape",
    [
        box(0, 0, 13.1, 7.3),
        Polygon([(0, 0), (30, 0), (30, 5)]),
        Polygon([(0, 0), (20, 2), (0, 4), (5, 2)]),
        disc(0, 0, 6.7, 90).difference(disc(1, 0, 2.2, 60)),
        box(0, 0, 20, 6).union(box(0, 0, 6, 20)),
    ],
    ids=["rectangle", "sharp wedge", "arrow", "eccentric ring", "L"],
)
@pytest.mark.parametrize("mill_mm", [None, 1.9])
def test_no_point_is_far_from_what_is_run(shape: Polygon, mill_mm: float | None) -> None:
    """Random points where no mill has been: none farther from the bit's way than the reach and rounding."""
    walls = region(shape)
    milled = MultiPolygon() if mill_mm is None else shape.buffer(-mill_mm).buffer(mill_mm, quad_segs=32)
    area = region(shape.difference(milled.buffer(-STEP_MM / 2)))

    run = run_over(walls, area)

    x_mm, y_mm = np.random.default_rng(5).uniform(-8, 31, (2, 40_000))
    left = shapely.contains_xy(shape.difference(milled), x_mm, y_mm)
    shapely.prepare(run)
    far_mm = shapely.distance(run, shapely.points(x_mm[left], y_mm[left]))
    assert far_mm.max() <= REACH_MM + 0.02


def test_lines_end_where_the_mill_has_been() -> None:
    """A strip whose middle is milled: one open line on each side of it and level, no ring along its edge."""
    area = region(STRIP.polygons.difference(box(10, 0, 20, 3)))

    levels = levels_over(STRIP, area, STEP_MM)

    assert [len(level.rings) for level in levels] == [0, 0]
    assert [len(level.lines_mm) for level in levels] == [2, 2]
    ends_mm = {float(line_mm[row, 0]) for level in levels for line_mm in level.lines_mm for row in (0, -1)}
    assert ends_mm == {10.0, 20.0}


def test_the_middle_is_run_only_where_levels_leave_it() -> None:
    """A strip 3 mm wide has a level on its middle but for 0.5 mm of it; one of 3.6 mm is run along it."""
    wide = region(box(0, 0, 30, 3.6))
    found_mm = []
    for strip in (region(box(0, 0, 30, 3.5)), wide):
        levels = levels_over(strip, strip, STEP_MM)
        middles = middles_between(middles_of(strip), levels, strip, STEP_MM, REACH_MM)
        along = [line for line in middles.lines() if abs(line[0, 1] - line[-1, 1]) < 1e-6]
        found_mm.append(sum(length_mm(line) for line in along))

    assert found_mm[0] == 0.0
    assert found_mm[1] == pytest.approx(30 - 3.6, abs=0.5)


def test_without_middle_lines_none_are_run() -> None:
    """A stroke that is nowhere wider than the limit cuts has none."""
    assert len(middles_between(strands_of([]), [], STRIP, STEP_MM, REACH_MM)) == 0


def test_nothing_to_cover_has_no_levels() -> None:
    """Empty in, empty out."""
    assert levels_over(STRIP, Region(MultiPolygon()), STEP_MM) == []


def test_lines_are_run_to_and_fro() -> None:
    """Four lines one above the other are one run with three short links, every other line turned."""
    lines_mm = [np.array([[0.0, y], [9.0, y]]) for y in (0.5, 1.5, 1.0, 2.0)]

    [run] = linked_lines(lines_mm, Room(STRIP), 2.0)

    steps_mm = np.linalg.norm(np.diff(run, axis=0), axis=1)
    assert steps_mm.tolist() == [9.0, 0.5, 9.0, 0.5, 9.0, 0.5, 9.0]


def test_links_stay_in_the_room_and_are_short() -> None:
    """Lines on two sides of a wall, or far from each other, are runs of their own."""
    parted = region(box(0, 0, 10, 1.2), box(0, 1.4, 10, 3), box(40, 0, 50, 3))
    lines_mm = [np.array([[x, y], [x + 9.0, y]]) for x, y in ((0.5, 1.0), (0.5, 2.0), (40.5, 2.0))]

    assert len(linked_lines(lines_mm, Room(parted), 5.0)) == 3
