"""The ways in which floors are cleared, as strategies."""

from __future__ import annotations

from dataclasses import dataclass

from workers.errors import ParameterOutOfRangeError
from workers.toolpaths.clearance import Clearance
from workers.toolpaths.clearing import clearing_paths
from workers.toolpaths.pace import pace_of
from workers.values.cuts import USUAL_ENGAGEMENT_DEG
from workers.values.cutter import EndMill
from workers.values.cutting_plan import OperationKind
from workers.values.cutting_task import CuttingTask, Ways
from workers.values.progress import Reporter


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorClearing:
    """Rings along the walls, lines in one direction with a round along each wall, or opened outwards."""

    name: str
    summary: str
    in_lines: bool = False
    outwards: bool = False
    kind: OperationKind = OperationKind.CLEAR
    plugin_api: int = 1

    def ways(self, task: CuttingTask, report: Reporter) -> Ways:
        """Return the mill's paths, pocket by pocket.

        Raises:
            ParameterOutOfRangeError: The bit is no end mill.
        """
        mill = task.cutter
        if not isinstance(mill, EndMill):
            raise ParameterOutOfRangeError(f"floors are cleared with an end mill, and '{mill.name}' is none")
        paths = clearing_paths(
            Clearance(mill=mill, centres=task.area, room=task.room, milled=task.milled),
            task.depth_mm,
            task.data.pass_depth_mm,
            task.data.stepover_fraction * mill.diameter_mm,
            pace_of(task.data, task.machine),
            task.climb,
            (task.grain_deg or 0.0) if self.in_lines else None,
            (task.engagement_deg or USUAL_ENGAGEMENT_DEG) if self.outwards else None,
        )
        return Ways(paths=tuple(paths))


RINGS = FloorClearing(name="rings", summary="floors in rings along the walls")
LINES = FloorClearing(name="lines", summary="floors in lines along the grain", in_lines=True)
OUTWARDS = FloorClearing(
    name="outwards",
    summary="floors opened outwards from a helix, with an even load on the bit",
    outwards=True,
)
