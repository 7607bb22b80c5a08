"""Planned paths swept through a block make the volumes of trade.md 3.4 (V-20 to V-36, derived there).

The sweep is tests/support/small_carving.py: the definition of a cone and a cylinder,
nothing of ours. The volumes hold for the sharp bit that the closed forms assume.
"""

import math
from collections.abc import Sequence

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from tests.support.small_carving import SmallBlock
from tests.support.workbench import BASSWOOD, MACHINE, design, disc, incise, mill, plan_length_mm, region
from workers.toolpaths.plan import plan
from workers.values.cutter import EndMill
from workers.values.region import Region

CELL_MM = 0.2
RECTANGLE = box(10, 10, 70, 30)
CIRCLE = disc(30, 30, 10)
ANNULUS = Polygon(disc(40, 40, 30).exterior, [disc(40, 40, 20).exterior])
L_SHAPE = Polygon([(10, 10), (70, 10), (70, 22), (22, 22), (22, 50), (10, 50)])
CROSS = box(10, 34, 70, 46).union(box(34, 10, 46, 70))
T_SHAPE = box(10, 50, 70, 62).union(box(34, 20, 46, 50))
ELLIPSE = shapely.affinity.scale(disc(40, 40, 1), 30, 12)
STROKE = box(10, 10, 110, 13)


def carved(
    ink: Region, angle_deg: float, limit_mm: float, clear: EndMill | None = None, tip_mm: float = 0.0
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
    ("row", "shape", "angle_deg", "volume_mm3"),
    [
        ("V-20", RECTANGLE, 60, 9237.604307),
        ("V-22", CIRCLE, 60, 1813.799364),
        ("V-25", ANNULUS, 60, 6801.747616),
        ("V-26", L_SHAPE, 60, 5268.697611),
        ("V-30", CROSS, 90, 3829.129099),
        ("V-31", T_SHAPE, 60, 5428.085452),
        ("V-34", STROKE, 30, 831.314317),
        ("V-36", ELLIPSE, 90, 5540.627782),
    ],
)
def test_volume_without_a_depth_limit(
    row: str, shape: BaseGeometry, angle_deg: float, volume_mm3: float
) -> None:
    """The bit rides the whole medial axis; the removed volume is the distance field's, within 1 %."""
    block = carved(region(shape), angle_deg, 30.0)

    assert block.volume_mm3 == pytest.approx(volume_mm3, rel=0.01), row


LIMITED: Sequence[tuple[str, BaseGeometry, float, float, float]] = [
    ("V-20", RECTANGLE, 60, 6.0, 5633.231225),
    ("V-22", CIRCLE, 60, 5.0, 1160.979717),
    ("V-25", ANNULUS, 60, 4.0, 4832.145816),
    ("V-26", L_SHAPE, 60, 5.0, 3895.160464),
    ("V-31", T_SHAPE, 60, 6.0, 4466.270700),
    ("V-34", STROKE, 30, 4.0, 764.546389),
]


@pytest.mark.parametrize(("row", "shape", "angle_deg", "limit_mm", "volume_mm3"), LIMITED)
def test_volume_with_a_milled_floor(
    row: str, shape: BaseGeometry, angle_deg: float, limit_mm: float, volume_mm3: float
) -> None:
    """Mill, walls and corners together make the limited volume, within 1 %."""
    block = carved(region(shape), angle_deg, limit_mm, mill())

    assert block.volume_mm3 == pytest.approx(volume_mm3, rel=0.01), row


@pytest.mark.parametrize("clear", [None, mill()], ids=["v-bit alone", "with end mill"])
@pytest.mark.parametrize(
    ("row", "shape", "angle_deg", "limit_mm", "volume_mm3"), [LIMITED[0], LIMITED[3], LIMITED[4]]
)
def test_no_cell_is_deeper_or_shallower_than_designed(
    row: str, shape: BaseGeometry, angle_deg: float, limit_mm: float, volume_mm3: float, clear: EndMill | None
) -> None:
    """Depth is min(d / k, limit): over it by no more than the paths' tolerance, no ridge above 0.05 mm."""
    ink = region(shape)
    block = carved(ink, angle_deg, limit_mm, clear)

    slope = math.tan(math.radians(angle_deg / 2))
    designed_mm = np.minimum(distances_mm(ink, block) / slope, limit_mm)

    assert float((block.depth_mm - designed_mm).max()) < 0.01 / slope
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
