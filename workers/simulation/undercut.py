"""The back of a board while it is cut, also with a bit whose head goes under wood.

A map of depths has no room for what is under wood, so there are three: how deep it is open from above, how
deep anything was cut, and how high heads have been. Where several hollows lie over each other they count as
one, from the highest to the lowest: what stands between them is taken for cut.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.simulation.head_sweeps import swept_upwards
from workers.simulation.stock import Stock
from workers.simulation.sweeps import Collar
from workers.values.cutter import Cutter, EndMill, KeyholeCutter
from workers.values.program import Trace

Floats = NDArray[np.float32]

_NEVER_MM = 1e4  # deeper than anything is cut: no head was there
_RIM_MM = 0.05  # by which a head may miss its own way when it is lifted: rounding of places


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Effects:
    """What each of n motions did."""

    removed_mm: Floats  # (n,) greatest depth that a watched one took off
    sunk_mm: Floats  # (k, n) how deep each collar was in standing stock
    lifted_mm: Floats  # (n,) by how much it lifted a head into the wood over it


class UndercutStock:
    """An uncut back under a grid of square cells; its arguments are those of ``Stock``."""

    def __init__(
        self, left_mm: float, bottom_mm: float, right_mm: float, top_mm: float, cell_mm: float
    ) -> None:
        box = (left_mm, bottom_mm, right_mm, top_mm, cell_mm)
        self._open, self._cut, self._heads = Stock(*box), Stock(*box), Stock(*box)
        self._heads.depth_mm[:] = -_NEVER_MM
        self.cell_mm = cell_mm

    def cut(
        self,
        trace: Trace,
        cutter: Cutter,
        watched: NDArray[np.bool_],
        collars: Sequence[Collar],
        bare: Callable[[], NDArray[np.bool_]],
    ) -> Effects:
        """Remove what the bit sweeps.

        Args:
            trace: Its motions.
            cutter: The bit; the neck of a keyhole bit is taken to reach up to the face.
            watched: (n,) Motions of which it is wanted how deep they cut into stock.
            collars: k parts over the edges; they cut nothing.
            bare: Tells which cells never had stock.
        """
        removed_mm = self._cut.cut(trace, cutter, watched)
        if not isinstance(cutter, KeyholeCutter):
            _, sunk_mm = self._open.cut_and_touch(trace, cutter, None, collars, bare)
            return Effects(removed_mm=removed_mm, sunk_mm=sunk_mm, lifted_mm=np.zeros_like(removed_mm))
        opened_mm, sunk_mm = self._open.cut_and_touch(trace, _neck(cutter), watched, collars, bare)
        return Effects(
            removed_mm=np.maximum(opened_mm, removed_mm),
            sunk_mm=sunk_mm,
            lifted_mm=self._lift(trace, cutter, bare),
        )

    @property
    def deepest_mm(self) -> Floats:
        """How deep anything was cut in each cell, under wood or not."""
        return self._cut.depth_mm

    def opened_mm(self) -> Floats:
        """Return how deep each cell is open from the back."""
        through: Floats = np.where(self._roof_mm() <= 0, self._cut.depth_mm, self._open.depth_mm)
        return through

    def cover_mm(self) -> Floats:
        """Return how much wood lies over what was cut; 0 where it is open, or nothing was cut."""
        roof_mm = self._roof_mm()
        over = np.where(roof_mm < _NEVER_MM / 2, roof_mm - self._open.depth_mm, 0.0)
        cover_mm: Floats = np.maximum(over, 0.0).astype(np.float32)
        return cover_mm

    def volume_mm3(self) -> float:
        """Return how much was cut."""
        left_mm = self._cut.depth_mm - self.cover_mm()
        return float(left_mm.sum(dtype=np.float64)) * self.cell_mm**2

    def _roof_mm(self) -> Floats:
        """How deep the highest edge of a head was; far below everything where none was."""
        roof_mm: Floats = -self._heads.depth_mm
        return roof_mm

    def _lift(self, trace: Trace, cutter: KeyholeCutter, bare: Callable[[], NDArray[np.bool_]]) -> Floats:
        """Keep how high the head's upper edge gets, and return how far each motion lifts it into wood."""
        swept = swept_upwards(trace, cutter, _RIM_MM)
        into_mm = self._heads.sweep(swept, 2, len(trace.lines), None, bare)[1]
        rises_mm = np.maximum(trace.ends_mm[:, 2] - trace.starts_mm[:, 2], 0.0).astype(np.float32)
        lifted_mm: Floats = np.minimum(into_mm, rises_mm)
        return lifted_mm


def _neck(cutter: KeyholeCutter) -> EndMill:
    return EndMill(
        name=cutter.name,
        diameter_mm=cutter.neck_mm,
        cutting_length_mm=math.inf,
        flutes_count=cutter.flutes_count,
        shank_mm=cutter.shank_mm,
    )
