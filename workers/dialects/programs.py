"""A cutting plan as programs: one file for each bit's work in running order, or one file of all."""

from __future__ import annotations

import re

from workers.contracts.dialect import Dialect, OneFileDialect
from workers.values.cutting_plan import CuttingPlan, Operation
from workers.values.machine import Machine
from workers.values.program import Program

ALL_BITS_NAME = "01-all-bits.ngc"


def write_programs(plan: CuttingPlan, machine: Machine, dialect: Dialect) -> tuple[Program, ...]:
    """Return the programs of a plan, numbered from 01 in the order in which they must run.

    Args:
        plan: What each bit does.
        machine: Who shall read the programs.
        dialect: How they are written; if it says so, as one.
    """
    if isinstance(dialect, OneFileDialect) and plan.operations:
        text = "\n".join(dialect.write_all(plan, machine)) + "\n"
        return (Program(name=ALL_BITS_NAME, bits=dict(enumerate(plan.bits, 1)), text=text),)
    return tuple(
        Program(
            name=program_name(number, operation),
            cutter=operation.cutter,
            text="\n".join(dialect.write(operation, plan, machine)) + "\n",
        )
        for number, operation in enumerate(plan.operations, 1)
    )


def program_name(number: int, operation: Operation) -> str:
    """Return a file name that sorts in running order and is safe on any file system.

    A bit's name is reduced to small letters, digits and hyphens: "flat-1/8in" is "flat-1-8in".
    """
    bit = re.sub(r"[^a-z0-9]+", "-", operation.cutter.name.lower()).strip("-")[:40].strip("-")
    return f"{number:02d}-{operation.kind.value}-{bit or 'bit'}.ngc"
