"""Programs of a plan: their names and order."""

import numpy as np
import pytest

from tests.support.specimens import MACHINE, board, mill, vee
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import program_name, write_programs
from workers.values.cutter import Cutter
from workers.values.cutting_plan import CutPath, CuttingPlan, Operation, OperationKind


def operation(kind: OperationKind, cutter: Cutter) -> Operation:
    """An operation of one plunge."""
    path = CutPath(np.array([[1.0, 1, -1]]), np.array([300.0]))
    return Operation(kind=kind, cutter=cutter, spindle_rpm=18000, paths=(path,))


@pytest.mark.parametrize(
    ("name", "file_name"),
    [
        ("flat-1/8in", "01-clear-flat-1-8in.ngc"),
        ("../../etc/passwd", "01-clear-etc-passwd.ngc"),
        ("CON", "01-clear-con.ngc"),
        ("", "01-clear-bit.ngc"),
        ("\u00e9\u2603", "01-clear-bit.ngc"),
        ("a" * 300, f"01-clear-{'a' * 40}.ngc"),
    ],
)
def test_names_are_safe_on_any_file_system(name: str, file_name: str) -> None:
    """Small letters, digits and hyphens only, of bounded length."""
    assert program_name(1, operation(OperationKind.CLEAR, mill(name=name))) == file_name


def test_programs_are_numbered_in_running_order() -> None:
    """Sorted by name they are in the order in which they run; each has its bit."""
    operations = (operation(OperationKind.INCISE, vee(90)), operation(OperationKind.CUTOUT, mill()))
    cutting_plan = CuttingPlan(board=board(), clearance_mm=5, spin_up_s=3, operations=operations)

    programs = write_programs(cutting_plan, MACHINE, METRIC_LINES)

    assert [program.name for program in programs] == ["01-incise-vee-90.ngc", "02-cutout-flat-1-8in.ngc"]
    assert [program.cutter for program in programs] == [vee(90), mill()]


def test_a_plan_of_nothing_is_no_program() -> None:
    """There is nothing to run."""
    cutting_plan = CuttingPlan(board=board(), clearance_mm=5, spin_up_s=3, operations=())

    assert write_programs(cutting_plan, MACHINE, METRIC_LINES) == ()
