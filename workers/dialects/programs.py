"""A cutting plan as programs: one file for each bit's work in running order, or one for all of them."""

from __future__ import annotations

import re

from workers.contracts.dialect import Dialect, OneFileDialect
from workers.values.cutting_plan import CuttingPlan, Operation, OperationKind
from workers.values.machine import Machine
from workers.values.program import Program


def write_programs(plan: CuttingPlan, machine: Machine, dialect: Dialect) -> tuple[Program, ...]:
    """Return the programs of a plan, numbered from 01 in the order in which they must run.

    Args:
        plan: What each bit does.
        machine: Who shall read the programs.
        dialect: How they are written; if it says so, as one, but for those that are run from behind.
    """
    one_bit = [
        Program(
            name=program_name(number, operation),
            cutter=operation.cutter,
            text="\n".join(dialect.write(operation, plan, machine)) + "\n",
            from_behind=operation.kind is OperationKind.BACK,
        )
        for number, operation in enumerate(_apart(plan, dialect), 1)
    ]
    face_up = plan.face_up
    if not (isinstance(dialect, OneFileDialect) and face_up.operations):
        return tuple(one_bit)
    text = "\n".join(dialect.write_all(face_up, machine)) + "\n"
    name = f"{len(one_bit) + 1:02d}-all-bits.ngc"
    return (*one_bit, Program(name=name, bits=dict(enumerate(face_up.bits, 1)), text=text))


def _apart(plan: CuttingPlan, dialect: Dialect) -> tuple[Operation, ...]:
    """Return the operations with a program of their own: all, or only those of the back."""
    return plan.from_behind if isinstance(dialect, OneFileDialect) else plan.operations


def program_name(number: int, operation: Operation) -> str:
    """Return a file name that sorts in running order and is safe on any file system.

    A bit's name is reduced to small letters, digits and hyphens: "flat-1/8in" is "flat-1-8in".
    """
    bit = re.sub(r"[^a-z0-9]+", "-", operation.cutter.name.lower()).strip("-")[:40].strip("-")
    return f"{number:02d}-{operation.kind.value}-{bit or 'bit'}.ngc"
