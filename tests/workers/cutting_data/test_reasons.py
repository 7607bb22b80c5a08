"""What stands behind a speed and a feed."""

import pytest

from workers.cutting_data.feeds import cutting_data
from workers.cutting_data.reasons import speed_reasons
from workers.cutting_data.tables import BITS, MACHINES, MATERIALS
from workers.values.cutting_plan import OperationKind

BENCH, BASSWOOD = MACHINES["bench-600"], MATERIALS["basswood"]


def test_the_chip_is_the_feed_over_teeth_and_turns() -> None:
    """Worked example of the feed formula: 18000 rpm, 2 flutes, 3600 mm/min is 0.1 mm a tooth."""
    why = speed_reasons(BITS["flat-1/8in"], BASSWOOD, BENCH, 18000, 3600)
    assert why.chip_mm == pytest.approx(0.1)


def test_usual_chips_are_those_of_light_routers() -> None:
    """0.002 to 0.004 in for softwood (chip_loads.toml, light-router-chip-loads), in mm."""
    why = speed_reasons(BITS["flat-1/8in"], BASSWOOD, BENCH, 18000, 2430)
    assert why.usual_chip_mm == pytest.approx((0.0508, 0.1016))


def test_a_wide_bit_is_slowed_where_the_machine_feeds_no_faster() -> None:
    """The bench router's feed limit is reached, so the spindle turns below the wood's usual speed."""
    bit = BITS["vee-90"]
    data = cutting_data(bit, BASSWOOD, BENCH, OperationKind.INCISE)
    why = speed_reasons(bit, BASSWOOD, BENCH, data.spindle_rpm, data.feed_mm_per_min)
    assert why.feed_held
    assert why.slowed_from_rpm is not None
    assert not why.drilling
