"""A plug-in as a stranger would write it: a dialect of plain lines without comments."""

from collections.abc import Iterator

from workers.plugin_api import PLUGIN_API, CuttingPlan, Machine, Operation


class TerseLines:
    """The fewest words that still say everything."""

    plugin_api = PLUGIN_API
    name = "terse-lines"
    summary = "metric, lines only, no comments"

    def write(self, operation: Operation, plan: CuttingPlan, machine: Machine) -> Iterator[str]:
        """Yield the program of one operation."""
        yield "G21 G17 G90 G94 G40 G49 G80 G54"
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
        yield "M2"


TERSE_LINES = TerseLines()
