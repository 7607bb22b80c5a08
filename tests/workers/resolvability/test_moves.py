"""Every move is told: where, and how far."""

import pytest
from shapely.geometry import box

from tests.support.specimens import region
from workers.geometry.polygon_repair import region_of
from workers.resolvability.moves import change_between

BLOCK = region(box(0, 0, 10, 4))


def test_the_same_area_has_not_moved() -> None:
    """Nothing added, nothing taken."""
    change = change_between(BLOCK, BLOCK)

    assert change.moves == ()
    assert change.moved_mm == 0


def test_added_and_taken_ink_are_told_apart_the_farthest_first() -> None:
    """A knob 2 mm high on top, a bite 0.5 mm deep on the right: two moves with their areas."""
    after = region_of((BLOCK.polygons | box(2, 3, 3, 6)) - box(9.5, 1, 11, 2))

    knob, bite = change_between(BLOCK, after).moves

    assert (knob.added, bite.added) == (True, False)
    assert (knob.moved_mm, bite.moved_mm) == pytest.approx((2, 0.5))
    assert (knob.area_mm2, bite.area_mm2) == pytest.approx((2, 0.5))
    assert knob.at_mm[1] == 6


def test_a_filled_notch_has_moved_though_its_corners_have_not() -> None:
    """A notch 1 mm deep and wide filled flush: the new edge is up to half a millimetre from old ink."""
    notched = region_of(BLOCK.polygons - box(4, 3, 5, 5))

    (move,) = change_between(notched, BLOCK).moves

    assert move.moved_mm == pytest.approx(0.5, abs=0.03)
    assert move.at_mm == pytest.approx((4.5, 4), abs=0.06)
