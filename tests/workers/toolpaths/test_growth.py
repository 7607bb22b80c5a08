"""Floors opened outwards: how much of the mill's edge is in the wood, measured along the program."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from tests.support.specimens import BASSWOOD, MACHINE, clearing, design, disc, incise, mill, region
from workers.contracts.dialect import Dialect
from workers.dialects.inch_arcs import INCH_ARCS
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.interpretation.interpreter import read_program
from workers.toolpaths.bite_steps import step_mm, swing_step_mm
from workers.toolpaths.clearing_strategies import OUTWARDS, RINGS
from workers.toolpaths.engagement import engaged_along, standing_wood
from workers.toolpaths.growth import Growth, Opening
from workers.toolpaths.plan import plan
from workers.values.cutting_plan import CutPath, OperationKind
from workers.values.program import Motion
from workers.verification.verify import verify

RADIUS_MM = 3.0
POCKETS = {
    "square": box(0, 0, 44, 44),
    "oblong": box(0, 0, 74, 34),
    "disc": disc(0, 0, 26),
    "ell": Polygon([(0, 0), (54, 0), (54, 14), (14, 14), (14, 54), (0, 54)]),
    "wedge": Polygon([(0, 0), (80, 0), (0, 45)]),
    "island": box(0, 0, 66, 36).difference(disc(26, 18, 8)),
}


def engaged_deg(ways_mm: list[NDArray[np.float64]]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Length and angle of each short step along ways in space, cut one after the other into fresh wood."""
    wood = standing_wood([CutPath(way, np.full(len(way), 1.0)) for way in ways_mm], RADIUS_MM, RADIUS_MM)
    lengths, angles = [], []
    for way_mm in ways_mm:
        counts = np.maximum(1, np.ceil(np.linalg.norm(np.diff(way_mm, axis=0), axis=1) / (RADIUS_MM / 8)))
        places = np.concatenate([np.linspace(row, row + 1, int(count), endpoint=False)
                                 for row, count in enumerate(counts)] + [[len(way_mm) - 1.0]])  # fmt: skip
        fine = np.column_stack(
            [np.interp(places, np.arange(len(way_mm)), way_mm[:, axis]) for axis in range(3)]
        )
        found = engaged_along(fine, RADIUS_MM, wood.depth_mm, wood.left_mm, wood.bottom_mm, wood.cell_mm)
        level = np.diff(fine[:, 2]) == 0
        lengths.append(np.linalg.norm(np.diff(fine, axis=0), axis=1)[level])
        angles.append(found[level])
    return np.concatenate(lengths), np.concatenate(angles)


def at_depth(ways_mm: list[NDArray[np.float64]]) -> list[NDArray[np.float64]]:
    """The ways at 1 mm below the face."""
    return [np.column_stack([way, np.full(len(way), -1.0)]) for way in ways_mm]


@pytest.mark.parametrize("limit_deg", [70, 100, 130])
@pytest.mark.parametrize("bend_mm", [1.0, 4.0, 50.0])
def test_a_step_engages_the_angle_of_its_limit(limit_deg: float, bend_mm: float) -> None:
    """By points on the bit's edge: those outside of the hole that is cut already are within the limit."""
    out_mm = bend_mm + step_mm(limit_deg, RADIUS_MM, bend_mm)
    angles_deg = np.arange(0.0, 180.0, 0.01)
    edge_mm = out_mm + RADIUS_MM * np.exp(1j * np.radians(angles_deg))
    engaged = angles_deg[np.abs(edge_mm) > bend_mm + RADIUS_MM]

    assert engaged.max() == pytest.approx(limit_deg, abs=0.02)


@pytest.mark.parametrize("limit_deg", [70, 95, 120])
def test_a_swing_engages_the_angle_of_its_limit(limit_deg: float) -> None:
    """By points: running ahead along a wall past a round corner, seen from its front half."""
    swing_mm = 0.54 * RADIUS_MM
    ahead_mm = swing_step_mm(limit_deg, RADIUS_MM, swing_mm)
    angles_deg = np.arange(-90.0, 90.0, 0.01)
    edge_mm = complex(ahead_mm, swing_mm) + RADIUS_MM * np.exp(1j * np.radians(angles_deg))
    engaged = np.count_nonzero(np.abs(edge_mm) > swing_mm + RADIUS_MM) * 0.01

    assert engaged == pytest.approx(limit_deg, abs=0.05)


@pytest.mark.parametrize("pocket", POCKETS.values(), ids=POCKETS)
@pytest.mark.parametrize("limit_deg", [70.0, 100.0])
def test_the_load_stays_under_the_limit_by_the_path_itself(pocket: Polygon, limit_deg: float) -> None:
    """Step by step against a map of what stands, after the round of the helix: on 97.5 % of the way no more
    than the limit, on 99 % no more than 10 degrees over it.
    """
    [opening] = Growth(RADIUS_MM, limit_deg, 2.6).opened(pocket, MultiPolygon())
    assert opening.circle_mm is not None
    lengths_mm, angles_deg = engaged_deg(at_depth([opening.circle_mm, *opening.ways_mm]))
    first_mm = float(LineString(opening.circle_mm).length)
    after = np.cumsum(lengths_mm) > first_mm
    over = lengths_mm[after & (angles_deg > limit_deg)].sum() / lengths_mm.sum()
    far_over = lengths_mm[after & (angles_deg > limit_deg + 10)].sum() / lengths_mm.sum()

    assert over < 0.025
    assert far_over < 0.01


@pytest.mark.parametrize("pocket", POCKETS.values(), ids=POCKETS)
@pytest.mark.parametrize("climb", [True, False])
def test_all_of_a_pocket_is_cut_and_nothing_beside_it(pocket: Polygon, climb: bool) -> None:
    """The bit's middle stays in the pocket; swept by its disc all that the disc can reach is gone."""
    [opening] = Growth(RADIUS_MM, 100.0, 2.6, climb).opened(pocket, MultiPolygon())
    ways = [
        LineString(way) for way in [opening.circle_mm, *opening.ways_mm] if way is not None and len(way) > 1
    ]
    swept: BaseGeometry = shapely.union_all([way.buffer(RADIUS_MM, quad_segs=32) for way in ways])
    if opening.circle_mm is not None:
        swept = swept.union(Polygon(opening.circle_mm))

    assert all(pocket.buffer(0.01).covers(way) for way in ways)
    assert pocket.buffer(RADIUS_MM, quad_segs=64).difference(swept.buffer(0.012)).area == pytest.approx(
        0, abs=1e-6
    )


@pytest.mark.parametrize("seed", range(6))
def test_pockets_of_any_shape_are_cut_to_their_walls(seed: int) -> None:
    """Discs, bars and holes thrown together: also where the nearest place left is too small to bite into.

    A place that could not be filled once ended the growth, and others stayed uncut.
    """
    chance = np.random.default_rng(seed)
    blobs = [disc(*chance.uniform(0, 60, 2), chance.uniform(4, 14), 24) for _ in range(4)]
    bars = [LineString(chance.uniform(0, 60, (2, 2))).buffer(chance.uniform(0.8, 4)) for _ in range(3)]
    holes = [disc(*chance.uniform(0, 60, 2), chance.uniform(3, 8), 24) for _ in range(2)]
    area = shapely.union_all([*blobs, *bars]).difference(shapely.union_all(holes))
    for pocket in shapely.get_parts(area):
        openings = Growth(RADIUS_MM, 90.0, 2.0).opened(pocket, MultiPolygon())
        if not openings:
            continue
        ways = [LineString(way) for opening in openings for way in opening.ways_mm if len(way) > 1]
        circles = [Polygon(opening.circle_mm).buffer(RADIUS_MM) for opening in openings]
        swept = shapely.union_all([*(way.buffer(RADIUS_MM, quad_segs=32) for way in ways), *circles])
        left = pocket.buffer(RADIUS_MM, quad_segs=64).difference(swept.buffer(0.012))

        assert left.area == pytest.approx(0, abs=1e-6)
        assert all(pocket.buffer(0.02).covers(way) for way in ways)


def test_a_slot_as_wide_as_the_bit_is_left_to_rings() -> None:
    """There is no room to swing: no path spares the bit."""
    assert Growth(RADIUS_MM, 100.0, 2.6).opened(box(0, 0, 60, 0.4), MultiPolygon()) == []


SIGN = design(region(box(20, 20, 90, 60).difference(box(45, 35, 60, 45)), box(100, 20, 108, 60)), 120, 80, 12)


@pytest.mark.parametrize("dialect", [METRIC_LINES, INCH_ARCS], ids=lambda dialect: dialect.name)
@pytest.mark.parametrize("climb", [True, False])
def test_floors_opened_outwards_are_proven(climb: bool, dialect: Dialect) -> None:
    """With two mills, an island and a narrow pocket; floors, walls and what lies around are as drawn."""
    clear = replace(clearing(mill(6.0), mill(2.0)), engagement_deg=100.0, climb=climb)
    patterns = {OperationKind.CLEAR: OUTWARDS}
    planned = plan(SIGN, incise(60, 2.0), clear, None, None, BASSWOOD, MACHINE, patterns=patterns)
    programs = write_programs(planned.plan, MACHINE, dialect)

    assert verify(programs, SIGN.board, MACHINE, SIGN, incise(60, 2.0)).proof.findings == ()


def test_along_the_program_the_bit_is_less_in_the_wood_than_with_rings() -> None:
    """Out of the interpreted programs, over level moves: the share of the way with more than 110 degrees."""
    shares = {}
    for pattern in (RINGS, OUTWARDS):
        clear = replace(clearing(mill(6.0)), engagement_deg=100.0)
        sign = replace(SIGN, ink=region(box(20, 20, 90, 60).difference(box(45, 35, 60, 45))))
        planned = plan(
            sign, incise(60, 2.0), clear, None, None, BASSWOOD, MACHINE,
            patterns={OperationKind.CLEAR: pattern},
        )  # fmt: skip
        program = write_programs(planned.plan, MACHINE, METRIC_LINES)[0]
        trace = read_program(program.text, program.name)
        feeding = trace.motions == Motion.FEED
        cuts = np.flatnonzero(feeding)
        runs = np.split(cuts, np.flatnonzero(np.diff(cuts) > 1) + 1)
        ways_mm = [np.vstack([trace.starts_mm[run[:1]], trace.ends_mm[run]]) for run in runs]
        lengths_mm, angles_deg = engaged_deg(ways_mm)
        shares[pattern.name] = float(lengths_mm[angles_deg > 110].sum() / lengths_mm.sum())

    assert shares["outwards"] < 0.01
    assert shares["rings"] > 4 * shares["outwards"]


def test_the_first_round_follows_a_helix() -> None:
    """The mill goes down at 5 degrees round a circle of 0.6 of its radius."""
    planned = plan(
        SIGN, incise(60, 2.0), clearing(mill(6.0)), None, None, BASSWOOD, MACHINE,
        patterns={OperationKind.CLEAR: OUTWARDS},
    )  # fmt: skip
    first = planned.plan.operations[0].paths[0].points_mm
    falling = first[: int(np.argmin(first[:, 2])) + 1]
    steps = np.diff(falling, axis=0)
    middle = (falling[:, :2].min(axis=0) + falling[:, :2].max(axis=0)) / 2

    assert np.hypot(*(falling[:, :2] - middle).T) == pytest.approx(np.full(len(falling), 1.8), abs=0.02)
    assert math.degrees(math.atan((-steps[:, 2] / np.hypot(*steps[:, :2].T)).max())) < 5.3


def test_a_pocket_that_a_growth_would_miss_is_left_to_rings(monkeypatch: pytest.MonkeyPatch) -> None:
    """Planted: a growth that ends after its helix. The floor is cut all the same, and proven."""
    whole = Growth.opened

    def helix_only(growth: Growth, pocket: Polygon, air: BaseGeometry) -> list[Opening]:
        return [replace(opening, ways_mm=[opening.ways_mm[0][:2]]) for opening in whole(growth, pocket, air)]

    monkeypatch.setattr(Growth, "opened", helix_only)
    planned = plan(
        SIGN, incise(60, 2.0), clearing(mill(6.0)), None, None, BASSWOOD, MACHINE,
        patterns={OperationKind.CLEAR: OUTWARDS},
    )  # fmt: skip
    programs = write_programs(planned.plan, MACHINE, METRIC_LINES)

    assert verify(programs, SIGN.board, MACHINE, SIGN, incise(60, 2.0)).proof.passed
