"""How good the minutes of the advice are: ``python -m tests.benchmarks.minutes_estimated``.

The development drawings, 80 mm wide, with four choices of bit and depth limit: the estimate beside the
time that the proof gives the incising program.
"""

from __future__ import annotations

import statistics
import sys
from collections.abc import Iterator, Sequence

from shapely.geometry import box

from tests.reference.test_repaired_drawings import NAMES, drawing
from workers.cutting_data import tables
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.geometry.vee import reach_mm
from workers.interpretation.interpreter import read_program
from workers.resolvability.minutes import vee_minutes
from workers.simulation.duration import duration_s
from workers.toolpaths.plan import plan
from workers.values.cuts import ClearCut, InciseCut
from workers.values.cutter import EndMill, VeeCutter
from workers.values.design import Board, Design
from workers.values.region import Region

CHOICES = (("vee-90", 2.5), ("vee-60", 2.5), ("vee-60", 1.2), ("vee-30", 4.0))
MACHINE = tables.machine("bench-600", "/")
WOOD = tables.material("basswood", "/")


def pairs(
    names: Sequence[str] = NAMES, choices: Sequence[tuple[str, float]] = CHOICES
) -> Iterator[tuple[str, str, float, float, float]]:
    """Yield drawing, bit, limit, minutes estimated and minutes of the program."""
    for name in names:
        ink = drawing(name)
        for bit_name, limit_mm in choices:
            bit = tables.bit(bit_name, "/")
            assert isinstance(bit, VeeCutter)
            cut = InciseCut(cutter=bit, depth_limit_mm=min(limit_mm, reach_mm(bit)))
            estimate = vee_minutes(ink, cut, WOOD, MACHINE)
            yield name, bit_name, cut.depth_limit_mm, estimate, _program_minutes(ink, cut)


def _program_minutes(ink: Region, cut: InciseCut) -> float:
    """Return what the program that is written takes, by the proof's own clock."""
    _, _, right, top = ink.polygons.bounds
    board = Board(width_mm=right + 10, height_mm=top + 10, thickness_mm=19.0, material="basswood")
    design = Design(board=board, outline=box(0, 0, board.width_mm, board.height_mm), ink=ink)
    mill = tables.bit("flat-1/16in", "/")
    assert isinstance(mill, EndMill)
    planned = plan(design, cut, ClearCut(mills=(mill,)), None, None, WOOD, MACHINE)
    programs = write_programs(planned.plan, MACHINE, METRIC_LINES)
    incising = next(program for program in programs if program.name.split("-")[1] == "incise")
    return duration_s(read_program(incising.text, incising.name), MACHINE) / 60


def main() -> int:
    """Print the comparison and what it comes to."""
    ratios = []
    for name, bit, limit_mm, estimate, minutes in pairs():
        ratios.append(estimate / minutes)
        sys.stdout.write(
            f"{name:12} {bit:7} {limit_mm:4.1f} mm  estimated {estimate:5.2f} min  "
            f"program {minutes:5.2f} min  ratio {ratios[-1]:.2f}\n"
        )
    off = sorted(abs(ratio - 1) for ratio in ratios)
    sys.stdout.write(
        f"{len(off)} signs: half within {statistics.median(off):.0%}, nine in ten within "
        f"{off[int(0.9 * len(off))]:.0%}, worst {off[-1]:.0%}\n"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
