"""A cutting plan as a file: compact JSON. Its drawing is in ``path_drawing``.

Points are whole numbers of ``unit_mm`` (a ten-thousandth of a millimetre) in
one flat list, x, y, z after one another; feeds are [how many points, feed] runs;
arcs are [first point, last point, turn in millionths of a radian].
"""

from __future__ import annotations

import json
from itertools import groupby
from typing import Any, NoReturn

import numpy as np
from numpy.typing import NDArray

from workers.cutting_data.cutter_record import cutter_of, cutter_record, positive, short_text
from workers.errors import InputRejectedError
from workers.toolpaths.pace import COORDINATE_MM
from workers.toolpaths.path_drawing import draw_paths
from workers.values.cutting_plan import CutPath, CuttingPlan, Operation, OperationKind
from workers.values.design import Board

__all__ = ["draw_paths", "read_paths", "write_paths"]

_FORMAT = "triglyph-paths-1"
_TURN_RAD = 1e-6  # half a micrometre of an arc of half a metre
_FARTHEST_UNITS = 10**8  # ten metres: no router is larger
_BOARD_LENGTHS = ("width_mm", "height_mm", "thickness_mm")


def write_paths(plan: CuttingPlan) -> bytes:
    """Return a plan as JSON; reading it gives the same plan, coordinates to ``unit_mm``."""
    board = plan.board
    record = {
        "format": _FORMAT,
        "unit_mm": COORDINATE_MM,
        "board": {name: getattr(board, name) for name in (*_BOARD_LENGTHS, "corner_radius_mm", "material")},
        "clearance_mm": plan.clearance_mm,
        "spin_up_s": plan.spin_up_s,
        "operations": [_operation_record(operation) for operation in plan.operations],
    }
    return json.dumps(record, separators=(",", ":"), ensure_ascii=False).encode()


def read_paths(data: bytes, field: str) -> CuttingPlan:
    """Return the plan of a file.

    Args:
        data: The file.
        field: JSON pointer of the link that named it, for errors.

    Raises:
        InputRejectedError: It is not ours, or damaged.
    """
    try:
        record = json.loads(data, parse_constant=_refuse_constant)
        if record["format"] != _FORMAT:
            raise ValueError(f"format {record['format']!r}")
        return _plan(record)
    except (ValueError, TypeError, KeyError, OverflowError, RecursionError) as error:
        raise InputRejectedError(
            "these are no cut paths: the file is not a paths.json of this service, or it is damaged",
            field=field,
            remedy="give the paths.json that the process 'toolpaths' left",
        ) from error


def _operation_record(operation: Operation) -> dict[str, Any]:
    return {
        "kind": operation.kind.value,
        "cutter": cutter_record(operation.cutter),
        "spindle_rpm": operation.spindle_rpm,
        "paths": [_path_record(path) for path in operation.paths],
    }


def _path_record(path: CutPath) -> dict[str, Any]:
    record: dict[str, Any] = {
        "points": np.rint(path.points_mm / COORDINATE_MM).astype(np.int64).ravel().tolist(),
        "feeds": [[len(list(run)), feed] for feed, run in groupby(path.feeds_mm_per_min.tolist())],
    }
    if len(path.arc_rows):
        turns = np.rint(path.arc_turns_rad / _TURN_RAD).astype(np.int64)
        record["arcs"] = np.column_stack([path.arc_rows, turns]).tolist()
    if path.dwell_s:
        record["dwell_s"] = path.dwell_s
    if path.traverse_mm is not None:
        record["traverse_mm"] = path.traverse_mm
    return record


def _plan(record: dict[str, Any]) -> CuttingPlan:
    if record["unit_mm"] != COORDINATE_MM:
        raise ValueError("another unit")
    board = record["board"]
    return CuttingPlan(
        board=Board(
            **{name: positive(board[name]) for name in _BOARD_LENGTHS},
            corner_radius_mm=positive(board["corner_radius_mm"], zero=True),
            material=short_text(board["material"]),
        ),
        clearance_mm=positive(record["clearance_mm"]),
        spin_up_s=positive(record["spin_up_s"], zero=True),
        operations=tuple(
            Operation(
                kind=OperationKind(entry["kind"]),
                cutter=cutter_of(entry["cutter"]),
                spindle_rpm=positive(entry["spindle_rpm"]),
                paths=tuple(_path(path) for path in entry["paths"]),
            )
            for entry in record["operations"]
        ),
    )


def _path(record: dict[str, Any]) -> CutPath:
    units = _whole_numbers(record["points"]).reshape(-1, 3)
    counts = _whole_numbers([count for count, _ in record["feeds"]])
    feeds = np.array([positive(feed) for _, feed in record["feeds"]])
    if (counts < 1).any() or sum(counts.tolist()) != len(units):
        raise ValueError("feeds for another number of points")
    arcs = np.array([_whole_numbers(arc) for arc in record.get("arcs", [])], np.int64).reshape(-1, 3)
    return CutPath(
        points_mm=np.round(units * COORDINATE_MM, 4),
        feeds_mm_per_min=np.repeat(feeds, counts),
        arc_rows=arcs[:, :2].astype(np.int32),
        arc_turns_rad=np.asarray(arcs[:, 2] * _TURN_RAD, np.float64),
        dwell_s=positive(record.get("dwell_s", 0.0), zero=True),
        traverse_mm=positive(record["traverse_mm"]) if "traverse_mm" in record else None,
    )


def _whole_numbers(values: Any) -> NDArray[np.int64]:
    numbers = np.array(values)
    if numbers.ndim != 1 or numbers.dtype != np.int64 or (np.abs(numbers) > _FARTHEST_UNITS).any():
        raise ValueError("no list of whole numbers")
    return numbers


def _refuse_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")
