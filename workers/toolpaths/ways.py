"""The ways over the work from cut to cut: low ones wherever nothing can be met."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from workers.toolpaths.over_the_edges import widest_below_mm
from workers.toolpaths.pace import LOW_MM
from workers.values.cutter import Cutter
from workers.values.cutting_plan import Operation, OperationKind
from workers.values.keep_out import BESIDE_CLAMP_MM, KeepOut
from workers.values.machine import Machine

_LONGEST_LOW_MM = 80.0  # on a longer way a board may be crowned by more than that


def with_low_ways(
    operation: Operation, face: Polygon, keep_outs: Sequence[KeepOut], machine: Machine
) -> Operation:
    """Return the operation with low ways between its paths wherever they are safe.

    A way may be low if it is short, stays over the board's face and keeps clear of clamps, and as
    long as nothing has been cut loose that might rise.

    Args:
        operation: Its paths in order.
        face: The board's outline.
        keep_outs: Where clamps stand.
        machine: Its clearance is the height of all other ways; its nut and spindle follow the bit.
    """
    if machine.clearance_mm <= LOW_MM or operation.kind is OperationKind.CUTOUT or len(operation.paths) < 2:
        return operation
    first, *others = operation.paths
    ways_mm = np.array(
        [
            (one.points_mm[-1, :2], other.points_mm[0, :2])
            for one, other in zip(operation.paths[:-1], others, strict=True)
        ]
    )
    kept = [_kept_clear(zone, operation.cutter, machine) for zone in keep_outs]
    room = face.difference(shapely.union_all(kept))
    shapely.prepare(room)
    is_low = shapely.covers(room, shapely.linestrings(ways_mm))
    is_low &= np.linalg.norm(ways_mm[:, 1] - ways_mm[:, 0], axis=1) <= _LONGEST_LOW_MM
    lowered = [
        replace(path, traverse_mm=LOW_MM) if low else path
        for path, low in zip(others, is_low.tolist(), strict=True)
    ]
    return replace(operation, paths=(first, *lowered))


def _kept_clear(zone: KeepOut, cutter: Cutter, machine: Machine) -> Polygon:
    """Return where a low bit is too near to a clamp, or brings its nut or the spindle into it."""
    widest_mm = widest_below_mm(cutter, machine, zone.height_mm - LOW_MM)
    keep_mm = max(cutter.diameter_mm / 2 + BESIDE_CLAMP_MM, widest_mm)
    return box(zone.left_mm, zone.bottom_mm, zone.right_mm, zone.top_mm).buffer(keep_mm)
