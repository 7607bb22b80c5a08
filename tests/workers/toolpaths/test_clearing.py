"""Floors with an end mill: inside the floor, everywhere it fits, climbing, ramped."""

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from shapely.geometry import LinearRing, LineString, box

from tests.support.small_carving import SmallBlock
from tests.support.specimens import PACE, clearing, disc, mill, region
from workers.toolpaths.clearance import Clearance, clearance_by, cleared_by
from workers.toolpaths.clearing import clearing_paths
from workers.values.cuts import ClearCut
from workers.values.cutting_plan import CutPath
from workers.values.region import Region

INK = region(box(0, 0, 60, 30).difference(box(25, 10, 35, 20)))
SHAPES = region(
    disc(20, 20, 18).difference(disc(24, 22, 5)), box(50, 0, 90, 34).difference(box(60, 9, 66, 40))
)
FOOT_MM = 2.0  # slope x depth


def clearances_of(ink: Region, foot_mm: float, cut: ClearCut) -> list[Clearance]:
    """What each mill has to do after those before it."""
    found: list[Clearance] = []
    for each in cut.mills:
        found.append(clearance_by(each, ink, foot_mm, found.copy()))
    return found


def clearance_of(ink: Region) -> Clearance:
    """Where a mill of 1/8 in goes."""
    [clearance] = clearances_of(ink, FOOT_MM, clearing())
    return clearance


def paths(
    ink: Region = INK, pass_mm: float = 5.0, climb: bool = True, grain_deg: float | None = None
) -> list[CutPath]:
    """The mill's ways over a floor 2 mm deep."""
    return clearing_paths(clearance_of(ink), 2.0, pass_mm, 1.4, PACE, climb, grain_deg)


def swept(found: list[CutPath], radius_mm: float = 1.5875) -> shapely.Geometry:
    """What the mill's disc covers in plan, at the floor's depth."""
    level = [path.points_mm[path.points_mm[:, 2] == -2.0][:, :2] for path in found]
    return shapely.union_all([LineString(line).buffer(radius_mm, quad_segs=64) for line in level])


@pytest.mark.parametrize("grain_deg", [None, 0.0, 30.0, 90.0])
@pytest.mark.parametrize("ink", [INK, SHAPES], ids=["frame", "shapes"])
def test_the_mill_stays_on_the_floor_and_cuts_all_it_can_reach(ink: Region, grain_deg: float | None) -> None:
    """Swept area: the floor opened by the mill's disc, by a general geometry library; islands are spared."""
    floor = ink.polygons.buffer(-FOOT_MM, quad_segs=64)
    reachable = floor.buffer(-1.5875, quad_segs=64).buffer(1.5875, quad_segs=64)
    cut = swept(paths(ink, grain_deg=grain_deg))

    assert cut.difference(floor.buffer(0.012)).area == pytest.approx(0, abs=1e-6)
    assert reachable.difference(cut.buffer(0.012)).area == pytest.approx(0, abs=1e-6)


def test_walls_are_on_the_right_of_the_way() -> None:
    """Climb: anticlockwise along the rim, clockwise round the island (trade.md P-08)."""
    pieces_mm = np.concatenate(
        [np.stack([path.points_mm[:-1], path.points_mm[1:]], axis=1) for path in paths()]
    )
    along_x_mm = pieces_mm[:, 1, 0] - pieces_mm[:, 0, 0]

    def at_y(y_mm: float) -> NDArray[np.float64]:
        return along_x_mm[np.isclose(pieces_mm[:, :, 1], y_mm, atol=0.01).all(axis=1)]

    assert (at_y(3.5875) > 0).all()
    assert at_y(3.5875).sum() > 50
    assert (at_y(20 + 3.5875) > 0).any()
    assert (at_y(10 - 3.5875) < 0).any()


def test_conventional_runs_the_other_way_round() -> None:
    """The same places, each way reversed: the wall on the left."""
    rims = [LinearRing(found[-1].points_mm[-6:, :2]) for found in
            (paths(region(box(0, 0, 20, 20)), climb=climb) for climb in (True, False))]  # fmt: skip

    assert [rim.is_ccw for rim in rims] == [True, False]
    assert rims[0].normalize().equals_exact(rims[1].normalize(), 1e-3)


def test_lines_run_along_the_grain() -> None:
    """But for links, ramps and the round along the wall, every way is at 30 degrees to the x axis."""
    steps_mm = np.concatenate([np.diff(path.points_mm, axis=0) for path in paths(grain_deg=30.0)])
    lengths_mm = np.linalg.norm(steps_mm, axis=1)
    headings_deg = np.degrees(np.arctan2(steps_mm[:, 1], steps_mm[:, 0])) % 180
    along_mm = lengths_mm[np.abs(headings_deg - 30) < 0.1].sum()
    rounds_mm = 2 * (60 + 30 - 8 * FOOT_MM)

    assert along_mm > 0.7 * (lengths_mm.sum() - rounds_mm)


@pytest.mark.parametrize("grain_deg", [None, 0.0])
def test_it_ramps_in_and_takes_depth_in_passes(grain_deg: float | None) -> None:
    """Never steeper than 3 degrees; no pass deeper than asked."""
    found = paths(pass_mm=0.7, grain_deg=grain_deg)

    assert sorted({round(path.points_mm[:, 2].min(), 3) for path in found}) == [-2.0, -1.333, -0.667]
    for path in found:
        steps_mm = np.diff(path.points_mm, axis=0)
        slopes = -steps_mm[:, 2] / np.maximum(np.hypot(steps_mm[:, 0], steps_mm[:, 1]), 1e-9)
        assert np.degrees(np.arctan(slopes.max())) < 3.1
        assert path.points_mm[0, 2] - path.points_mm[:, 2].min() < 0.7


def test_a_floor_too_narrow_for_the_mill_is_left() -> None:
    """Ink 7 mm wide has a floor of 3 mm; the mill is 3.175."""
    clearance = clearance_of(region(box(0, 0, 50, 7)))

    assert clearance.centres.polygons.is_empty
    assert clearance.cleared(0.1).polygons.is_empty
    assert clearing_paths(clearance, 2.0, 5.0, 1.4, PACE) == []


def test_rings_close() -> None:
    """The last ring of a pocket is a whole round along its wall."""
    [path] = paths(region(box(0, 0, 20, 20)))
    ring = LinearRing(path.points_mm[-6:, :2])

    assert path.points_mm[-1].tolist() == path.points_mm[-6].tolist()
    assert ring.length == pytest.approx(4 * (20 - 2 * 3.5875), abs=0.01)


def test_a_finer_mill_takes_only_what_the_coarser_one_left() -> None:
    """Together they cut all that the finer one can reach; alone it would run more than twice as far.

    V-08: in each right corner of the floor a mill of radius e leaves (1 - pi / 4) e^2.
    """
    ink = region(box(0, 0, 60, 40))
    coarse, fine = clearances_of(ink, FOOT_MM, clearing(mill(6.35), mill(1.5)))
    [alone] = clearances_of(ink, FOOT_MM, clearing(mill(1.5)))
    floor = box(2, 2, 58, 38)
    left_mm2 = floor.area - cleared_by([coarse, fine], 0.0).polygons.area

    def way_mm(clearance: Clearance, stepover_mm: float) -> float:
        found = clearing_paths(clearance, 2.0, 5.0, stepover_mm, PACE)
        return sum(float(np.linalg.norm(np.diff(path.points_mm, axis=0), axis=1).sum()) for path in found)

    assert floor.area - coarse.cleared(0.0).polygons.area == pytest.approx(4 * 2.163321, rel=0.01)
    assert left_mm2 == pytest.approx(4 * (1 - np.pi / 4) * 0.75**2, rel=0.02)
    assert way_mm(coarse, 2.8) + way_mm(fine, 0.65) < 0.5 * way_mm(alone, 0.65)


def test_a_finer_mill_cuts_all_that_is_left_within_its_reach() -> None:
    """Swept as its paths run: a narrow bay and corners are clean, and the island stands."""
    ink = region(SHAPES.polygons.union(box(88, 14, 110, 22)))
    clearances = clearances_of(ink, FOOT_MM, clearing(mill(6.35), mill(2.0)))
    floor = ink.polygons.buffer(-FOOT_MM, quad_segs=64)
    reachable = floor.buffer(-1.0, quad_segs=64).buffer(1.0, quad_segs=64)
    cut = shapely.union_all(
        [
            swept(clearing_paths(clearance, 2.0, 5.0, step_mm, PACE), clearance.radius_mm)
            for clearance, step_mm in zip(clearances, (2.8, 0.9), strict=True)
        ]
    )

    assert cut.difference(floor.buffer(0.012)).area == pytest.approx(0, abs=1e-6)
    assert reachable.difference(cut).buffer(-0.06).area == pytest.approx(0, abs=1e-6)


def test_a_finer_mill_with_nothing_left_has_no_paths() -> None:
    """A round floor is finished by the coarse one."""
    _, fine = clearances_of(region(disc(30, 30, 20)), FOOT_MM, clearing(mill(6.35), mill(3.175)))

    assert clearing_paths(fine, 2.0, 5.0, 1.4, PACE) == []


def test_a_finer_mill_goes_down_over_cleared_floor() -> None:
    """Swept path by path: where it comes down below the face all of its disc is in air, and it never ramps.

    In this floor, with a bay that the coarse mill cannot enter, every rest touches cleared floor.
    """
    ink = region(SHAPES.polygons.union(box(88, 14, 110, 22)))
    coarse, fine = clearances_of(ink, FOOT_MM, clearing(mill(6.35), mill(2.0)))
    block = SmallBlock(-5, -5, 115, 45, 0.1)
    block.cut(clearing_paths(coarse, 2.0, 1.2, 2.8, PACE), mill(6.35))
    found = clearing_paths(fine, 2.0, 1.2, 0.9, PACE)
    x_mm, y_mm = np.meshgrid(block.x_mm, block.y_mm)
    for path in found:
        start_x, start_y, height_mm = path.points_mm[0]
        under = np.hypot(x_mm - start_x, y_mm - start_y) < 1.0
        assert block.depth_mm[under].min() >= -height_mm - 1e-9
        assert set(path.points_mm[:, 2]) == {height_mm}
        block.cut([path], mill(2.0))

    assert {path.points_mm[0, 2] for path in found} == {-1.0, -2.0}


def test_a_finer_mill_ramps_where_no_cleared_floor_is_near() -> None:
    """A slot apart from the floor, too narrow for the coarse mill."""
    ink = region(box(0, 0, 60, 30), box(0, 40, 60, 47))
    _, fine = clearances_of(ink, FOOT_MM, clearing(mill(6.35), mill(2.0)))
    starts_mm = [path.points_mm[0] for path in clearing_paths(fine, 2.0, 5.0, 0.9, PACE)]

    assert {height_mm for _, y_mm, height_mm in starts_mm if y_mm > 35} == {0.0}
    assert {height_mm for _, y_mm, height_mm in starts_mm if y_mm < 35} == {-2.0}
