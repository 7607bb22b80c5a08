"""What the gates look at: what each bit does in a program, and how that acted on the stock."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from workers.values.cuts import CutoutCut, DrillCut, InciseCut
from workers.values.design import Board
from workers.values.keep_out import KeepOut
from workers.values.machine import Machine
from workers.values.material import Material
from workers.verification.loose_parts import LooseParts
from workers.verification.stretches import Stretch


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Exhibit(Stretch):
    """What one bit does in a program that could be read, after it was cut in simulation."""

    removed_mm: NDArray[np.float32]  # (n,) what each traverse below the face took off the stock
    sunk_mm: NDArray[np.float32]  # (k, n) how deep each part over the edges was in standing wood
    cut_cells: bool  # whether it took anything off
    freed_fraction: float  # how much of the outline was cut through once it was done
    loose: LooseParts | None = None  # what nothing held any more then, the board apart
    too_deep_mm: NDArray[np.float32] | None = None  # (n,) how much deeper than ever usual each cut in one go


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Circumstances:
    """The board, the machine and what was ordered."""

    board: Board
    outline: Polygon
    machine: Machine
    incise: InciseCut | None
    cutout: CutoutCut | None
    drill: DrillCut | None = None
    material: Material | None = None
    keep_outs: tuple[KeepOut, ...] = ()
    open_edge: Polygon | None = None  # the ordered outline, where the ground runs out over it
    past_edge_mm: float = 0.0  # how far past that the ground is cut


def in_more_motions(count: int) -> str:
    """Return how a message about one motion goes on where others do the same; nothing where none does."""
    return f", and in {count} more motions" if count else ""
