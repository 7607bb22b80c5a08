"""Advice: the smallest size at which all shows, and the bit that shows most."""

from dataclasses import replace

import pytest
from shapely import affinity
from shapely.geometry import Polygon, box

from tests.support.specimens import BASSWOOD, MACHINE, mill, region, vee
from workers.resolvability.advice import advise
from workers.resolvability.examine import examine
from workers.values.cuts import InciseCut
from workers.values.cutter import VeeCutter
from workers.values.examination import Verdict

WOOD = replace(BASSWOOD, shows_depth_mm=0.5)


def small_vee(angle_deg: float) -> VeeCutter:
    """Return a sharp V-bit that reaches 12 mm deep, and no deeper than its cone."""
    return vee(angle_deg, diameter_mm=12, length_mm=12)


CUT = InciseCut(cutter=small_vee(90), depth_limit_mm=3)  # shows from 1 mm on


def test_the_smallest_size_is_where_the_thinnest_stroke_just_shows() -> None:
    """A stroke of 0.4 mm must grow 2.5 times to be 1 mm wide; the drawing with it."""
    drawing = region(box(0, 0, 30, 2), box(0, 5, 30, 5.4))

    advice = advise(drawing, CUT, WOOD, MACHINE)

    assert advice.smallest_scale == pytest.approx(2.5, rel=0.003)
    assert advice.smallest_width_mm == pytest.approx(75, rel=0.003)
    assert "75 mm" in advice.sentences[0]


def test_at_the_smallest_size_an_examination_finds_all_to_show() -> None:
    """The advice holds: at that size everything shows, and at a twentieth less not."""
    drawing = region(
        Polygon([(0, 0.3), (10, 0.25), (14, 0.4), (40, 0.3), (40, 0.9), (14, 0.7), (10, 0.8), (0, 0.8)]),
        box(0, 3, 1.2, 30),
    )

    scale = advise(drawing, CUT, WOOD, MACHINE).smallest_scale

    assert scale is not None
    for factor, all_show in ((1.001, True), (0.95, False)):
        sized = region(affinity.scale(drawing.polygons, factor * scale, factor * scale, origin=(0, 0)))
        verdicts = {run.verdict for run in examine(sized, CUT, WOOD).strokes}
        assert (verdicts == {Verdict.SHOWS}) is all_show


def test_a_stroke_drawn_to_a_point_does_not_need_endless_size() -> None:
    """The tip of a point fades at any size; the stroke counts from half its width on."""
    pointed = region(Polygon([(0, 0), (30, -1), (30, 1)]))

    assert advise(pointed, CUT, WOOD, MACHINE).smallest_scale == pytest.approx(1.0, abs=0.1)


def test_the_bit_that_shows_most_comes_first() -> None:
    """Narrow angles show more of thin ink: 0.4 mm shows from 43.6 degrees down at 0.5 mm."""
    drawing = region(box(0, 0, 30, 2), box(0, 5, 30, 5.4))

    bits = [small_vee(90), small_vee(120), small_vee(30), small_vee(60), mill()]
    advice = advise(drawing, CUT, WOOD, MACHINE, bits)

    assert [share.bit for share in advice.bits] == ["vee-30", "vee-90", "vee-120", "vee-60"]
    assert advice.bits[0].shows_fraction == pytest.approx(1.0)
    assert "vee-30" in advice.sentences[1]


def test_the_bit_chosen_wins_a_tie() -> None:
    """No other bit is advised where it would show no more."""
    advice = advise(region(box(0, 0, 30, 2)), CUT, WOOD, MACHINE, [small_vee(60), small_vee(120)])

    assert advice.bits[0].bit == "vee-90"
    assert not any("vee-60" in sentence or "vee-120" in sentence for sentence in advice.sentences)


def test_no_size_is_promised_where_the_depth_limit_hides_all() -> None:
    """With a depth limit below what shows, size does not help."""
    advice = advise(region(box(0, 0, 30, 2)), replace(CUT, depth_limit_mm=0.3), WOOD, MACHINE)

    assert advice.smallest_scale is None
    assert "depth limit" in advice.sentences[0]


def test_a_shallower_limit_that_shows_as_much_is_told() -> None:
    """A 2 mm stroke shows from 0.5 mm on; a V of 90 degrees cuts it 1 mm deep, so floors end at 1 mm."""
    advice = advise(region(box(0, 0, 30, 2)), CUT, WOOD, MACHINE)

    assert [limit.depth_limit_mm for limit in advice.depth_limits] == pytest.approx([0.5, 1.0, 3.0])
    assert {limit.shows_fraction for limit in advice.depth_limits} == {1.0}
    assert "0.50 mm on shows as much" in advice.sentences[1]


def test_a_limit_that_hides_all_is_set_against_one_that_shows() -> None:
    """With 0.3 mm nothing shows; with 0.5 mm all of it."""
    advice = advise(region(box(0, 0, 30, 2)), replace(CUT, depth_limit_mm=0.3), WOOD, MACHINE)

    assert advice.depth_limits[0].shows_fraction == 0.0
    assert "0.50 mm would show 100 %" in advice.sentences[1]


def test_a_larger_size_costs_more_minutes() -> None:
    """The minutes at the smallest size that shows all are those of the larger drawing."""
    drawing = region(box(0, 0, 30, 2), box(0, 5, 30, 5.4))

    advice = advise(drawing, CUT, WOOD, MACHINE, [small_vee(90)])

    assert advice.smallest_minutes is not None
    assert advice.smallest_minutes > advice.bits[0].minutes > 0


def test_shares_are_those_of_an_examination() -> None:
    """A nick nobody would see takes nothing from the share, as it takes nothing from the verdict."""
    nicked = region(box(0, 0, 40, 2) - box(20, 0, 20.4, 0.525) - box(20, 1.475, 20.4, 2))

    assert {run.verdict for run in examine(nicked, CUT, WOOD).strokes} == {Verdict.SHOWS}
    assert advise(nicked, CUT, WOOD, MACHINE).bits[0].shows_fraction == 1.0
