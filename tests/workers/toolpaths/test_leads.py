"""On to a line and off it along quarter circles in the waste, as a good machinist starts a finished wall."""

import math
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point, Polygon, box

from tests.support.small_carving import SmallBlock
from tests.support.specimens import BASSWOOD, MACHINE, PACE, board, cutout, design, incise, mill, region
from workers.contracts.dialect import Dialect
from workers.dialects.inch_arcs import INCH_ARCS
from workers.dialects.metric_arcs import METRIC_ARCS
from workers.dialects.programs import write_programs
from workers.interpretation.interpreter import read_program
from workers.toolpaths.circuit import Circuit
from workers.toolpaths.cutout import Cutout, cutout_of
from workers.toolpaths.cutout_leads import lead_beside
from workers.toolpaths.cutout_passes import cutout_paths
from workers.toolpaths.leads import Lead
from workers.toolpaths.plan import plan
from workers.values.cuts import CutoutCut, CutoutSide
from workers.values.design import Design, Hole, Opening, OpeningShape
from workers.values.keep_out import KeepOut
from workers.values.program import Motion
from workers.verification.verify import verify

BOARD = box(0, 0, 120, 80)
SIGN = design(region(box(30, 30, 90, 34)), 120, 80, 12)
CUT = replace(cutout(4), cutter=mill(3.0))


def made_of(cut: CutoutCut, outline: Polygon = BOARD) -> Cutout:
    """How a board 12 mm thick is cut free."""
    return cutout_of(Design(board=board(120, 80, 12), outline=outline, ink=region()), cut)


def led(cut: CutoutCut, *keep_outs: KeepOut) -> Lead | None:
    """The lead that has room beside the board."""
    return lead_beside(made_of(cut), BOARD, cut, MACHINE, keep_outs)


@pytest.mark.parametrize("waste_on_left", [True, False])
def test_a_lead_is_two_quarter_circles_and_a_helix_that_stays_off_the_line(waste_on_left: bool) -> None:
    """Closed form on a straight side: each quarter turns by 90 degrees about (start, r) and meets the line
    along it; the helix of radius r / 2 touches the quarter's beginning and comes no nearer than r / 2."""
    square = Circuit(np.array([[0, 0], [100, 0], [100, 100], [0, 100], [0, 0.0]]))
    lead = Lead(start_mm=50, overlap_mm=3, radius_mm=4, waste_on_left=waste_on_left)
    side = 1 if waste_on_left else -1
    inwards, outwards = (way(square, -2.0)[:, :2] * (1, side) for way in (lead.way_in, lead.way_out))
    helix = lead.way_down(square, 0.0, -2.0) * (1, side, 1)

    assert inwards[[0, -1]] == pytest.approx(np.array([[46, 4], [50, 0]]))
    assert outwards[[0, -1]] == pytest.approx(np.array([[53, 0], [57, 4]]))
    for arc, centre in ((inwards, (50, 4)), (outwards, (53, 4))):
        assert np.hypot(*(arc - centre).T) == pytest.approx(np.full(len(arc), 4.0))
    assert helix[-1] == pytest.approx([46, 4, -2])
    assert helix[:, 1].min() == pytest.approx(2.0)
    assert np.hypot(*(helix[:, :2] - (48, 4)).T) == pytest.approx(np.full(len(helix), 2.0))
    steps = np.diff(helix, axis=0)
    assert math.degrees(math.atan((-steps[:, 2] / np.hypot(*steps[:, :2].T)).max())) < 5.1


@pytest.mark.parametrize(
    "options",
    [
        {},
        {"climb": False},
        {"side": CutoutSide.ON},
        {"tabs_sloped": True},
        {"last_layer_mm": 0.4},
        {"wall_allowance_mm": 0.3},
        {"tabs_count": 0},
        {"pass_depth_mm": 1.0},
    ],
    ids=str,
)
def test_every_pass_begins_and_ends_in_the_waste_and_cuts_nothing_else(options: dict[str, Any]) -> None:
    """Path by path: the bit comes down and goes up clear of the finished wall and turns smoothly on to it
    and off; what it takes of the waste lies within the order's reach."""
    cut = replace(CUT, **options)
    made = made_of(cut)
    lead = led(cut)
    assert lead is not None
    assert lead.radius_mm == 1.5
    paths = cutout_paths(made, 3.0, PACE, lead)
    block = SmallBlock(-8, -8, 128, 88, 0.2)
    block.cut(paths, cut.cutter)
    off_mm = shapely.distance(BOARD, shapely.points(*np.meshgrid(block.x_mm, block.y_mm)))
    wall_mm = cut.wall_offset_mm

    for path in paths:
        ends_mm = [BOARD.distance(Point(path.points_mm[row, :2])) for row in (0, -1)]
        assert min(ends_mm) > wall_mm + 1.49
        turns = _turns_deg(path.points_mm)
        along = np.array([abs(BOARD.exterior.distance(Point(place)) - wall_mm) < 0.02
                          for place in path.points_mm[1:-1, :2]])  # fmt: skip
        assert np.abs(turns[along & (np.abs(turns) < 60)]).max(initial=0.0) < 16  # chords of the quarters
    assert off_mm[block.depth_mm > 0].max() < cut.reach_mm + 0.15
    assert off_mm[block.depth_mm > 0].max() > cut.reach_mm - 0.3
    if cut.side is CutoutSide.OUTSIDE:
        assert block.depth_mm[off_mm == 0].max() == 0


def _turns_deg(points_mm: np.ndarray) -> np.ndarray:
    steps = np.diff(points_mm[:, :2], axis=0)
    headings = np.arctan2(steps[:, 1], steps[:, 0])
    return np.degrees((np.diff(headings) + np.pi) % (2 * np.pi) - np.pi)


def test_it_keeps_away_from_tabs() -> None:
    """What the leads cut lies farther along the line than the foot of any tab."""
    lead, made = led(CUT), made_of(CUT)
    assert lead is not None
    bridges = [
        LineString(made.rough.circuit.at(np.linspace(first + 1.5, last - 1.5, 9))).buffer(
            1.5, cap_style="flat"
        )
        for first, last in made.rough.tabs.spans_mm()
    ]
    circuit = made.rough.circuit
    ways = [lead.way_down(circuit, 0, -1), lead.way_in(circuit, -1), lead.way_out(circuit, -1)]
    swept = shapely.union_all([LineString(way[:, :2]).buffer(1.5) for way in ways])

    assert min(swept.distance(bridge) for bridge in bridges) >= 0.99


def test_it_keeps_away_from_clamps() -> None:
    """A clamp 3 mm beside each side but one: the lead is on that one; with all four there is none."""
    sides = [
        KeepOut(left_mm=-40, bottom_mm=-20, right_mm=-6.5, top_mm=100, height_mm=18),
        KeepOut(left_mm=126.5, bottom_mm=-20, right_mm=160, top_mm=100, height_mm=18),
        KeepOut(left_mm=-20, bottom_mm=-40, right_mm=140, top_mm=-6.5, height_mm=18),
        KeepOut(left_mm=-20, bottom_mm=86.5, right_mm=140, top_mm=120, height_mm=18),
    ]
    lead = led(CUT, *sides[:3])
    assert lead is not None

    assert made_of(CUT).rough.circuit.at(np.array([lead.start_mm]))[0, 1] == pytest.approx(81.5)
    assert led(CUT, *sides) is None


def test_where_there_is_no_room_the_plan_says_so() -> None:
    """Inside the line there is no waste; the bit goes down along the line, and that is proven too."""
    cut = replace(CUT, side=CutoutSide.INSIDE)
    planned = plan(SIGN, incise(90, 2.0), None, cut, None, BASSWOOD, MACHINE)

    [finding] = [finding for finding in planned.findings if finding.code == "no-lead-in"]
    assert "what keeps its size" in finding.message
    programs = write_programs(planned.plan, MACHINE, METRIC_ARCS)
    assert verify(programs, SIGN.board, MACHINE, SIGN, incise(90, 2.0), cut).proof.passed


WINDOW = Opening(
    shape=OpeningShape.RECTANGLE, x_mm=95, y_mm=55, length_mm=30, width_mm=24, corner_radius_mm=3
)
SLOT = Opening(shape=OpeningShape.SLOT, x_mm=25, y_mm=60, length_mm=20, width_mm=8)


@pytest.mark.parametrize("dialect", [METRIC_ARCS, INCH_ARCS], ids=lambda dialect: dialect.name)
def test_in_dialects_with_arcs_leads_are_arcs(dialect: Dialect) -> None:
    """Read from the text: round square corners all arcs are leads of 1.5 mm, and helices of half."""
    sign = design(region(box(30, 30, 90, 34)), 120, 80, 12, corner_radius_mm=0)
    cut = replace(CUT, side=CutoutSide.ON)
    planned = plan(sign, incise(90, 2.0), None, cut, None, BASSWOOD, MACHINE)
    text = write_programs(planned.plan, MACHINE, dialect)[-1].text
    scale = 25.4 if dialect is INCH_ARCS else 1.0
    radii = {
        round(scale * math.hypot(float(found[1]), float(found[2])) / 0.75)
        for found in re.finditer(r"^G[23] .*I(-?[\d.]+) J(-?[\d.]+)", text, re.MULTILINE)
    }
    slanted = [line for line in text.splitlines() if line.startswith("G1 X") and "Y" in line]

    assert radii == {1, 2}
    assert len(slanted) < 0.1 * text.count("\n")


@pytest.mark.parametrize("opening", [WINDOW, SLOT], ids=["window", "slot"])
def test_the_bit_never_comes_down_or_goes_up_at_an_openings_wall(opening: Opening) -> None:
    """Out of the interpreted program: every plunge and every lift keeps the bit's edge off the wall."""
    sign = replace(SIGN, openings=(opening,), ink=region(box(10, 10, 40, 14)))
    planned = plan(sign, incise(90, 2.0), None, CUT, None, BASSWOOD, MACHINE)
    programs = write_programs(planned.plan, MACHINE, METRIC_ARCS)
    [program] = [made for made in programs if "opening" in made.name]
    trace = read_program(program.text, program.name)
    upright = (trace.starts_mm[:, :2] == trace.ends_mm[:, :2]).all(axis=1)
    lift = upright & (trace.starts_mm[:, 2] < -1) & (trace.ends_mm[:, 2] > 1)
    plunge = upright & (trace.motions == Motion.FEED) & (trace.ends_mm[:, 2] < trace.starts_mm[:, 2])
    wall = shapely.box(80, 43, 110, 67) if opening is WINDOW else shapely.LineString([(19, 60), (31, 60)])
    wall = wall.exterior if opening is WINDOW else wall.buffer(4).exterior
    places = trace.ends_mm[lift | plunge, :2]

    assert lift.any()
    assert plunge.any()
    assert min(wall.distance(Point(place)) for place in places) > 1.5 + 0.3
    assert verify(programs, sign.board, MACHINE, sign, incise(90, 2.0), CUT).proof.passed


def test_a_milled_hole_is_left_towards_its_middle() -> None:
    """A bore of 20 mm, and one of 5 with a bit of 3: the last place is off the wall."""
    for diameter_mm in (20.0, 5.0):
        sign = replace(SIGN, holes=(Hole(x_mm=15, y_mm=60, diameter_mm=diameter_mm),))
        planned = plan(sign, incise(90, 2.0), None, CUT, None, BASSWOOD, MACHINE)
        [path] = planned.plan.operations[1].paths
        off_mm = np.hypot(*(path.points_mm[[0, -1], :2] - (15, 60)).T)

        assert off_mm.max() < diameter_mm / 2 - 1.5 - 0.2
        assert verify(
            write_programs(planned.plan, MACHINE, METRIC_ARCS),
            sign.board,
            MACHINE,
            sign,
            incise(90, 2.0),
            CUT,
        ).proof.passed


def test_a_lead_on_the_wrong_side_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """Planted: the leads through the board instead of the waste. The proof sees the board cut."""
    lead = led(CUT)
    assert lead is not None
    planted = replace(lead, waste_on_left=False)
    monkeypatch.setattr("workers.toolpaths.plan.lead_beside", lambda *given: planted)
    planned = plan(SIGN, incise(90, 2.0), None, CUT, None, BASSWOOD, MACHINE)
    programs = write_programs(planned.plan, MACHINE, METRIC_ARCS)
    proof = verify(programs, SIGN.board, MACHINE, SIGN, incise(90, 2.0), CUT).proof

    assert "overcut" in {finding.code for finding in proof.findings}
