"""Holes: pecked with their own drill, or milled round (trade.md P-07, P-08)."""

from dataclasses import replace

import numpy as np
import pytest

from tests.support.small_carving import SmallBlock
from tests.support.specimens import PACE, drill, mill, vee
from workers.errors import NotCuttableError, ParameterOutOfRangeError
from workers.toolpaths.drilling import hole_paths
from workers.values.cutter import Cutter
from workers.values.cutting_plan import CutPath
from workers.values.design import Hole

FIVE = Hole(x_mm=20, y_mm=30, diameter_mm=5.0)
TWENTY = Hole(x_mm=20, y_mm=30, diameter_mm=20.0)


def paths(*holes: Hole, cutter: Cutter, depth_mm: float = 12.3) -> list[CutPath]:
    """The ways of a bit into holes."""
    return hole_paths(holes, cutter, depth_mm, 3.0, 1.4, PACE)


def test_a_drill_pecks_straight_down_and_clears_its_chips() -> None:
    """In on the axis, no deeper than a peck at a time, out of the hole between pecks."""
    [path] = paths(FIVE, cutter=drill())
    z_mm = path.points_mm[:, 2]

    assert (path.points_mm[:, :2] == (20, 30)).all()
    assert z_mm.min() == pytest.approx(-12.3)
    lows = z_mm[z_mm < 0]
    assert np.diff(np.unique(np.append(-lows, 0.0))).max() <= 3.0
    assert (z_mm > 0).sum() == 4


def test_a_drill_goes_back_down_its_hole_quickly() -> None:
    """Where it has drilled nothing is in its way; fresh stock is taken at the plunge feed."""
    [path] = paths(FIVE, cutter=drill())
    z_mm = path.points_mm[:, 2]
    falling = np.flatnonzero(np.diff(z_mm) < 0)
    fresh = [row for row in falling if z_mm[row + 1] < z_mm[: row + 1].min() - 1e-9]

    assert {path.feeds_mm_per_min[row + 1] for row in fresh} == {500}
    assert {path.feeds_mm_per_min[row + 1] for row in falling if row not in fresh} == {1000}


@pytest.mark.parametrize("hole", [FIVE, TWENTY, Hole(x_mm=20, y_mm=30, diameter_mm=9.0)])
def test_a_milled_hole_is_round_right_through_and_no_wider(hole: Hole) -> None:
    """Swept through a block: all inside the circle is gone, nothing outside."""
    block = SmallBlock(8, 18, 32, 42, 0.1)
    block.cut(paths(hole, cutter=mill()), mill())
    x_mm, y_mm = np.meshgrid(block.x_mm, block.y_mm)
    away_mm = np.hypot(x_mm - 20, y_mm - 30)

    assert block.depth_mm[away_mm < hole.diameter_mm / 2 - 0.02].min() == pytest.approx(12.3)
    assert block.depth_mm[away_mm > hole.diameter_mm / 2 + 0.001].max() == 0


def test_a_mill_goes_round_anticlockwise_and_never_straight_down() -> None:
    """Climb inside a hole; a helix of 5 degrees."""
    [path] = paths(FIVE, cutter=mill())
    steps_mm = np.diff(path.points_mm, axis=0)
    from_middle_mm = path.points_mm[:-1, :2] - (20, 30)
    turning = from_middle_mm[:, 0] * steps_mm[:, 1] - from_middle_mm[:, 1] * steps_mm[:, 0]

    assert (turning > 0).all()
    assert np.degrees(np.arctan2(-steps_mm[:, 2], np.hypot(*steps_mm[:, :2].T))).max() < 5.2


def test_a_wide_hole_leaves_no_loose_slug() -> None:
    """Rings are no farther apart than the mill's radius, from the inside out."""
    [path] = paths(TWENTY, cutter=mill())
    radii_mm = np.unique(np.round(np.hypot(*(path.points_mm[:, :2] - (20, 30)).T), 2))

    assert radii_mm[0] < 1.5875
    assert np.diff(radii_mm).max() < 1.5875
    assert radii_mm[-1] == pytest.approx(10 - 1.5875, abs=0.01)


def test_a_mill_of_the_holes_own_size_is_pecked() -> None:
    """There is no room to go round."""
    [path] = paths(Hole(x_mm=1, y_mm=2, diameter_mm=3.2), cutter=mill(3.175))

    assert (path.points_mm[:, :2] == (1, 2)).all()


def test_a_bit_that_does_not_fit_is_refused_by_name_and_place() -> None:
    """Too large a bit; and a drill too small, for it makes only its own size."""
    with pytest.raises(NotCuttableError, match=r"hole of 5\.000 mm at x 20\.0, y 30\.0.*8\.000 mm"):
        paths(FIVE, cutter=mill(8.0))
    with pytest.raises(NotCuttableError, match="only its own size") as refused:
        paths(FIVE, TWENTY, cutter=drill())
    assert [finding.at_mm for finding in refused.value.findings] == [(20, 30)]


def test_a_v_bit_makes_no_hole() -> None:
    """Nor does a ball nose."""
    with pytest.raises(ParameterOutOfRangeError, match="vee-90"):
        paths(FIVE, cutter=vee(90))


def test_holes_are_made_in_a_good_order() -> None:
    """A row of holes given in a bad order is drilled along the row."""
    row = [Hole(x_mm=x, y_mm=0, diameter_mm=5) for x in (50, 10, 40, 20, 30)]

    order = [path.points_mm[0, 0] for path in paths(*row, cutter=drill())]

    assert order in ([10, 20, 30, 40, 50], [50, 40, 30, 20, 10])


def test_a_drill_stands_at_the_bottom_as_long_as_asked() -> None:
    """After the last peck; a milled hole needs no such rest."""
    [drilled] = hole_paths((FIVE,), drill(), 12.3, 4.0, 1.0, PACE, dwell_s=0.5)
    [milled] = hole_paths((FIVE,), mill(3.0), 12.3, 4.0, 1.0, PACE, dwell_s=0.5)

    assert (drilled.dwell_s, milled.dwell_s) == (0.5, 0.0)
    assert drilled.points_mm[-1, 2] == -12.3


def test_pecks_stay_pecks_at_whatever_feeds() -> None:
    """Down and up at one feed all lie on one line; the bit must come out of the hole all the same."""
    even = replace(PACE, plunge_mm_per_min=1000.0)
    [path] = hole_paths((FIVE,), drill(), 12.0, 3.0, 1.0, even)

    assert path.points_mm[:, 2].tolist() == [-3, 0.5, -6, 0.5, -9, 0.5, -12]
