"""RS-274 in inches, straight moves only."""

from __future__ import annotations

from collections.abc import Iterator

from workers.dialects.rs274_writer import program_lines
from workers.dialects.word_format import INCHES
from workers.values.cutting_plan import CuttingPlan, Operation
from workers.values.machine import Machine


class InchLines:
    """Writes G20 programs of G0 and G1."""

    plugin_api = 1
    name = "inch-lines"
    summary = "RS-274 in inches (G20), straight moves only"

    def write(self, operation: Operation, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        """Yield the lines of the program of one operation, without line ends."""
        return program_lines(operation, plan, machine, INCHES)


INCH_LINES = InchLines()
