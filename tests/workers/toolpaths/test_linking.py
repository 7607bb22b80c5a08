"""Strands joined to few paths, compared with cutting each by itself."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from shapely.geometry import Polygon, box

from tests.support.specimens import PACE, plan_length_mm, region
from workers.geometry.medial_axis import medial_axis
from workers.geometry.offsets import inset
from workers.toolpaths.groove import Groove, groove_strands
from workers.toolpaths.linking import OVER_FLOOR_MM, Floor, linked_paths
from workers.toolpaths.rings import Room
from workers.toolpaths.strands import Strands, length_mm, strands_of
from workers.values.cutting_plan import CutPath

GROOVE = Groove(slope=1.0, tip_radius_mm=0.0, depth_mm=2.0)
COMB = region(box(0, 0, 90, 8).union(box(3, 8, 6, 40)).union(box(20, 8, 23, 40)).union(box(60, 8, 63, 40)))


def comb_strands() -> Strands:
    """The strands of a comb's groove."""
    return groove_strands(medial_axis(COMB), inset(COMB, GROOVE.full_radius_mm), GROOVE, region())


def minutes(paths: list[CutPath]) -> float:
    """A plain model: feeds as planned, 10 mm up and down at 1500, hops at 5000 mm/min."""
    total, here_mm = 0.0, np.zeros(2)
    for path in paths:
        steps_mm = np.linalg.norm(np.diff(path.points_mm, axis=0), axis=1)
        total += float((steps_mm / path.feeds_mm_per_min[1:]).sum())
        total += 10 / 1500 + (1 - path.points_mm[0, 2]) / path.feeds_mm_per_min[0]
        total += float(np.hypot(*(path.points_mm[0, :2] - here_mm))) / 5000
        here_mm = path.points_mm[-1, :2]
    return total


def test_a_net_is_one_path() -> None:
    """The wall pass of a wide bar and its four corner spurs hang together: the bit goes down once."""
    bar = region(box(0, 0, 90, 8))
    strands = groove_strands(medial_axis(bar), inset(bar, GROOVE.full_radius_mm), GROOVE, region())

    assert len(strands) >= 8
    assert len(linked_paths(strands, PACE)) == 1


def test_every_strand_is_run_and_little_is_run_twice() -> None:
    """The way is no shorter than all strands and no more than 1.3 times as long."""
    strands = comb_strands()
    floor_mm = sum(length_mm(line) for line in strands.lines())

    paths = linked_paths(strands, PACE)

    assert floor_mm - 0.1 < plan_length_mm(paths) < 1.3 * floor_mm


def test_linking_beats_one_path_a_strand() -> None:
    """The naive way lifts for every strand."""
    strands = comb_strands()
    naive = [path for line in strands.lines() for path in linked_paths(strands_of([line]), PACE)]

    linked = linked_paths(strands, PACE)

    assert len(naive) > 15
    assert minutes(linked) < 0.75 * minutes(naive)


def test_a_piece_run_again_is_not_slowed_down() -> None:
    """A spur between two legs is run up, cutting, and down again through air: both at the z axis's best."""
    spur = np.array([[0.0, 0, 0], [0, 0, -4]])
    legs = [np.array([[0.0, 0, -4], [x, 30, -4]]) for x in (-20.0, 20.0)]

    [path] = linked_paths(strands_of([spur, *legs]), PACE)

    steps_mm = np.diff(path.points_mm, axis=0)
    assert path.feeds_mm_per_min[1:][steps_mm[:, 2] > 0].tolist() == [1000]
    assert path.feeds_mm_per_min[1:][steps_mm[:, 2] < 0].tolist() == [1000]


def test_a_closed_path_starts_where_the_bit_comes_from() -> None:
    """A square loop is entered at the corner nearest to home."""
    loop = np.array([[10.0, 10, -1], [50, 10, -1], [50, 50, -1], [10, 50, -1], [10, 10, -1]])

    [path] = linked_paths(strands_of([np.roll(loop[:-1], 2, axis=0)[[0, 1, 2, 3, 0]]]), PACE)

    assert path.points_mm[0].tolist() == [10, 10, -1]
    assert path.points_mm[-1].tolist() == [10, 10, -1]


def test_a_closed_path_starts_where_it_is_shallow() -> None:
    """Its corner nearest to home is 3 mm deep, which takes longer than going to its far one."""
    loop = np.array([[10.0, 10, -3], [50, 10, -3], [50, 50, -1], [10, 50, -3], [10, 10, -3]])
    pace = replace(PACE, depth_worth=40.0)

    [path] = linked_paths(strands_of([loop]), pace)

    assert path.points_mm[0].tolist() == [50, 50, -1]


def test_dots_are_paths_of_one_point() -> None:
    """A plunge and nothing else, in order with the rest."""
    paths = linked_paths(strands_of([]), PACE, np.array([[30.0, 0, -2], [10, 0, -2], [20, 0, -2]]))

    assert [path.points_mm[0, 0] for path in paths] in ([10, 20, 30], [30, 20, 10])
    assert all(path.feeds_mm_per_min.tolist() == [500] for path in paths)


def test_twice_the_same_paths() -> None:
    """Nothing depends on chance."""
    first, again = (linked_paths(comb_strands(), PACE) for _ in range(2))

    assert first
    assert all((a.points_mm == b.points_mm).all() for a, b in zip(first, again, strict=True))


def test_nothing_to_cut_is_no_path() -> None:
    """No strands, no dots."""
    assert linked_paths(strands_of([]), PACE) == []


@pytest.mark.parametrize("lift_mm", [0.0, 1e6])
def test_any_worth_of_a_lift_runs_everything(lift_mm: float) -> None:
    """From many short trails to one long one."""
    strands = comb_strands()
    paths = linked_paths(strands, replace(PACE, lift_worth_mm=lift_mm))

    assert plan_length_mm(paths) >= sum(length_mm(line) for line in strands.lines()) - 0.1


def square_mm(left_mm: float, height_mm: float = -2.0) -> np.ndarray:
    """A loop of 10 mm at a height, its lower left corner at 10 mm over the x axis."""
    corners_mm = np.array([[0.0, 0], [10, 0], [10, 10], [0, 10], [0, 0]]) + np.array([left_mm, 10.0])
    return np.column_stack([corners_mm, np.full(5, height_mm)])


def test_between_walls_of_one_floor_the_bit_stays_down_just_over_it() -> None:
    """Two loops 5 mm apart: up 0.3 mm, across, and down again no faster than a plunge."""
    floor = Floor(Room(region(box(0, 0, 60, 40))), -2.0)
    strands = strands_of([square_mm(10), square_mm(25)])

    [path] = linked_paths(strands, PACE, floor=floor)

    steps_mm = np.diff(path.points_mm, axis=0)
    rise, across, fall = np.flatnonzero(steps_mm[:, 2] > 0)[0] + np.arange(3)
    assert steps_mm[[rise, across, fall], 2].round(9).tolist() == [OVER_FLOOR_MM, 0, -OVER_FLOOR_MM]
    assert np.linalg.norm(steps_mm[across]) == pytest.approx(5.0)
    assert path.feeds_mm_per_min[[across + 1, fall + 1]].tolist() == [1500, 500]
    assert path.points_mm[:, 2].max() < 0


@pytest.mark.parametrize(
    ("other", "area"),
    [
        (square_mm(25), box(0, 0, 22, 40).union(box(23, 0, 60, 40))),  # a wall between them
        (square_mm(25, height_mm=-1.5), box(0, 0, 60, 40)),  # not at the floor
        (square_mm(45), box(0, 0, 60, 40)),  # as far as a lift is worth
    ],
    ids=["wall", "height", "distance"],
)
def test_elsewhere_it_lifts(other: np.ndarray, area: Polygon) -> None:
    """Two paths."""
    strands = strands_of([square_mm(10), other])

    assert len(linked_paths(strands, PACE, floor=Floor(Room(region(area)), -2.0))) == 2


def test_a_row_of_loops_is_left_where_the_next_one_begins() -> None:
    """Squares of 10 mm, 5 mm apart: each way but the first is 5 mm, or the 10 mm of a side more."""
    paths = linked_paths(strands_of([square_mm(left) for left in (40.0, 10, 25, 55)]), PACE)

    ways_mm = [
        float(np.hypot(*(after.points_mm[0, :2] - before.points_mm[-1, :2])))
        for before, after in pairwise(paths)
    ]
    assert sum(ways_mm) <= 3 * 5 + 2 * 10 + 1e-9
    assert min(ways_mm) == pytest.approx(5)
