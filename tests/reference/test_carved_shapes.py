"""Planned paths swept through a block make the volumes of tests/support/closed_forms.py.

The sweep is tests/support/small_carving.py: the definition of a cone and a cylinder,
nothing of ours. The volumes hold for the sharp bit that the closed forms assume.
"""

import numpy as np
import pytest
import shapely
from shapely.geometry import box

from tests.support.closed_forms import ClosedForm, forms
from tests.support.small_carving import SmallBlock
from tests.support.specimens import BASSWOOD, MACHINE, clearing, design, incise, plan_length_mm, region
from workers.toolpaths.plan import plan
from workers.values.cuts import ClearCut
from workers.values.region import Region

CELL_MM = 0.2


def carved(
    ink: Region, angle_deg: float, limit_mm: float, clear: ClearCut | None = None, tip_mm: float = 0.0
) -> SmallBlock:
    """A block round the ink, cut by all operations of its plan."""
    sign = design(ink, thickness_mm=40)
    planned = plan(sign, incise(angle_deg, limit_mm, tip_mm), clear, None, None, BASSWOOD, MACHINE)
    left_mm, bottom_mm, right_mm, top_mm = ink.polygons.bounds
    block = SmallBlock(left_mm - 2, bottom_mm - 2, right_mm + 2, top_mm + 2, CELL_MM)
    for operation in planned.plan.operations:
        block.cut(operation.paths, operation.cutter)
    return block


def distances_mm(ink: Region, block: SmallBlock) -> np.ndarray:
    """Distance of each cell's centre to the outline; 0 outside."""
    x_mm, y_mm = np.meshgrid(block.x_mm, block.y_mm)
    outline = ink.polygons.boundary
    shapely.prepare(outline)
    inside = shapely.contains_xy(ink.polygons, x_mm, y_mm)
    return np.where(inside, shapely.distance(outline, shapely.points(x_mm, y_mm)), 0.0)


@pytest.mark.parametrize(
    "form", forms("V-20", "V-22", "V-25", "V-26", "V-30", "V-31", "V-34", "V-36"), ids=str
)
def test_volume_without_a_depth_limit(form: ClosedForm) -> None:
    """The bit rides the whole medial axis; the removed volume is the distance field's, within 0.5 %."""
    block = carved(region(form.on_board), form.angle_deg, 30.0)

    assert block.volume_mm3 == pytest.approx(form.volume_mm3, rel=0.005)


@pytest.mark.parametrize("form", forms("V-20", "V-22", "V-25", "V-26", "V-31", "V-34"), ids=str)
def test_volume_with_a_milled_floor(form: ClosedForm) -> None:
    """Mill, walls and corners together make the limited volume, within 0.5 %."""
    block = carved(region(form.on_board), form.angle_deg, form.limit_mm, clearing())

    assert block.volume_mm3 == pytest.approx(form.limited_mm3, rel=0.005)


@pytest.mark.parametrize("clear", [None, clearing()], ids=["v-bit alone", "with end mill"])
@pytest.mark.parametrize("form", forms("V-20", "V-26", "V-31"), ids=str)
def test_no_cell_is_deeper_or_shallower_than_designed(form: ClosedForm, clear: ClearCut | None) -> None:
    """Depth is min(d / k, limit): over it by no more than the paths' tolerance, no ridge above 0.05 mm."""
    ink = region(form.on_board)
    block = carved(ink, form.angle_deg, form.limit_mm, clear)

    designed_mm = np.minimum(distances_mm(ink, block) / form.slope, form.limit_mm)

    assert float((block.depth_mm - designed_mm).max()) < 0.01 / form.slope
    assert float((designed_mm - block.depth_mm).max()) < (0.05 if clear is None else 0.03)


def test_the_medial_axis_of_a_rectangle_is_one_trail() -> None:
    """V-50 at a tenth: the axis of 6 x 2 at 60 degrees is 12.944272 mm in space, each spur 2.236068 mm.

    Four corners and two junctions are odd, so one trail must run two of the spurs twice.
    """
    sign = design(region(box(10, 10, 16, 12)))
    planned = plan(sign, incise(60, 30.0), None, None, None, BASSWOOD, MACHINE)
    [operation] = planned.plan.operations

    assert len(operation.paths) == 1
    assert plan_length_mm(operation.paths) == pytest.approx(12.944272 + 2 * 2.236068, abs=1e-3)


def test_a_flat_tip_leaves_its_own_width() -> None:
    """With a 1 mm flat the floor of a 5 mm stroke is 1 mm wide at (5 - 1) / 2k, and corners stay round."""
    ink = region(box(10, 10, 50, 15))
    block = carved(ink, 90, 30.0, tip_mm=1.0)
    middle = block.depth_mm[:, len(block.x_mm) // 2]

    assert middle.max() == pytest.approx(2.0, abs=1e-6)
    assert np.count_nonzero(middle > 2.0 - 1e-6) * CELL_MM == pytest.approx(1.0, abs=2 * CELL_MM)
