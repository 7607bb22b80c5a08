"""Tracers: ink coverage in, closed outlines out. Entry-point group ``triglyph.tracers``."""

from typing import Protocol

from workers.contracts.plugin import Plugin
from workers.values.image import InkCoverage
from workers.values.outlines import Traced
from workers.values.progress import Reporter


class Tracer(Plugin, Protocol):
    """Follows the edge of the ink."""

    def trace(self, coverage: InkCoverage, tolerance_mm: float, report: Reporter) -> Traced:
        """Return the outlines of the ink, nowhere farther than the tolerance from its edge."""
