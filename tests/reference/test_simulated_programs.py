"""The emitted programs, read back and cut in simulation, carve the closed forms of trade.md 3.4.

The forms are derived there. Volumes and floors come out of the text: planned, written in a
dialect, interpreted by the standard and swept over 0.1 mm cells. The bit is sharp, as the
closed forms assume; the area under the depth limit is cleared by a small end mill and
finished by the V-bit.
"""

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from tests.support.workbench import BASSWOOD, MACHINE, design, disc, incise, mill, region
from workers.contracts.dialect import Dialect
from workers.dialects.inch_lines import INCH_LINES
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.interpretation.interpreter import read_program
from workers.simulation.removal import carve
from workers.toolpaths.plan import plan
from workers.values.height_field import HeightField

CELL_MM = 0.1
FLOOR_MM = 0.02  # a cell this near to the depth limit belongs to the floor
TURN_DEG = 17.0  # so that edges run across the rows of cells and not along them
RECTANGLE = box(10, 10, 70, 30)
CIRCLE = disc(30, 30, 10)
ANNULUS = Polygon(disc(40, 40, 30).exterior, [disc(40, 40, 20).exterior])
L_SHAPE = Polygon([(10, 10), (70, 10), (70, 22), (22, 22), (22, 50), (10, 50)])
T_SHAPE = box(10, 50, 70, 62).union(box(34, 20, 46, 50))
ELLIPSE = shapely.affinity.scale(disc(40, 40, 1), 30, 12)


def simulated(shape: BaseGeometry, angle_deg: float, limit_mm: float, dialect: Dialect) -> HeightField:
    """The depth that the programs of one shape leave, by their text alone."""
    ink = region(shapely.affinity.rotate(shape, TURN_DEG, origin=(40, 40)))
    sign = design(ink, thickness_mm=40)
    clear = mill(3.175)
    planned = plan(sign, incise(angle_deg, limit_mm, 0.0), clear, None, None, BASSWOOD, MACHINE)
    programs = write_programs(planned.plan, MACHINE, dialect)
    cuts = [(read_program(program.text, program.name), program.cutter) for program in programs]
    left_mm, bottom_mm, right_mm, top_mm = ink.polygons.bounds
    return carve(cuts, left_mm - 1, bottom_mm - 1, right_mm + 1, top_mm + 1, CELL_MM)


def volume_mm3(field: HeightField) -> float:
    return float(field.depth_mm.astype(np.float64).sum()) * CELL_MM**2


@pytest.mark.parametrize(
    ("row", "shape", "angle_deg", "expected_mm3"),
    [
        ("V-20", RECTANGLE, 60, 9237.604307),
        ("V-22", CIRCLE, 60, 1813.799364),
        ("V-25", ANNULUS, 60, 6801.747616),
        ("V-26", L_SHAPE, 60, 5268.697611),
        ("V-31", T_SHAPE, 60, 5428.085452),
        ("V-36", ELLIPSE, 90, 5540.627782),
    ],
)
def test_volume_of_unlimited_grooves(
    row: str, shape: BaseGeometry, angle_deg: float, expected_mm3: float
) -> None:
    """Without a limit the removed volume is the closed form's within 1 %."""
    field = simulated(shape, angle_deg, 30.0, METRIC_LINES)
    assert volume_mm3(field) == pytest.approx(expected_mm3, rel=0.01), row


@pytest.mark.parametrize("dialect", [METRIC_LINES, INCH_LINES], ids=lambda dialect: dialect.name)
@pytest.mark.parametrize(
    ("row", "shape", "angle_deg", "limit_mm", "expected_mm3", "floor_mm2"),
    [
        ("V-20", RECTANGLE, 60, 6.0, 5633.231225, 693.743742),
        ("V-22", CIRCLE, 60, 5.0, 1160.979717, 158.959268),
        ("V-25", ANNULUS, 60, 4.0, 4832.145816, 845.276581),
        ("V-26", L_SHAPE, 60, 5.0, 3895.160464, 513.771413),
        ("V-31", T_SHAPE, 60, 6.0, 4466.270700, 426.473715),
    ],
)
def test_volume_and_floor_under_a_depth_limit(
    row: str,
    shape: BaseGeometry,
    angle_deg: float,
    limit_mm: float,
    expected_mm3: float,
    floor_mm2: float,
    dialect: Dialect,
) -> None:
    """With a limit, volume and flat floor are the closed form's within 1 %, in either dialect."""
    field = simulated(shape, angle_deg, limit_mm, dialect)
    floor_cells = np.count_nonzero(field.depth_mm >= limit_mm - FLOOR_MM)
    assert volume_mm3(field) == pytest.approx(expected_mm3, rel=0.01), row
    assert floor_cells * CELL_MM**2 == pytest.approx(floor_mm2, rel=0.01), row
