"""The whole plan: order of operations, what each finding and refusal says."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from shapely.geometry import MultiPolygon, Point, Polygon, box

from tests.support.hangers import hanger
from tests.support.specimens import (
    BASSWOOD,
    MACHINE,
    clearing,
    cutout,
    design,
    disc,
    drilling,
    incise,
    mill,
    region,
    vee,
)
from workers.errors import NotCuttableError
from workers.toolpaths.plan import Planned, plan
from workers.values.cuts import ClearCut, CutoutCut, DrillCut, InciseCut
from workers.values.cutting_plan import OperationKind
from workers.values.design import Design, Hole, Opening, OpeningShape
from workers.values.finding import Severity
from workers.values.region import Region

INK = region(box(20, 20, 80, 40), disc(120, 60, 3), box(20, 60, 90, 63))
HOLES = (Hole(x_mm=10, y_mm=110, diameter_mm=5), Hole(x_mm=190, y_mm=110, diameter_mm=5))


def planned(
    sign: Design | None = None,
    cut: InciseCut | None = None,
    clear: ClearCut | None = None,
    free: CutoutCut | None = None,
    hole_bit: DrillCut | None = None,
) -> Planned:
    """The plan of a sign."""
    return plan(sign or design(INK), cut or incise(), clear, free, hole_bit, BASSWOOD, MACHINE)


def codes(found: Planned) -> list[str]:
    """The codes of what was found."""
    return [finding.code for finding in found.findings]


def test_operations_come_in_the_order_of_the_trade() -> None:
    """Slots in the back, floors, grooves, holes, openings; the board is freed last (trade.md P-01)."""
    slot = Opening(shape=OpeningShape.SLOT, x_mm=150, y_mm=100, length_mm=20, width_mm=6)
    sign = replace(design(INK, holes=HOLES), openings=(slot,), hangers=(hanger(20, 90),))
    found = planned(sign, clear=clearing(), free=cutout(), hole_bit=drilling())

    assert [operation.kind for operation in found.plan.operations] == list(OperationKind)
    assert [operation.cutter.name for operation in found.plan.operations] == [
        "keyhole-3/8in",
        "flat-1/8in",
        "vee-90",
        "drill-5mm",
        "flat-1/8in",
        "flat-1/8in",
    ]


def test_what_has_nothing_to_cut_is_left_out() -> None:
    """Thin ink needs no end mill; no ink at all needs no V-bit."""
    thin = planned(design(region(box(20, 60, 90, 63))), clear=clearing())
    bare = planned(design(Region(MultiPolygon())), free=cutout())

    assert [operation.kind for operation in thin.plan.operations] == [OperationKind.INCISE]
    assert [operation.kind for operation in bare.plan.operations] == [OperationKind.CUTOUT]
    assert planned(design(Region(MultiPolygon()))).plan.operations == ()


def test_holes_are_milled_with_the_cutouts_bit_when_there_is_no_drill() -> None:
    """Or with the clearing bit."""
    sign = design(INK, holes=HOLES)

    by_cutout = planned(sign, free=cutout()).plan.operations[1]
    by_clear = planned(sign, clear=clearing(mill(2.0))).plan.operations[-1]

    assert (by_cutout.kind, by_cutout.cutter) == (OperationKind.DRILL, mill())
    assert (by_clear.kind, by_clear.cutter) == (OperationKind.DRILL, mill(2.0))


def test_holes_too_narrow_for_the_cutouts_bit_are_milled_with_one_that_clears() -> None:
    """Holes of 5 mm, a cutout with 6.35 mm; what clears must cut through the board, too."""
    sign = design(INK, holes=HOLES)
    wide = replace(cutout(), cutter=mill(6.35, name="flat-1/4in"))

    found = planned(sign, clear=clearing(mill(4.0), mill(2.0, length_mm=8.0)), free=wide).plan.operations

    assert [each.cutter for each in found if each.kind is OperationKind.DRILL] == [mill(4.0)]
    with pytest.raises(NotCuttableError, match="cannot be made with flat-1/4in"):
        planned(sign, clear=clearing(mill(2.0, length_mm=8.0)), free=wide)


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({"sign": design(INK, holes=HOLES)}, "/inputs/drill"),
        ({"sign": design(INK, holes=HOLES), "hole_bit": drilling(6.0)}, "/inputs/drill/bit"),
        ({"clear": clearing(mill(length_mm=2.0))}, "/inputs/clear/bit"),
        ({"free": replace(cutout(), cutter=mill(length_mm=10.0))}, "/inputs/cutout/bit"),
        ({"free": cutout(200)}, "/inputs/cutout/tabs/count"),
    ],
)
def test_a_refusal_names_the_field_to_be_changed(asked: dict[str, Any], field: str) -> None:
    """So that a front end can show it there."""
    with pytest.raises(NotCuttableError) as refused:
        planned(**asked)

    assert refused.value.field == field


def test_holes_go_as_far_past_the_board_as_the_cutout() -> None:
    """And 0.3 mm without one (trade.md P-07)."""
    sign = design(INK, holes=HOLES)
    past = {
        found.plan.operations[-1 - bool(free)].paths[0].points_mm[:, 2].min().round(6)
        for free in (None, cutout(past_mm=0.5))
        for found in [planned(sign, free=free, hole_bit=drilling())]
    }

    assert past == {-19.3, -19.5}


def test_holes_without_any_bit_are_refused() -> None:
    """The remedy names what to give."""
    with pytest.raises(NotCuttableError, match="2 holes") as refused:
        planned(design(INK, holes=HOLES))
    assert refused.value.remedy is not None
    assert "drill" in refused.value.remedy


def test_a_limit_beyond_the_bit_is_lowered_and_said() -> None:
    """A 90 degree bit of 6 mm cuts 3 mm deep; the limit of 5 cannot be kept."""
    small = InciseCut(cutter=vee(90, diameter_mm=6.0), depth_limit_mm=5.0)

    found = planned(cut=small, clear=clearing())

    assert min(path.points_mm[:, 2].min() for path in found.plan.operations[1].paths) == pytest.approx(-3.0)
    [finding] = [finding for finding in found.findings if finding.code == "depth-limited-by-bit"]
    assert "5.00 mm" in finding.message
    assert "3.00 mm" in finding.message


def test_a_short_cutting_edge_limits_as_well() -> None:
    """Whatever the cone would do."""
    found = planned(cut=InciseCut(cutter=vee(90, length_mm=1.5), depth_limit_mm=2.5), clear=clearing())

    assert min(path.points_mm[:, 2].min() for path in found.plan.operations[1].paths) == pytest.approx(-1.5)
    assert "depth-limited-by-bit" in codes(found)


def test_a_limit_that_nothing_reaches_is_no_matter() -> None:
    """The 3 mm stroke is 1.5 mm deep whatever the bit could do."""
    found = planned(
        design(region(box(20, 60, 90, 63))), InciseCut(cutter=vee(90, diameter_mm=6.0), depth_limit_mm=5)
    )

    assert found.findings == ()


def test_a_groove_through_the_board_is_refused() -> None:
    """By its name, with the place where it is deepest and what helps."""
    with pytest.raises(NotCuttableError, match=r"10\.00 mm deep into a board 9\.00 mm thick") as refused:
        planned(design(INK, thickness_mm=9.0), incise(limit_mm=12.0))
    [finding] = refused.value.findings

    assert (finding.code, finding.severity) == ("groove-through-board", Severity.ERROR)
    assert finding.at_mm is not None
    assert "depth limit" in finding.remedy


def test_little_board_left_is_a_warning() -> None:
    """2.5 mm of 3.5."""
    found = planned(design(INK, thickness_mm=3.5), clear=clearing())

    assert "thin-under-groove" in codes(found)


def test_floors_without_an_end_mill_are_told_with_their_minutes() -> None:
    """And what would help."""
    found = planned(design(region(box(20, 20, 80, 80))), incise(60, 2.0))

    [finding] = [finding for finding in found.findings if finding.code == "floor-without-clear-bit"]
    assert finding.severity is Severity.WARNING
    assert "minutes" in finding.message
    assert "clear" in finding.remedy


def test_floors_that_would_take_a_pointed_bit_hours_are_refused() -> None:
    """V-07: ridges of 0.025 mm want lines 0.029 mm apart, 34 m of way for each 1000 mm2."""
    with pytest.raises(
        NotCuttableError, match=r"floor would be left to the V-bit, in lines 0\.029 mm apart"
    ) as refused:
        planned(design(region(box(20, 20, 150, 100))), incise(60, 2.0))
    assert refused.value.findings[0].code == "floor-needs-clear-bit"


def test_missing_tabs_are_told() -> None:
    """None asked for, or fewer than an outline's length would ask for."""
    small = design(region(box(10, 10, 15, 12)), 30, 25)

    assert "no-tabs" in codes(planned(free=cutout(0)))
    assert "fewer-tabs" in codes(planned(small, free=replace(cutout(0, 20), tabs_count=None)))


def test_more_tabs_than_fit_are_refused_with_how_many_do() -> None:
    """On 433 mm a lifted stretch of 9.2 mm and 16.2 mm from one to the next leave room for 17."""
    with pytest.raises(NotCuttableError, match="60 tabs are asked for, and 17 such tabs fit") as refused:
        planned(design(INK, 140, 80), free=cutout(60))
    [finding] = refused.value.findings

    assert finding.code == "too-many-tabs"
    assert finding.remedy.startswith("ask for 17 tabs or fewer")
    assert planned(design(INK, 140, 80), free=cutout(17)).plan.operations


def test_a_mill_shorter_than_floors_are_deep_is_refused() -> None:
    """2.5 mm of floor, 2 mm of cutting edge; where there is no floor it does not matter."""
    short = clearing(mill(length_mm=2.0))

    with pytest.raises(NotCuttableError, match=r"cuts 2\.00 mm deep, and floors are 2\.50 mm") as refused:
        planned(clear=short)
    assert refused.value.findings[0].code == "bit-too-short"
    planned(design(region(box(20, 60, 90, 63))), clear=short)


def test_bits_with_nothing_to_do_are_named() -> None:
    """Thin ink has no floor to clear, and this board no hole to drill."""
    found = planned(design(region(box(20, 60, 90, 63))), clear=clearing(), hole_bit=drilling()).findings
    unused = [finding.message for finding in found if finding.code == "bit-unused"]

    assert [message.split(":")[0] for message in unused] == [
        "flat-1/8in has nothing to clear",
        "drill-5mm has nothing to drill",
    ]


def test_a_short_cutout_bit_is_refused_before_anything_is_computed() -> None:
    """Nobody waits for a plan that cannot be cut."""
    said: list[str] = []
    with pytest.raises(NotCuttableError, match=r"10\.00 mm deep"):
        plan(
            design(INK),
            incise(),
            None,
            replace(cutout(), cutter=mill(length_mm=10.0)),
            None,
            BASSWOOD,
            MACHINE,
            lambda fraction, message: said.append(message),
        )
    assert said == []


def test_deep_grooves_are_cut_in_passes() -> None:
    """No path goes deeper than one pass below what is cut before it."""
    found = planned(design(region(box(20, 20, 80, 40)), thickness_mm=40), incise(60, 30.0))
    lows = [path.points_mm[:, 2].min() for path in found.plan.operations[0].paths]

    assert lows[0] > -8.7
    assert min(lows) == pytest.approx(-17.3205, abs=1e-3)
    assert lows == sorted(lows, reverse=True)


def test_the_machine_says_clearance_and_spin_up() -> None:
    """They travel with the plan."""
    found = planned()

    assert (found.plan.clearance_mm, found.plan.spin_up_s) == (5, 3)


def test_progress_ends_at_one() -> None:
    """And never runs backwards."""
    fractions: list[float] = []
    plan(
        design(INK),
        incise(),
        clearing(),
        None,
        None,
        BASSWOOD,
        MACHINE,
        lambda fraction, _: fractions.append(fraction),
    )

    assert fractions == sorted(fractions)
    assert fractions[-1] == 1.0


def test_twice_the_same_plan() -> None:
    """Point for point, feed for feed."""
    first, again = (planned(clear=clearing(), free=cutout()).plan for _ in range(2))

    for one, other in zip(first.operations, again.operations, strict=True):
        for path, same in zip(one.paths, other.paths, strict=True):
            assert (path.points_mm == same.points_mm).all()
            assert (path.feeds_mm_per_min == same.feeds_mm_per_min).all()


def test_moving_the_ink_moves_the_cuts() -> None:
    """The same depth and the same length of way, elsewhere on the board."""
    here = planned(design(INK)).plan.operations[0]
    there = planned(
        design(region(*[box(30, 25, 90, 45), disc(130, 65, 3), box(30, 65, 100, 68)]))
    ).plan.operations[0]

    low_here, low_there = (
        np.concatenate([path.points_mm for path in operation.paths]).min(axis=0)
        for operation in (here, there)
    )
    assert low_there - low_here == pytest.approx([10, 5, 0], abs=1e-3)


def test_a_tapering_stroke_is_one_even_slope() -> None:
    """By hand: a trapezium's axis is a straight spine and a spur to each corner, so six places in all.

    At 60 degrees a spine end with an inscribed circle of r is r / tan 30 deep; corners come up to the face.
    """
    stroke = Polygon([(20, 50.5), (100, 49.8), (100, 52.2), (20, 51.5)])

    [path] = planned(design(region(stroke)), incise(60, 10.0)).plan.operations[0].paths

    places_mm = np.unique(path.points_mm.round(2), axis=0)
    corners_mm = places_mm[places_mm[:, 2] == 0][:, :2].tolist()
    spine_mm = places_mm[places_mm[:, 2] < 0]
    assert sorted(corners_mm) == sorted(map(list, stroke.exterior.coords[:-1]))
    assert len(spine_mm) == 2
    for x_mm, y_mm, z_mm in spine_mm:
        assert y_mm == pytest.approx(51.0, abs=0.01)
        radius_mm = stroke.exterior.distance(Point(x_mm, y_mm))
        assert -z_mm == pytest.approx(radius_mm / np.tan(np.radians(30)), abs=0.02)
