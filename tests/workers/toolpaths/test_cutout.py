"""The board cut free: climbing, ramped, over bridges as wide as asked (trade.md P-04, P-05, P-08, P-09)."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from shapely.geometry import LinearRing, Polygon, box

from tests.support.small_carving import SmallBlock
from tests.support.specimens import PACE, cutout, mill, vee
from workers.errors import NotCuttableError, ParameterOutOfRangeError
from workers.toolpaths.cutout import cutout_of, cutout_path
from workers.values.cuts import CutoutCut
from workers.values.cutting_plan import CutPath

BOARD = box(0, 0, 120, 80)
ROUNDED = box(10, 10, 110, 70).buffer(10, quad_segs=32)


def planned(
    cut: CutoutCut, outline: Polygon = BOARD, thickness_mm: float = 12.0, pass_mm: float = 3.0
) -> CutPath:
    """The way round a board."""
    return cutout_path(cutout_of(outline, thickness_mm, cut), pass_mm, PACE)


def slopes_deg(path: CutPath) -> NDArray[np.float64]:
    """Downward angle of each piece."""
    steps_mm = np.diff(path.points_mm, axis=0)
    return np.degrees(np.arctan2(-steps_mm[:, 2], np.hypot(steps_mm[:, 0], steps_mm[:, 1])))


def test_it_goes_clockwise_round_the_board_half_a_bit_outside() -> None:
    """Climb with M3: clockwise seen from above; the cutter's edge is on the outline."""
    path = planned(cutout(0), ROUNDED)
    last_round = path.points_mm[path.points_mm[:, 2] == path.points_mm[:, 2].min()][:, :2]

    assert not LinearRing(last_round).is_ccw
    distances_mm = [
        ROUNDED.exterior.distance(LinearRing(last_round).interpolate(place)) for place in range(0, 300, 7)
    ]
    assert distances_mm == pytest.approx([1.5875] * len(distances_mm), abs=0.006)
    assert not ROUNDED.intersects(LinearRing(last_round))


def test_it_goes_past_the_board_and_no_deeper() -> None:
    """Thickness and what the order says past it."""
    assert planned(cutout(4, past_mm=0.3)).points_mm[:, 2].min() == pytest.approx(-12.3)


def test_nothing_is_plunged_into() -> None:
    """Down at 3 degrees into a pass, at 10 behind a tab: never steeper."""
    assert slopes_deg(planned(cutout(4))).max() <= 10.05
    assert slopes_deg(planned(cutout(0))).max() <= 3.05
    assert planned(cutout(4)).points_mm[0, 2] == 0.0


def test_each_pass_takes_no_more_than_its_depth() -> None:
    """At every place of the way the bit comes by at least once in each 3.1 mm of depth."""
    path = planned(cutout(0))
    near = np.abs(path.points_mm[:, :2] - (121.5875, 80.0)).max(axis=1) < 1e-3
    heights_mm = np.sort(np.unique(np.append(path.points_mm[near, 2], 0.0)))

    assert np.diff(heights_mm).max() < 3.1
    assert len(heights_mm) >= 4


@pytest.mark.parametrize("width_mm", [4.0, 6.0, 10.0])
def test_bridges_are_as_wide_and_as_high_as_asked(width_mm: float) -> None:
    """Swept through a block, the middle of the slot still stands over the length and to the height asked."""
    cut = cutout(2, width_mm=width_mm, height_mm=2.0)
    path = planned(cut)
    cell_mm = 0.1
    block = SmallBlock(-4, -4, 124, 84, cell_mm)
    block.cut([path], cut.cutter)
    standing = 0.0
    for row_mm in (-1.5875, 81.5875):
        line_mm = block.depth_mm[int((row_mm + 4) / cell_mm), 40:-40]
        bridge = line_mm < 12.0
        standing += float(np.count_nonzero(bridge)) * cell_mm
        assert line_mm[bridge] == pytest.approx(10.0, abs=1e-3)

    assert standing == pytest.approx(2 * width_mm, abs=4 * cell_mm)


def test_without_tabs_nothing_stands() -> None:
    """The whole ring round the board is cut through."""
    cut = cutout(0)
    block = SmallBlock(-4, -4, 124, 84, 0.25)
    block.cut([planned(cut)], cut.cutter)
    x_mm, y_mm = np.meshgrid(block.x_mm, block.y_mm)
    outside_mm = np.maximum(np.maximum(-x_mm, x_mm - 120), np.maximum(-y_mm, y_mm - 80))
    slot = (outside_mm > 0.1) & (outside_mm < 2.0)

    assert block.depth_mm[slot].min() == pytest.approx(12.3)
    assert block.depth_mm[outside_mm < -0.01].max() == 0


def test_a_short_bit_is_refused_with_both_figures() -> None:
    """Cutting length against thickness and what lies past it."""
    short = replace(cutout(4), cutter=mill(length_mm=10.0))

    with pytest.raises(NotCuttableError, match=r"10\.00 mm deep.*12\.30 mm") as refused:
        cutout_of(BOARD, 12.0, short)
    assert refused.value.findings[0].code == "bit-too-short"


def test_only_an_end_mill_cuts_out() -> None:
    """A V-bit would leave a slanted edge."""
    with pytest.raises(ParameterOutOfRangeError, match="vee-60"):
        cutout_of(BOARD, 12.0, replace(cutout(4), cutter=vee(60)))


def test_tabs_as_high_as_the_board_are_refused() -> None:
    """They would leave nothing to cut."""
    with pytest.raises(ParameterOutOfRangeError) as refused:
        cutout_of(BOARD, 12.0, cutout(4, height_mm=12.0))
    assert refused.value.field == "/inputs/cutout/tabs/height"
