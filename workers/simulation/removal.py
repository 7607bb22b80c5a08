"""What is left of a board after programs have run."""

from __future__ import annotations

from collections.abc import Sequence

from workers.simulation.stock import Stock
from workers.values.cutter import Cutter
from workers.values.height_field import HeightField
from workers.values.program import Trace
from workers.values.progress import Reporter, silent


def carve(
    cuts: Sequence[tuple[Trace, Cutter]],
    left_mm: float,
    bottom_mm: float,
    right_mm: float,
    top_mm: float,
    cell_mm: float,
    report: Reporter = silent,
) -> HeightField:
    """Return the depth below the face at the centres of square cells.

    The solid of each bit is swept along each straight motion by closed forms, so the depth at a
    cell's centre is exact to the rounding of float32 (about 0.00002 mm on a board of 300 mm).

    Args:
        cuts: Motions and the bit that makes them, in order.
        left_mm: Left edge of the grid.
        bottom_mm: Lower edge.
        right_mm: Right edge.
        top_mm: Upper edge.
        cell_mm: Side of a cell.
        report: Told after each program.
    """
    stock = Stock(left_mm, bottom_mm, right_mm, top_mm, cell_mm)
    for done, (trace, cutter) in enumerate(cuts):
        report(done / len(cuts), f"cutting with {cutter.name}")
        stock.cut(trace, cutter)
    return stock.field()
