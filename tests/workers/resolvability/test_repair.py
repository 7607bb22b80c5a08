"""Repair thickens what must be thicker, and keeps what the drawing is."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box

from tests.support.specimens import BASSWOOD, incise
from workers.geometry.polygon_repair import GRID_MM, region_of
from workers.resolvability.repair import Repaired, repair
from workers.values.examination import Verdict

WOOD = replace(BASSWOOD, shows_depth_mm=0.4, thinnest_wall_mm=0.6)
CUT = incise(90, 3, 0.2)  # a stroke shows from 1 mm on
TAPER = Polygon([(0, -0.1), (40, -1), (40, 1), (0, 0.1)])  # 0.2 to 2 mm


def repaired(shape: shapely.Geometry) -> Repaired:
    """Return the repair of a shape."""
    return repair(region_of(shape), CUT, WOOD)


def counts(result: Repaired) -> tuple[int, int]:
    """Return how many parts and holes a repaired region has."""
    parts = result.region.polygons.geoms
    return len(parts), sum(len(part.interiors) for part in parts)


def width_at_mm(result: Repaired, x_mm: float) -> float:
    """Return how much ink an upright line at x meets."""
    return float(result.region.polygons.intersection(LineString([(x_mm, -50), (x_mm, 50)])).length)


def test_a_taper_becomes_as_wide_as_shows_and_no_wider() -> None:
    """Closed form (geometry of a wedge, 0.2 to 2 mm): 1 mm wide up to where it was, the rest untouched."""
    result = repaired(TAPER)

    for x_mm in (1, 5, 10, 15):
        assert width_at_mm(result, x_mm) == pytest.approx(1.0, abs=0.03)
    for x_mm in (20, 30, 39):
        assert width_at_mm(result, x_mm) == pytest.approx(0.2 + 1.8 * x_mm / 40, abs=2 * GRID_MM)
    assert {run.verdict for run in result.examination.strokes} == {Verdict.SHOWS}
    assert result.moved_mm == pytest.approx((1.0 - 0.2) / 2, abs=0.02)  # at the thin end


def test_what_shows_is_left_alone() -> None:
    """A drawing without a thin stroke comes back as it was, corners included."""
    drawing = region_of(MultiPolygon([box(0, 0, 30, 2), box(0, 5, 6, 11)]))

    result = repair(drawing, CUT, WOOD)

    assert result.region is drawing
    assert result.moved_mm == 0
    assert result.notes == ()


def test_corners_are_no_thin_strokes() -> None:
    """A star's sharp corners stay sharp."""
    star = Polygon([(0, 0), (10, 3), (20, 0), (17, 10), (20, 20), (10, 17), (0, 20), (3, 10)])

    assert repaired(star).region.polygons.equals(MultiPolygon([star]))


def test_nothing_is_taken_away() -> None:
    """All the ink there was is still there, but for rounding to the grid of files."""
    drawing = region_of(shapely.union(TAPER, Point(20, 6).buffer(3) - Point(20, 6).buffer(2.6)))

    result = repair(drawing, CUT, WOOD)

    assert shapely.difference(drawing.polygons.buffer(-GRID_MM), result.region.polygons).is_empty


def test_two_strokes_side_by_side_stay_apart() -> None:
    """The wall between them keeps the least width that stands; they grow outwards instead."""
    pair = MultiPolygon([box(0, 0, 30, 0.4), box(0, 1.1, 30, 1.5)])  # a gap of 0.7 mm

    result = repaired(pair)

    first, second = result.region.polygons.geoms
    assert shapely.distance(first, second) > 0.59
    assert {run.verdict for run in result.examination.strokes} == {Verdict.SHOWS}
    assert {run.verdict for run in result.examination.walls} == {Verdict.STANDS}


def test_a_gap_too_narrow_already_gets_no_narrower() -> None:
    """Where there is no wall to spare, none is taken."""
    pair = MultiPolygon([box(0, 0, 30, 0.4), box(0, 0.7, 30, 1.1)])  # a gap of 0.3 mm

    result = repaired(pair)

    first, second = result.region.polygons.geoms
    assert shapely.distance(first, second) == pytest.approx(0.3, abs=0.003)


def test_a_small_hole_stays_open() -> None:
    """A thin ring thickens, but not until its hole is gone."""
    ring = Point(0, 0).buffer(0.5, quad_segs=32) - Point(0, 0).buffer(0.3, quad_segs=32)

    result = repaired(ring)

    assert counts(result) == (1, 1)
    (hole,) = result.region.polygons.geoms[0].interiors
    assert 2 * shapely.minimum_bounding_radius(hole) == pytest.approx(0.6, abs=0.02)


def test_a_bay_is_not_closed() -> None:
    """A hook whose ends nearly meet stays a hook, though both ends are thickened."""
    hook = Point(0, 0).buffer(3, quad_segs=32) - Point(0, 0).buffer(2.7, quad_segs=32)
    hook = hook - box(0, -0.2, 5, 0.2)  # a mouth of 0.4 mm, narrower than a wall that stands

    result = repaired(hook)

    assert counts(result) == (1, 0)
    assert result.examination.strokes


def test_a_stroke_without_room_is_reported() -> None:
    """Five hairlines in a row: those in the middle cannot be thickened, and the finding says so."""
    comb = MultiPolygon([box(0, 0.7 * row, 30, 0.7 * row + 0.2) for row in range(5)])

    result = repaired(comb)

    (note,) = [note for note in result.notes if note.code == "strokes-still-thin"]
    assert note.at_mm is not None
    assert counts(result) == (5, 0)


@pytest.mark.parametrize("others", [[], [box(0, 10, 30, 12)]])
def test_repaired_strokes_are_marked_where_they_changed(others: list[Polygon]) -> None:
    """Of a taper only the thin part is marked; a stroke elsewhere is not."""
    result = repaired(MultiPolygon([TAPER, *others]))

    marked = [run for run in result.examination.strokes if run.repaired]
    assert sum(run.length_mm for run in marked) == pytest.approx(40 * (1 - 0.2) / 1.8, abs=1.5)
    assert all(run.at_mm[1] < 5 for run in marked)
    assert not any(run.repaired for run in result.examination_before.strokes)


def test_a_depth_limit_that_hides_all_is_said_first() -> None:
    """Thickening does not help where the groove may not be deep enough."""
    result = repair(region_of(box(0, 0, 30, 3)), replace(CUT, depth_limit_mm=0.2), WOOD)

    assert [note.code for note in result.notes] == ["depth-limit-hides"]


def test_the_same_drawing_is_repaired_to_the_same_bytes() -> None:
    """Nothing in it depends on chance."""
    first, second = (repaired(TAPER).region.polygons.wkb for _ in range(2))

    assert first == second


def test_a_repaired_region_lies_on_the_grid_of_design_files() -> None:
    """So a design written and read back is the region that was examined, and its diagram is at hand."""
    points_mm = shapely.get_coordinates(repaired(TAPER).region.polygons)

    assert (points_mm == np.round(points_mm, 5)).all()
