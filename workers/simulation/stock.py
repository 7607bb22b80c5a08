"""The board while it is cut: a depth map that programs are run on, one after the other."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from workers.simulation.bands import in_bands
from workers.simulation.kernels import sweep_band
from workers.simulation.sweeps import Collar, Sweeps, sweeps_below_face, with_collars
from workers.values.cutter import Cutter
from workers.values.height_field import HeightField
from workers.values.program import Trace


class Stock:
    """An uncut board under a grid of square cells.

    Args:
        left_mm: Left edge of the grid.
        bottom_mm: Lower edge.
        right_mm: Right edge, reached or passed by the last column.
        top_mm: Upper edge.
        cell_mm: Side of a cell.
    """

    def __init__(
        self, left_mm: float, bottom_mm: float, right_mm: float, top_mm: float, cell_mm: float
    ) -> None:
        columns = max(round((right_mm - left_mm) / cell_mm), 1)
        rows = max(round((top_mm - bottom_mm) / cell_mm), 1)
        self.left_mm, self.bottom_mm, self.cell_mm = left_mm, bottom_mm, cell_mm
        self.depth_mm = np.zeros((rows, columns), np.float32)

    def cut(
        self, trace: Trace, cutter: Cutter, watched: NDArray[np.bool_] | None = None
    ) -> NDArray[np.float32]:
        """Remove what the bit sweeps.

        Args:
            trace: Its motions; only what is below the face cuts, at any speed.
            cutter: The bit.
            watched: (n,) Motions whose effect is wanted.

        Returns:
            (n,) The greatest depth, mm, that each watched motion took off the stock as it was then.
        """
        return self.cut_and_touch(trace, cutter, watched)[0]

    def cut_and_touch(
        self,
        trace: Trace,
        cutter: Cutter,
        watched: NDArray[np.bool_] | None = None,
        collars: Sequence[Collar] = (),
        bare: Callable[[], NDArray[np.bool_]] | None = None,
    ) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Remove what the bit sweeps, and tell how deep the parts over its edges were in what stood.

        Args:
            trace: Its motions.
            cutter: The bit.
            watched: (n,) Motions whose effect is wanted.
            collars: k parts over the edges; they cut nothing.
            bare: Tells which cells of the map never had stock; called only if a collar gets so low.

        Returns:
            (n,) as ``cut``, and (k, n) the greatest depth, mm, of each collar in standing stock.
        """
        sweeps = with_collars(sweeps_below_face(trace, cutter), trace, collars)
        effects_mm = self.sweep(sweeps, 1 + len(collars), len(trace.lines), watched, bare)
        return effects_mm[0], effects_mm[1:]

    def sweep(
        self,
        sweeps: Sweeps,
        parts_count: int,
        motions_count: int,
        watched: NDArray[np.bool_] | None = None,
        bare: Callable[[], NDArray[np.bool_]] | None = None,
    ) -> NDArray[np.float32]:
        """Run sweeps over the map.

        Args:
            sweeps: What is swept, in order.
            parts_count: Of a bit: its edges, and the collars.
            motions_count: Of the trace that they come from.
            watched: (motions_count,) Motions of which it is wanted what their edges take off.
            bare: Tells which cells of the map never had stock; called only if there is a collar.

        Returns:
            (parts_count, motions_count) what each part did in each motion, mm.
        """
        wanted = np.zeros(len(sweeps.sources), np.bool_) if watched is None else watched[sweeps.sources]
        touching = bool(sweeps.parts.any())
        without = (
            bare() if touching and bare else np.zeros(self.depth_mm.shape if touching else (0, 0), np.bool_)
        )
        bands: list[NDArray[np.float32]] = []

        def sweep(first: int, last: int) -> None:
            removed_mm = np.zeros(len(sweeps.sources), np.float32)
            sweep_band(
                self.depth_mm,
                first,
                last,
                self.left_mm,
                self.bottom_mm,
                self.cell_mm,
                sweeps.motions,
                sweeps.forms,
                wanted,
                sweeps.shape,
                without,
                removed_mm,
            )
            bands.append(removed_mm)

        in_bands(len(self.depth_mm), sweep)
        effects_mm = np.zeros((parts_count, motions_count), np.float32)
        effects_mm[sweeps.parts, sweeps.sources] = np.max(bands, axis=0)
        return effects_mm

    def field(self) -> HeightField:
        """Return the depth map as it is now; it is shared, not copied."""
        return HeightField(
            depth_mm=self.depth_mm, cell_mm=self.cell_mm, left_mm=self.left_mm, bottom_mm=self.bottom_mm
        )
