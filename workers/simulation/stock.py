"""The board while it is cut: a depth map that programs are run on, one after the other."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from workers.simulation.kernels import sweep_band
from workers.simulation.sweeps import sweeps_below_face
from workers.values.cutter import Cutter
from workers.values.height_field import HeightField
from workers.values.program import Trace

BANDS = 8  # of rows; a cell sees the motions in the same order however many threads share them
_SMALL_CELLS = 200_000  # below this a second thread costs more than it gives


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
        sweeps = sweeps_below_face(trace, cutter)
        wanted = np.zeros(len(sweeps.sources), np.bool_) if watched is None else watched[sweeps.sources]
        rows = len(self.depth_mm)
        edges = [rows * band // BANDS for band in range(BANDS + 1)]
        removed_mm = np.zeros((BANDS, len(sweeps.sources)), np.float32)

        def sweep(band: int) -> None:
            sweep_band(
                self.depth_mm,
                edges[band],
                edges[band + 1],
                self.left_mm,
                self.bottom_mm,
                self.cell_mm,
                sweeps.motions,
                sweeps.forms,
                wanted,
                sweeps.shape,
                removed_mm[band],
            )

        threads = 1 if self.depth_mm.size < _SMALL_CELLS else len(os.sched_getaffinity(0))
        if threads == 1:
            for band in range(BANDS):
                sweep(band)
        else:
            with ThreadPoolExecutor(min(threads, BANDS)) as pool:
                list(pool.map(sweep, range(BANDS)))
        effect_mm = np.zeros(len(trace.lines), np.float32)
        effect_mm[sweeps.sources] = removed_mm.max(axis=0)
        return effect_mm

    def field(self) -> HeightField:
        """Return the depth map as it is now; it is shared, not copied."""
        return HeightField(
            depth_mm=self.depth_mm, cell_mm=self.cell_mm, left_mm=self.left_mm, bottom_mm=self.bottom_mm
        )
