"""How much of a mill's edge is in the wood, against the geometry of two circles and a line."""

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import box

from tests.support.specimens import BASSWOOD, MACHINE, PACE, clearing, design, incise, mill, region
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.toolpaths.engagement import eased_paths, engaged_along, standing_wood
from workers.toolpaths.pace import cut_path
from workers.toolpaths.plan import plan
from workers.values.cutting_plan import CutPath, CuttingPlan, OperationKind
from workers.verification.verify import verify

RADIUS_MM = 3.0
WITHIN_DEG = 10.0  # two looks, or a cell at the edge


def line(*points_mm: tuple[float, float], z_mm: float = -1.0) -> np.ndarray:
    """A level way in steps of a quarter of the radius."""
    places = np.array(points_mm)
    lengths = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(places, axis=0).T))])
    along = np.linspace(0, lengths[-1], math.ceil(lengths[-1] / (RADIUS_MM / 4)) + 1)
    x_mm, y_mm = (np.interp(along, lengths, places[:, axis]) for axis in (0, 1))
    return np.column_stack([x_mm, y_mm, np.full(len(along), z_mm)])


def engaged(*ways: np.ndarray) -> list[np.ndarray]:
    """Degrees along each way, cut one after the other into fresh wood."""
    every = [CutPath(way, np.full(len(way), 1000.0)) for way in ways]
    wood = standing_wood(every, RADIUS_MM, RADIUS_MM)
    frame = (wood.depth_mm, wood.left_mm, wood.bottom_mm, wood.cell_mm)
    return [engaged_along(way, RADIUS_MM, *frame) for way in ways]


def test_a_slot_engages_the_whole_front() -> None:
    """180 degrees in fresh wood; nothing where it has been; all again one pass deeper."""
    way = line((0, 0), (40, 0))
    fresh, again, deeper = engaged(way, way, line((0, 0), (40, 0), z_mm=-2.0))

    assert fresh[4:] == pytest.approx(180, abs=WITHIN_DEG)
    assert again[:-1].max() == 0  # its end touches what the first way left
    assert deeper[4:] == pytest.approx(180, abs=WITHIN_DEG)


@pytest.mark.parametrize("share", [0.2, 0.5, 1.0, 1.5])
@pytest.mark.parametrize("turn_deg", [0.0, 37.0])
def test_a_step_aside_engages_the_arc_of_its_width(share: float, turn_deg: float) -> None:
    """acos(1 - s / r) for a step s: the arc of a circle beyond a line at r - s (elementary)."""
    cosine, sine = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))

    def turned(x_mm: float, y_mm: float) -> tuple[float, float]:
        return (x_mm * cosine - y_mm * sine, x_mm * sine + y_mm * cosine)

    aside_mm = share * RADIUS_MM
    first, second = line(turned(0, 0), turned(60, 0)), line(turned(0, aside_mm), turned(60, aside_mm))
    found = engaged(first, second)[1][12:-12]

    assert float(np.median(found)) == pytest.approx(math.degrees(math.acos(1 - share)), abs=WITHIN_DEG)


def test_feeds_fall_in_proportion_and_places_stay() -> None:
    """A slot at a limit of 90 degrees runs at half the feed; where wood is gone the feed is full."""
    path = cut_path(line((0, 0), (40, 0)), PACE)
    wood = standing_wood([path], RADIUS_MM, RADIUS_MM)
    slow, full = eased_paths([path, path], RADIUS_MM, 90.0, wood)

    assert slow.feeds_mm_per_min[1:] == pytest.approx(PACE.feed_mm_per_min / 2)
    assert full.feeds_mm_per_min.tolist() == path.feeds_mm_per_min.tolist()
    assert slow.points_mm.tolist() == path.points_mm.tolist()


def test_load_is_never_above_the_limit_at_full_feed() -> None:
    """Engagement times feed, all over a floor with an island, stays at or below limit times full feed."""
    limit_deg = 100.0
    sign = design(region(box(20, 20, 90, 60).difference(box(45, 35, 60, 45))), 120, 80, 12)
    clear = replace(clearing(mill(6.0), mill(2.0)), engagement_deg=limit_deg)
    made, plain = (
        plan(sign, incise(60, 2.0), cut, None, None, BASSWOOD, MACHINE).plan
        for cut in (clear, replace(clear, engagement_deg=None))
    )
    programs = write_programs(made, MACHINE, METRIC_LINES)
    proof = verify(programs, sign.board, MACHINE, sign, incise(60, 2.0)).proof

    assert proof.passed, proof.findings
    assert _worst_load(plain, limit_deg) > 1.5
    assert _worst_load(made, limit_deg) <= 1.0 + WITHIN_DEG / limit_deg


def _worst_load(made: CuttingPlan, limit_deg: float) -> float:
    """The greatest engagement times feed, in units of the limit at full feed."""
    [coarse, _] = [operation for operation in made.operations if operation.kind is OperationKind.CLEAR]
    radius_mm = coarse.cutter.diameter_mm / 2
    wood = standing_wood(coarse.paths, radius_mm, radius_mm)
    frame = (wood.depth_mm, wood.left_mm, wood.bottom_mm, wood.cell_mm)
    fullest = max(float(path.feeds_mm_per_min[1:].max()) for path in coarse.paths)
    worst = 0.0
    for path in coarse.paths:
        for row in range(1, len(path.points_mm)):
            start_mm, end_mm = path.points_mm[row - 1], path.points_mm[row]
            count = max(1, math.ceil(float(np.linalg.norm(end_mm - start_mm)) / (radius_mm / 4)))
            way = start_mm + np.linspace(0, 1, count + 1)[:, None] * (end_mm - start_mm)
            load = engaged_along(way, radius_mm, *frame) * path.feeds_mm_per_min[row]
            worst = max(worst, float(load.max()) / (limit_deg * fullest))
    return worst
