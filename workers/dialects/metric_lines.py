"""RS-274 in millimetres, straight moves only."""

from __future__ import annotations

from collections.abc import Iterator

from workers.dialects.rs274_writer import program_lines
from workers.dialects.word_format import MILLIMETRES
from workers.values.cutting_plan import CuttingPlan, Operation
from workers.values.machine import Machine


class MetricLines:
    """Writes G21 programs of G0 and G1."""

    plugin_api = 1
    name = "metric-lines"
    summary = "RS-274 in millimetres (G21), straight moves only"

    def write(self, operation: Operation, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        """Yield the lines of the program of one operation, without line ends."""
        return program_lines(operation, plan, machine, MILLIMETRES)


METRIC_LINES = MetricLines()
