"""Strategies: the ways of a bit over what it shall cut. Entry-point group ``triglyph.strategies``."""

from typing import Protocol

from workers.contracts.plugin import Plugin
from workers.values.cutting_plan import OperationKind
from workers.values.cutting_task import CuttingTask, Ways
from workers.values.progress import Reporter


class Strategy(Plugin, Protocol):
    """Plans one kind of operation; what it plans is proven like everything else."""

    @property
    def kind(self) -> OperationKind:
        """CLEAR or INCISE."""

    def ways(self, task: CuttingTask, report: Reporter) -> Ways:
        """Return the paths that do the task; raise NotCuttableError if it cannot be done."""
