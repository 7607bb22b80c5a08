"""Verdicts on strokes and walls."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box

from tests.support.specimens import BASSWOOD, incise, region
from workers.resolvability.examine import examine
from workers.values.cuts import InciseCut
from workers.values.examination import Examination, Judged, Verdict

WOOD = replace(BASSWOOD, shows_depth_mm=0.5)
CUT = incise(90, 3, 0.2)  # lost below 0.2 mm, faint below 1.2 mm


def examined(shape: shapely.Geometry, cut: InciseCut = CUT) -> Examination:
    """Return the verdicts on a shape."""
    return examine(region(shape), cut, WOOD)


def lengths_mm(runs: tuple[Judged, ...]) -> dict[Verdict, float]:
    """Return the length of all runs by verdict."""
    ordered = sorted(runs, key=lambda run: run.verdict)
    groups = itertools.groupby(ordered, key=lambda run: run.verdict)
    return {verdict: sum(run.length_mm for run in group) for verdict, group in groups}


def taper(start_mm: float, end_mm: float, length_mm: float = 40) -> Polygon:
    """Return a stroke whose width runs from one to another."""
    return Polygon([(0, -start_mm / 2), (length_mm, -end_mm / 2), (length_mm, end_mm / 2), (0, start_mm / 2)])


def test_a_square_is_one_dot_that_shows() -> None:
    """The branches into its corners are not thin strokes of their own."""
    (dot,) = examined(box(0, 0, 4, 4)).strokes

    assert dot.verdict is Verdict.SHOWS
    assert dot.width_mm == pytest.approx(4)
    assert dot.at_mm == pytest.approx((2, 2))


def test_a_round_dot_too_small_for_the_tip_is_lost() -> None:
    """A speck narrower than the tip is judged by its width."""
    (dot,) = examined(Point(1, 1).buffer(0.09, quad_segs=16)).strokes

    assert dot.verdict is Verdict.LOST
    assert dot.width_mm == pytest.approx(0.18, abs=0.001)


def test_a_taper_changes_its_verdict_where_its_width_passes_the_limits() -> None:
    """From 0.1 to 2.1 mm over 40 mm: lost for 2 mm, faint for 20 mm, then it shows."""
    strokes = examined(taper(0.1, 2.1)).strokes

    lengths = lengths_mm(strokes)
    assert lengths[Verdict.LOST] == pytest.approx(2.0, abs=0.1)
    assert lengths[Verdict.FAINT] == pytest.approx(20.0, abs=0.1)
    assert lengths[Verdict.SHOWS] == pytest.approx(18.0, abs=1.2)  # up to where the end's corners begin
    assert len(strokes) == 3


def test_a_nick_nobody_would_see_makes_no_entry() -> None:
    """A stroke that is too thin for a shorter stretch than it is wide stays one entry."""
    nicked = box(0, 0, 40, 2) - box(20, 0, 20.4, 0.45) - box(20, 1.55, 20.4, 2)

    (stroke,) = examined(nicked).strokes

    assert stroke.verdict is Verdict.SHOWS
    assert stroke.narrowest_mm == pytest.approx(1.1, abs=0.01)
    assert stroke.width_mm == pytest.approx(2.0, abs=0.01)


def test_strokes_go_straight_on_where_they_cross() -> None:
    """A cross is two strokes, not four."""
    cross = shapely.union(box(-20, -1, 20, 1), box(-1, -20, 1, 20))

    assert len(examined(cross).strokes) == 2


def test_a_depth_limit_below_what_shows_leaves_all_faint() -> None:
    """However wide, nothing shows that may not be cut deep enough."""
    shallow = replace(CUT, depth_limit_mm=0.4)

    assert {run.verdict for run in examined(box(0, 0, 40, 5), shallow).strokes} == {Verdict.FAINT}


@pytest.mark.parametrize(
    ("gap_mm", "verdict"), [(0.03, Verdict.GONE), (0.5, Verdict.FRAGILE), (1.0, Verdict.STANDS)]
)
def test_a_wall_is_judged_by_the_paper_between_two_strokes(gap_mm: float, verdict: Verdict) -> None:
    """Two strokes side by side: the wall is as thick as the gap is wide, and as long."""
    pair = MultiPolygon([box(0, 0, 30, 3), box(0, 3 + gap_mm, 30, 6 + gap_mm)])

    (wall,) = examined(pair).walls

    assert wall.verdict is verdict
    assert wall.width_mm == pytest.approx(gap_mm, abs=0.02)
    assert wall.length_mm == pytest.approx(30, abs=2)  # it ends where the corners beside it round off
    assert wall.at_mm == pytest.approx((15, 3 + gap_mm / 2), abs=1.0)


def test_the_open_field_is_no_wall() -> None:
    """Strokes far apart, and the counter of a wide ring, have no wall between them."""
    ring = Point(0, 0).buffer(10) - Point(0, 0).buffer(6)

    assert examined(MultiPolygon([ring, box(20, 0, 30, 2)])).walls == ()


def test_a_small_island_of_paper_is_a_wall() -> None:
    """A peg of paper in the ink breaks as a wall does."""
    pierced = box(0, 0, 10, 10) - Point(5, 5).buffer(0.3, quad_segs=16)

    (peg,) = examined(pierced).walls

    assert peg.verdict is Verdict.FRAGILE
    assert peg.width_mm == pytest.approx(0.6, abs=0.01)


def test_no_ink_no_verdicts() -> None:
    """An empty region has neither strokes nor walls."""
    assert examined(MultiPolygon()).strokes == ()


@settings(deadline=None, max_examples=25)
@given(
    turn_deg=st.floats(0, 360),
    x_mm=st.floats(-500, 500),
    width_mm=st.floats(0.15, 4),
)
def test_turning_and_moving_change_no_verdict(turn_deg: float, x_mm: float, width_mm: float) -> None:
    """Verdicts belong to the stroke, not to where it stands; widths just at a limit are left out."""
    assume(abs(width_mm - 0.2) > 0.01 and abs(width_mm - 1.2) > 0.01)
    stroke = LineString([(0, 0), (20, 5), (30, -10)]).buffer(width_mm / 2, quad_segs=12)
    moved = affinity.translate(affinity.rotate(stroke, turn_deg), x_mm, 20)

    here, there = lengths_mm(examined(stroke).strokes), lengths_mm(examined(moved).strokes)

    assert here.keys() == there.keys()
    assert np.allclose([*here.values()], [there[verdict] for verdict in here], atol=0.05)


@settings(deadline=None, max_examples=25)
@given(width_mm=st.floats(0.1, 2.5), more_mm=st.floats(0.02, 1))
def test_a_thicker_stroke_never_shows_less(width_mm: float, more_mm: float) -> None:
    """Monotony: adding ink to a lone stroke cannot make its verdict worse."""
    order = [Verdict.LOST, Verdict.FAINT, Verdict.SHOWS]
    line = LineString([(0, 0), (20, 5), (30, -10)])

    thin, thick = (
        max(examined(line.buffer(width / 2, quad_segs=12)).strokes, key=lambda run: run.length_mm).verdict
        for width in (width_mm, width_mm + more_mm)
    )

    assert order.index(thick) >= order.index(thin)
