"""Dialects: one way of writing RS-274 each. Entry-point group ``triglyph.dialects``."""

from collections.abc import Iterator
from typing import Protocol

from workers.values.cutting_plan import CuttingPlan, Operation
from workers.values.machine import Machine


class Dialect(Protocol):
    """Writes one program; may use only what ``workers.interpretation`` can read back."""

    @property
    def plugin_api(self) -> int:
        """The contract it speaks."""

    @property
    def name(self) -> str:
        """What an order calls it."""

    @property
    def summary(self) -> str:
        """One line for listings."""

    def write(self, operation: Operation, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        """Yield the lines of the program of one operation, without line ends."""
