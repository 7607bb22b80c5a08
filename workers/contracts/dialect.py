"""Dialects: one way of writing RS-274 each. Entry-point group ``triglyph.dialects``."""

from collections.abc import Iterator
from typing import Protocol

from workers.contracts.plugin import Plugin
from workers.values.cutting_plan import CuttingPlan, Operation
from workers.values.machine import Machine


class Dialect(Plugin, Protocol):
    """Writes one program; may use only what ``workers.interpretation`` can read back."""

    def write(self, operation: Operation, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        """Yield the lines of the program of one operation, without line ends."""
