"""Dialects: one way of writing RS-274 each. Entry-point group ``triglyph.dialects``."""

from collections.abc import Iterator
from typing import Protocol, runtime_checkable

from workers.contracts.plugin import Plugin
from workers.values.cutting_plan import CuttingPlan, Operation
from workers.values.machine import Machine


class Dialect(Plugin, Protocol):
    """Writes one program; may use only what ``workers.interpretation`` can read back."""

    def write(self, operation: Operation, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        """Yield the lines of the program of one operation, without line ends."""


@runtime_checkable
class OneFileDialect(Dialect, Protocol):
    """Writes all of a plan into one program; whoever has the method is asked for nothing else."""

    def write_all(self, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        """Yield the lines of the one program, without line ends.

        Before the cuts of each of ``plan.turns`` the bit is changed by T and M6, T being its place in
        ``plan.bits``, from 1.
        """
