"""Speeds and feeds stay inside every limit."""

import dataclasses
import itertools

import pytest

from workers.cutting_data.feeds import chip_load_mm, chip_range_mm, cutting_data
from workers.cutting_data.tables import BITS, MACHINES, MATERIALS
from workers.values.cutter import Drill, EndMill, KeyholeCutter
from workers.values.cutting_plan import OperationKind

ALL = list(itertools.product(BITS.values(), MATERIALS.values(), MACHINES.values(), OperationKind))


def test_nothing_exceeds_the_machine_or_the_bit() -> None:
    """Every bit in every material on every machine: speeds, feeds and depths within limits."""
    for cutter, material, machine, kind in ALL:
        data = cutting_data(cutter, material, machine, kind)
        assert machine.min_spindle_rpm <= data.spindle_rpm <= machine.max_spindle_rpm
        assert 0 < data.feed_mm_per_min <= machine.max_feed_mm_per_min
        assert 0 < data.plunge_mm_per_min <= machine.max_plunge_mm_per_min
        assert data.plunge_mm_per_min <= data.feed_mm_per_min
        assert 0 < data.pass_depth_mm <= cutter.cutting_length_mm
        assert 0 < data.stepover_fraction < 1


def test_a_slow_machine_slows_its_spindle_first() -> None:
    """Where the feed is capped, speed falls so that each tooth still takes its chip."""
    slow = dataclasses.replace(MACHINES["bench-600"], max_feed_mm_per_min=1500.0)
    bit, board = BITS["flat-1/4in"], MATERIALS["basswood"]
    fast_data = cutting_data(bit, board, MACHINES["shop-1200"], OperationKind.CLEAR)
    slow_data = cutting_data(bit, board, slow, OperationKind.CLEAR)
    assert slow_data.spindle_rpm == slow.min_spindle_rpm < fast_data.spindle_rpm
    assert slow_data.feed_mm_per_min == 1500.0


def test_chip_loads_stay_in_the_light_range() -> None:
    """From 1/16 to 1/4 in the default lies inside the published light range of its family."""
    light_in = {"hardwood": (0.001, 0.003), "softwood": (0.002, 0.004), "fibreboard": (0.002, 0.005)}
    for family, (low, high) in light_in.items():
        for diameter_mm in (1.5875, 2, 3.175, 4, 6.35):
            assert low * 25.4 - 1e-12 <= chip_load_mm(family, diameter_mm) <= high * 25.4 + 1e-12


def test_small_bits_take_smaller_chips() -> None:
    """Below 1/16 in the chip shrinks with the bit."""
    assert chip_load_mm("softwood", 0.79375) == pytest.approx(chip_load_mm("softwood", 1.5875) / 2)


def test_harder_wood_is_cut_slower() -> None:
    """Hard maple gets less feed and depth than basswood with the same bit."""
    soft, hard = (
        cutting_data(BITS["flat-1/8in"], MATERIALS[name], MACHINES["bench-600"], OperationKind.CUTOUT)
        for name in ("basswood", "hard-maple")
    )
    assert hard.feed_mm_per_min < soft.feed_mm_per_min
    assert hard.pass_depth_mm < soft.pass_depth_mm


def test_a_drill_feeds_straight_down() -> None:
    """Its plunge is its feed."""
    data = cutting_data(BITS["drill-5mm"], MATERIALS["walnut"], MACHINES["bench-600"], OperationKind.DRILL)
    assert data.plunge_mm_per_min == data.feed_mm_per_min


def test_what_a_tooth_takes_is_in_the_range_of_the_tables_or_the_machine_can_do_no_better() -> None:
    """Every bit in every material on every machine, to the last ten mm/min that feeds are rounded to.

    Source: chip_loads.toml; chip = feed / (speed x flutes), sources.toml feed-formula.
    """
    forced = 0
    for cutter, material, machine, kind in ALL:
        data = cutting_data(cutter, material, machine, kind)
        low_mm, high_mm = chip_range_mm(material.family, cutter, data.pass_depth_mm)
        chip_mm = data.feed_mm_per_min / (data.spindle_rpm * cutter.flutes_count)
        assert chip_mm <= high_mm * 1.001, (cutter.name, material.name, machine.name)
        if chip_mm < low_mm / 1.05:
            fastest = machine.max_feed_mm_per_min
            if isinstance(cutter, Drill) and kind is OperationKind.DRILL:
                fastest = machine.max_plunge_mm_per_min
            assert data.spindle_rpm == machine.min_spindle_rpm, (cutter.name, material.name, machine.name)
            assert data.feed_mm_per_min >= fastest - 10, (cutter.name, material.name, machine.name)
            forced += 1
    assert forced < len(ALL) / 20


@pytest.mark.parametrize(
    ("family", "diameter_in", "low_in", "high_in"),
    [("hardwood", 0.125, 0.001, 0.005), ("plastic", 0.25, 0.003, 0.010), ("softwood", 0.0625, 0.002, 0.003)],
)
def test_the_range_of_a_chip_is_that_of_both_tables(
    family: str, diameter_in: float, low_in: float, high_in: float
) -> None:
    """Light routers' least and the industrial most (trade.md 2.2); half the thinnest bit, half its most."""
    bit = EndMill(name="f", diameter_mm=25.4 * diameter_in, cutting_length_mm=20, flutes_count=2)

    assert chip_range_mm(family, bit, 3.0) == pytest.approx((25.4 * low_in, 25.4 * high_in))


def test_a_keyhole_bit_is_fed_at_half_its_chip_and_no_less_than_the_least() -> None:
    """Its chips leave by the slot alone (a choice); an edge that takes less than the least rubs."""
    bench = MACHINES["shop-1200"]
    for material, cutter in itertools.product(MATERIALS.values(), BITS.values()):
        if not isinstance(cutter, KeyholeCutter):
            continue
        data = cutting_data(cutter, material, bench, OperationKind.CLEAR)
        chip_mm = data.feed_mm_per_min / (data.spindle_rpm * cutter.flutes_count)
        low_mm, _ = chip_range_mm(material.family, cutter, cutter.cutting_length_mm)
        usual_mm = chip_load_mm(material.family, cutter.diameter_mm)
        assert chip_mm == pytest.approx(max(usual_mm / 2, low_mm), rel=0.01)
