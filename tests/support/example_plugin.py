"""Plug-ins as a stranger would write them: dialects of plain lines, and furrows for floors."""

from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray

from workers.plugin_api import (
    PLUGIN_API,
    CutPath,
    CuttingPlan,
    CuttingTask,
    Machine,
    Operation,
    OperationKind,
    Reporter,
    Ways,
)


class TerseLines:
    """The fewest words that still say everything."""

    plugin_api = PLUGIN_API
    name = "terse-lines"
    summary = "metric, lines only, no comments"

    def write(self, operation: Operation, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        """Yield the program of one operation."""
        yield "G21 G17 G90 G94 G40 G49 G80 G54"
        yield from self._cuts(operation, plan, machine)
        yield "M2"

    def _cuts(self, operation: Operation, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        yield f"G0 Z{plan.clearance_mm:.3f}"
        yield f"S{operation.spindle_rpm:.0f} M3"
        yield f"G4 P{machine.spin_up_s:.1f}"
        for path in operation.paths:
            x, y, _ = path.points_mm[0]
            yield f"G0 X{x:.3f} Y{y:.3f}"
            for (x, y, z), feed in zip(path.points_mm, path.feeds_mm_per_min, strict=True):
                yield f"G1 X{x:.3f} Y{y:.3f} Z{z:.3f} F{feed:.0f}"
            yield f"G0 Z{plan.clearance_mm:.3f}"
        yield "M5"


class TerseFile(TerseLines):
    """The same for all bits in one program."""

    name = "terse-file"
    summary = "metric, lines only, no comments, all bits in one program"

    def write_all(self, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        """Yield the program of all operations."""
        yield "G21 G17 G90 G94 G40 G49 G80 G54"
        for turn in plan.turns:
            yield f"T{plan.bits.index(turn[0].cutter) + 1} M6"
            for operation in turn:
                yield from self._cuts(operation, plan, machine)
        yield "M2"


class Furrows:
    """Floors in furrows from left to right, and a round along every wall; each slopes down and comes back."""

    plugin_api = PLUGIN_API
    name = "furrows"
    summary = "floors in level furrows from left to right"
    kind = OperationKind.CLEAR

    def ways(self, task: CuttingTask, report: Reporter) -> Ways:
        """Return a path for each furrow and each wall, in as many passes as the bit needs."""
        paths = []
        for number, pocket in enumerate(task.area.polygons.geoms):
            report(number / len(task.area.polygons.geoms), "drawing furrows")
            lines = [*self._furrows(pocket, task), *(ring.coords for ring in shapely.get_rings(pocket))]
            paths += [self._there_and_back(np.array(line), task) for line in lines]
        return Ways(paths=tuple(paths))

    def _furrows(self, pocket: shapely.Polygon, task: CuttingTask) -> Iterator[NDArray[np.float64]]:
        left, bottom, right, top = pocket.bounds
        step_mm = task.data.stepover_fraction * task.cutter.diameter_mm
        for y_mm in np.arange(bottom + step_mm, top, step_mm):
            across = shapely.LineString([(left, y_mm), (right, y_mm)])
            for line in shapely.get_parts(across.intersection(pocket)):
                if line.length > task.cutter.diameter_mm:
                    yield shapely.get_coordinates(line)

    def _there_and_back(self, line_mm: NDArray[np.float64], task: CuttingTask) -> CutPath:
        """Slope down along the line and come back level, pass after pass."""
        steps_mm = np.linalg.norm(np.diff(line_mm, axis=0), axis=1)
        share = np.concatenate([[0.0], np.cumsum(steps_mm)]) / steps_mm.sum()
        passes = int(np.ceil(task.depth_mm / task.data.pass_depth_mm))
        points = []
        for upper, lower in zip(range(passes), range(1, passes + 1), strict=True):
            heights_mm = -task.depth_mm / passes * (upper + (lower - upper) * share)
            level = np.full(len(line_mm), heights_mm[-1])
            points += [np.column_stack([line_mm, heights_mm]), np.column_stack([line_mm, level])[::-1]]
        points_mm = np.concatenate(points).round(4)
        feeds = np.full(len(points_mm), task.data.plunge_mm_per_min)
        return CutPath(points_mm=points_mm, feeds_mm_per_min=feeds)


TERSE_LINES = TerseLines()
TERSE_FILE = TerseFile()
FURROWS = Furrows()
