"""The board cut free: climbing, ramped, over bridges as wide as asked (trade.md P-04, P-05, P-08, P-09)."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from shapely.geometry import LinearRing, Point, Polygon, box

from tests.support.small_carving import SmallBlock
from tests.support.specimens import PACE, board, cutout, mill, region, vee
from workers.errors import NotCuttableError, ParameterOutOfRangeError
from workers.toolpaths.cutout import cutout_of
from workers.toolpaths.cutout_passes import cutout_paths
from workers.values.cuts import CutoutCut, CutoutSide
from workers.values.cutting_plan import CutPath
from workers.values.design import Design

BOARD = box(0, 0, 120, 80)
ROUNDED = box(10, 10, 110, 70).buffer(10, quad_segs=32)


def planned(
    cut: CutoutCut, outline: Polygon = BOARD, thickness_mm: float = 12.0, pass_mm: float = 3.0
) -> CutPath:
    """The one way round a board."""
    [path] = cutout_paths(cutout_of(sign(outline, thickness_mm), cut), pass_mm, PACE)
    return path


def sign(outline: Polygon = BOARD, thickness_mm: float = 12.0) -> Design:
    """A plain board of this outline."""
    return Design(board=board(120.0, 80.0, thickness_mm), outline=outline, ink=region(box(40, 30, 80, 36)))


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
        cutout_of(sign(), short)
    assert refused.value.findings[0].code == "bit-too-short"


def test_only_an_end_mill_cuts_out() -> None:
    """A V-bit would leave a slanted edge."""
    with pytest.raises(ParameterOutOfRangeError, match="vee-60"):
        cutout_of(sign(), replace(cutout(4), cutter=vee(60)))


def test_tabs_as_high_as_the_board_are_refused() -> None:
    """They would leave nothing to cut."""
    with pytest.raises(ParameterOutOfRangeError) as refused:
        cutout_of(sign(), cutout(4, height_mm=12.0))
    assert refused.value.field == "/inputs/cutout/tabs/height"


def test_conventional_goes_the_other_way_round() -> None:
    """Anticlockwise round the outside, against the bit's turn (trade.md P-08)."""
    path = planned(replace(cutout(0), climb=False))
    last_round = path.points_mm[path.points_mm[:, 2] == path.points_mm[:, 2].min()][:, :2]

    assert LinearRing(last_round).is_ccw


@pytest.mark.parametrize(
    ("side", "distance_mm", "is_ccw"),
    [(CutoutSide.OUTSIDE, 1.5875, False), (CutoutSide.ON, 0.0, False), (CutoutSide.INSIDE, -1.5875, True)],
)
def test_the_bit_runs_outside_on_or_inside_the_line(
    side: CutoutSide, distance_mm: float, is_ccw: bool
) -> None:
    """Half a bit out, on it, or half a bit in; climb inside is anticlockwise (trade.md P-08)."""
    path = planned(replace(cutout(0), side=side))
    last_round = path.points_mm[path.points_mm[:, 2] == path.points_mm[:, 2].min()][:, :2]

    assert LinearRing(last_round).is_ccw is is_ccw
    assert last_round.min(axis=0) == pytest.approx([-distance_mm] * 2, abs=1e-3)
    assert last_round.max(axis=0) == pytest.approx([120 + distance_mm, 80 + distance_mm], abs=1e-3)


def test_a_cut_inside_the_line_spares_the_carving_or_is_refused() -> None:
    """The ink reaches to within 4 mm of the edge; a bit of 6 mm inside the line takes all of 6."""
    near = replace(sign(), ink=region(box(4, 30, 80, 36)))
    cut = replace(cutout(0), cutter=mill(6.0), side=CutoutSide.INSIDE)

    with pytest.raises(NotCuttableError, match=r"6\.00 mm of the board.*11\.9 mm2") as refused:
        cutout_of(near, cut)
    assert refused.value.findings[0].code == "carving-cut-away"
    cutout_of(near, replace(cut, side=CutoutSide.ON))


def test_a_thin_last_layer_is_left_under_the_whole_outline() -> None:
    """P-06: 0.4 mm of the board stand until the last pass, which takes them and what lies past."""
    depths_mm = cutout_of(sign(), replace(cutout(0), last_layer_mm=0.4)).pass_depths_mm(3.0)

    assert depths_mm == pytest.approx([2.9, 5.8, 8.7, 11.6, 12.3])


def test_a_last_layer_as_thick_as_the_board_is_refused() -> None:
    """There would be nothing before it."""
    with pytest.raises(ParameterOutOfRangeError) as refused:
        cutout_of(sign(), replace(cutout(0), last_layer_mm=12.0))
    assert refused.value.field == "/inputs/cutout/last_layer"


def cut_block(paths: list[CutPath], cut: CutoutCut, cell_mm: float = 0.1) -> SmallBlock:
    """A block 5 mm larger than the board all round, cut by the paths."""
    block = SmallBlock(-5, -5, 125, 85, cell_mm)
    block.cut(paths, cut.cutter)
    return block


@pytest.mark.parametrize("sloped", [False, True], ids=["square", "sloped"])
def test_the_wall_is_finished_in_a_round_of_its_own(sloped: bool) -> None:
    """The rough passes stay 0.3 mm off; the last round meets and leaves the wall at a slight slant.

    The block has upright walls on the outline but for the bridges.
    """
    cut = replace(cutout(4), wall_allowance_mm=0.3, tabs_sloped=sloped)
    rough, wall = cutout_paths(cutout_of(sign(ROUNDED), cut), 3.0, PACE)
    block = cut_block([rough, wall], cut)
    roughed_mm = min(ROUNDED.distance(Point(place)) for place in rough.points_mm[:, :2])
    x_mm, y_mm = np.meshgrid(block.x_mm, block.y_mm)
    off_mm = shapely.distance(ROUNDED, shapely.points(x_mm, y_mm))
    beside = (off_mm > 0.04) & (off_mm < 0.16)

    assert roughed_mm == pytest.approx(1.5875 + 0.3, abs=0.003)
    assert block.depth_mm[off_mm == 0].max() == 0
    bridges_mm = 4 * (6 + 2 * 1.1 + sloped * 2 * 2.0 / np.tan(np.radians(15)))
    assert np.mean(block.depth_mm[beside] < 12) == pytest.approx(bridges_mm / ROUNDED.length, abs=0.02)
    ends_mm = [ROUNDED.distance(Point(wall.points_mm[row, :2])) for row in (0, -1)]
    assert ends_mm == pytest.approx([1.8875] * 2, abs=0.01)
    slants = np.diff(wall.points_mm[:, :2], axis=0)
    assert np.abs(_turns_deg(slants[np.linalg.norm(slants, axis=1) > 1e-3])[[0, 1, -2, -1]]).max() < 6


def test_the_round_along_the_wall_begins_on_a_straight_run() -> None:
    """Not in one of the rounded corners, though these lie in the middle between tabs."""
    _, wall = cutout_paths(cutout_of(sign(ROUNDED), replace(cutout(4), wall_allowance_mm=0.3)), 3.0, PACE)
    start_mm = wall.points_mm[0, :2]
    sides_mm = np.abs(np.array([start_mm[0], start_mm[1], 120 - start_mm[0], 80 - start_mm[1]]))

    assert sides_mm.min() == pytest.approx(1.8875, abs=0.01)
    assert sorted(sides_mm)[1] > 8


def _turns_deg(steps: NDArray[np.float64]) -> NDArray[np.float64]:
    headings = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
    return np.degrees(np.diff(headings))


@pytest.mark.parametrize("width_mm", [4.0, 8.0])
def test_sloped_bridges_are_full_height_over_their_width(width_mm: float) -> None:
    """Over the width asked they stand 2 mm high; their flanks fall at 15 degrees to the bed."""
    cut = replace(cutout(2, width_mm=width_mm), tabs_sloped=True)
    path = planned(cut)
    block = cut_block([path], cut)
    full, standing = 0.0, 0.0
    for row_mm in (-1.5875, 81.5875):
        left_mm = 12.0 - block.depth_mm[int((row_mm + 5) / 0.1), 60:-60]
        full += float(np.count_nonzero(left_mm > 2.0 - 0.03)) * 0.1
        standing += float(np.count_nonzero(left_mm > 0)) * 0.1

    assert full == pytest.approx(2 * width_mm, abs=0.8)
    assert standing == pytest.approx(2 * (width_mm + 2 * 2.0 / np.tan(np.radians(15))), abs=0.8)
    assert slopes_deg(path).max() <= 15.05
    assert (-slopes_deg(path)).max() <= 15.05


@pytest.mark.parametrize(("width_mm", "thickness_mm"), [(100, 12), (240, 19), (117, 9), (150, 15)])
def test_a_pass_that_begins_over_a_tab_stays_up_there(width_mm: float, thickness_mm: float) -> None:
    """One pass ends where the next begins, wherever that is; on the first two boards it is over a tab."""
    outline = box(10, 10, width_mm - 10, 60).buffer(10, quad_segs=32)
    cut = cutout(4)
    made = cutout_of(sign(outline, thickness_mm), cut)
    lap = made.rough
    for path in cutout_paths(made, 1.538, PACE):
        for x_mm, y_mm, z_mm in path.points_mm:
            place_mm = lap.circuit.nearest_place(np.array([x_mm, y_mm]))
            if any(first + 0.001 < place_mm < last - 0.001 for first, last in lap.tabs.spans_mm()):
                assert z_mm >= made.tab_top_mm - 1e-9
