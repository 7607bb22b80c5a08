"""What one bit shall cut for one purpose, and what came of it: the words between plan and strategy."""

from __future__ import annotations

from dataclasses import dataclass, field

from shapely.geometry import MultiPolygon

from workers.values.cutter import Cutter, EndMill
from workers.values.cutting_plan import CutPath, OperationKind
from workers.values.design import Board
from workers.values.finding import Finding
from workers.values.machine import Machine
from workers.values.material import CuttingData
from workers.values.region import Region


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class CuttingTask:
    """One bit's work, in the board frame.

    To *clear* is to bring the bit's middle, at the depth, so near to every place of the area that
    nothing is left standing between its ways, and never out of the room. To *incise* is to cut the
    area as a V-bit does that touches both its edges, nowhere deeper than the depth.
    """

    kind: OperationKind  # CLEAR or INCISE
    cutter: Cutter
    area: Region  # CLEAR: where the bit's middle must come by; INCISE: the ink
    room: Region  # CLEAR: where the bit's middle may stand at the depth; INCISE: the ink
    depth_mm: float  # of the floor, or the deepest allowed
    board: Board
    machine: Machine
    data: CuttingData  # speeds, deepest single pass, step from way to way
    climb: bool = True
    grain_deg: float | None = None  # direction from the x axis, if the order names it
    engagement_deg: float | None = None  # CLEAR: how much of the edge should be in the wood, if limited
    milled: Region = field(
        default_factory=lambda: Region(MultiPolygon())
    )  # floors that are at the depth already
    milled_with: tuple[EndMill, ...] = ()
    bare: Region | None = None  # INCISE: what of the ink no deeper task takes; None: all of it


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Ways:
    """The paths of a task in the order in which they run, and what should be known about them."""

    paths: tuple[CutPath, ...]
    findings: tuple[Finding, ...] = ()
