"""The emitted programs, read back and cut in simulation, carve the closed forms.

Source: tests/support/closed_forms.py. Volumes and floors come out of the text: planned, written in
a dialect, interpreted by the standard and swept over 0.1 mm cells. The area under the depth limit is
cleared by a small end mill and finished by the V-bit.
"""

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from tests.support.closed_forms import ClosedForm, forms
from tests.support.specimens import BASSWOOD, MACHINE, design, incise, mill, region
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
    """What was cut away."""
    return float(field.depth_mm.astype(np.float64).sum()) * CELL_MM**2


@pytest.mark.parametrize("form", forms("V-20", "V-22", "V-25", "V-26", "V-31", "V-36"), ids=str)
def test_volume_of_unlimited_grooves(form: ClosedForm) -> None:
    """Without a limit the removed volume is the closed form's within 1 %."""
    field = simulated(form.on_board, form.angle_deg, 30.0, METRIC_LINES)

    assert volume_mm3(field) == pytest.approx(form.volume_mm3, rel=0.01)


@pytest.mark.parametrize("dialect", [METRIC_LINES, INCH_LINES], ids=lambda dialect: dialect.name)
@pytest.mark.parametrize("form", forms("V-20", "V-22", "V-25", "V-26", "V-31"), ids=str)
def test_volume_and_floor_under_a_depth_limit(form: ClosedForm, dialect: Dialect) -> None:
    """With a limit, volume and flat floor are the closed form's within 1 %, in either dialect."""
    field = simulated(form.on_board, form.angle_deg, form.limit_mm, dialect)

    floor_cells = np.count_nonzero(field.depth_mm >= form.limit_mm - FLOOR_MM)
    assert volume_mm3(field) == pytest.approx(form.limited_mm3, rel=0.01)
    assert floor_cells * CELL_MM**2 == pytest.approx(form.floor_mm2, rel=0.01)
