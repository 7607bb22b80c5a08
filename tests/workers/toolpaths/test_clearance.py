"""Floors with an end mill: inside the floor, everywhere it fits, climbing, ramped."""

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from shapely.geometry import LinearRing, LineString, box

from tests.support.specimens import PACE, mill, region
from workers.toolpaths.clearance import clearance_of, clearing_paths
from workers.values.cutting_plan import CutPath
from workers.values.region import Region

INK = region(box(0, 0, 60, 30).difference(box(25, 10, 35, 20)))
FOOT_MM = 2.0  # slope x depth


def paths(ink: Region = INK, pass_mm: float = 5.0) -> list[CutPath]:
    """The mill's ways over a floor 2 mm deep."""
    return clearing_paths(clearance_of(ink, FOOT_MM, mill()), 2.0, pass_mm, 1.4, PACE)


def swept(found: list[CutPath]) -> shapely.Geometry:
    """What the mill's disc covers in plan, at the floor's depth."""
    level = [path.points_mm[path.points_mm[:, 2] == -2.0][:, :2] for path in found]
    return shapely.union_all([LineString(line).buffer(1.5875, quad_segs=64) for line in level])


def test_the_mill_stays_on_the_floor_and_cuts_all_it_can_reach() -> None:
    """Swept area: the floor opened by the mill's disc, by a general geometry library."""
    floor = INK.polygons.buffer(-FOOT_MM, quad_segs=64)
    reachable = floor.buffer(-1.5875, quad_segs=64).buffer(1.5875, quad_segs=64)
    cut = swept(paths())

    assert cut.difference(floor.buffer(0.01)).area == pytest.approx(0, abs=1e-6)
    assert reachable.difference(cut.buffer(0.01)).area == pytest.approx(0, abs=1e-6)


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


def test_it_ramps_in_and_takes_depth_in_passes() -> None:
    """Never steeper than 3 degrees; no pass deeper than asked."""
    found = paths(pass_mm=0.7)

    assert sorted({round(path.points_mm[:, 2].min(), 3) for path in found}) == [-2.0, -1.333, -0.667]
    for path in found:
        steps_mm = np.diff(path.points_mm, axis=0)
        slopes = -steps_mm[:, 2] / np.maximum(np.hypot(steps_mm[:, 0], steps_mm[:, 1]), 1e-9)
        assert np.degrees(np.arctan(slopes.max())) < 3.1
        assert path.points_mm[0, 2] - path.points_mm[:, 2].min() < 0.7


def test_a_floor_too_narrow_for_the_mill_is_left() -> None:
    """Ink 7 mm wide has a floor of 3 mm; the mill is 3.175."""
    clearance = clearance_of(region(box(0, 0, 50, 7)), FOOT_MM, mill())

    assert clearance.centres.polygons.is_empty
    assert clearance.cleared(0.1).polygons.is_empty
    assert clearing_paths(clearance, 2.0, 5.0, 1.4, PACE) == []


def test_rings_close() -> None:
    """The last ring of a pocket is a whole round along its wall."""
    [path] = paths(region(box(0, 0, 20, 20)))
    ring = LinearRing(path.points_mm[-6:, :2])

    assert path.points_mm[-1].tolist() == path.points_mm[-6].tolist()
    assert ring.length == pytest.approx(4 * (20 - 2 * 3.5875), abs=0.01)
