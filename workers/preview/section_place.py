"""Where a board is best cut through to be shown: across the deepest place, the short way."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.preview.window import THROUGH_SLACK_MM
from workers.values.design import Board

Floats = NDArray[np.float32]

_CARVED_FROM_MM = 0.02
_AS_DEEP_MM = 0.01  # floors are as deep everywhere; among places as deep the narrowest is shown
_MOST_PLACES, _DIRECTIONS = 96, 24
_LONGEST_MM = 80.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionPlace:
    """A line through the board: its middle, its direction, and how wide the carving is along it."""

    x_mm: float
    y_mm: float
    turn_deg: float  # anticlockwise from x
    start_mm: float  # of the carving, from the middle along the line; at most 0
    end_mm: float  # at least 0
    depth_mm: float


def section_place(depth_mm: Floats, cell_mm: float, board: Board) -> SectionPlace:
    """Return the line across the deepest carved place on which the carving is narrowest.

    Args:
        depth_mm: The board's window, row 0 lowest; its cutout left out.
        cell_mm: Side of a cell.
        board: The board; its middle is cut along x where nothing is carved.
    """
    carved = _carved_apart_from_openings(depth_mm, board.thickness_mm - THROUGH_SLACK_MM)
    deepest_mm = float(carved.max(initial=0.0))
    if deepest_mm <= _CARVED_FROM_MM:
        return SectionPlace(
            x_mm=board.width_mm / 2, y_mm=board.height_mm / 2, turn_deg=0, start_mm=0, end_mm=0, depth_mm=0
        )
    places = np.flatnonzero(carved >= deepest_mm - _AS_DEEP_MM)
    row, column = np.divmod(places[:: max(1, len(places) // _MOST_PLACES)], carved.shape[1])
    turns = np.arange(_DIRECTIONS) * (math.pi / _DIRECTIONS)
    reach = _carved_reach_mm(depth_mm, cell_mm, row, column, np.concatenate((turns, turns + math.pi)))
    ahead, behind = reach[:, :_DIRECTIONS], reach[:, _DIRECTIONS:]
    place, way = np.unravel_index(int((ahead + behind).argmin()), ahead.shape)
    rough = SectionPlace(
        x_mm=float((column[place] + 0.5) * cell_mm),
        y_mm=float((row[place] + 0.5) * cell_mm),
        turn_deg=math.degrees(float(turns[way])),
        start_mm=-float(behind[place, way]),
        end_mm=float(ahead[place, way]),
        depth_mm=deepest_mm,
    )
    start_mm, end_mm = (
        _edge_mm(depth_mm, cell_mm, rough, side_mm) for side_mm in (rough.start_mm, rough.end_mm)
    )
    return replace(rough, start_mm=start_mm, end_mm=end_mm)


def _edge_mm(depth_mm: Floats, cell_mm: float, place: SectionPlace, rough_mm: float) -> float:
    """Where along the line the carving ends, to a tenth of a cell, near where whole cells say it does."""
    steps = np.arange(0, abs(rough_mm) + 2 * cell_mm, cell_mm / 10, dtype=np.float32)
    along_mm = steps * np.float32(math.copysign(1, rough_mm))
    shallow = depth_along_mm(depth_mm, cell_mm, place, along_mm) <= _CARVED_FROM_MM
    return float(along_mm[int(shallow.argmax())]) if shallow.any() else rough_mm


def _carved_apart_from_openings(depth_mm: Floats, underside_mm: float) -> Floats:
    """The depth of carving that leads to no cut right through: over tabs an opening is no groove."""
    through = depth_mm >= underside_mm
    if not through.any():
        return depth_mm
    _, part = cv2.connectedComponents((depth_mm > _CARVED_FROM_MM).astype(np.uint8))
    opened = np.unique(part[through])
    apart: Floats = np.where(np.isin(part, opened), np.float32(0), depth_mm)
    return apart


def depth_along_mm(depth_mm: Floats, cell_mm: float, place: SectionPlace, along_mm: Floats) -> Floats:
    """Return the depth at points of a line, between cells by their mean; the face beyond the board."""
    turn = math.radians(place.turn_deg)
    column = (np.float32(place.x_mm) + along_mm * np.float32(math.cos(turn))) / np.float32(cell_mm) - 0.5
    row = (np.float32(place.y_mm) + along_mm * np.float32(math.sin(turn))) / np.float32(cell_mm) - 0.5
    taken = cv2.remap(
        depth_mm, column[None, :], row[None, :], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(taken[0], dtype=np.float32)


def _carved_reach_mm(
    depth_mm: Floats,
    cell_mm: float,
    row: NDArray[np.intp],
    column: NDArray[np.intp],
    turns: NDArray[np.float64],
) -> NDArray[np.float64]:
    """How far the carving goes on from each place in each direction (places, directions)."""
    steps = np.arange(1, math.ceil(_LONGEST_MM / cell_mm))
    reached = np.empty((len(row), len(turns)))
    high, wide = depth_mm.shape
    for number, turn in enumerate(turns.tolist()):
        along_x = np.rint(column[:, None] + steps * math.cos(turn)).astype(np.intp)
        along_y = np.rint(row[:, None] + steps * math.sin(turn)).astype(np.intp)
        inside = (along_x >= 0) & (along_x < wide) & (along_y >= 0) & (along_y < high)
        deep = depth_mm[np.clip(along_y, 0, high - 1), np.clip(along_x, 0, wide - 1)]
        ended = inside & (deep <= _CARVED_FROM_MM)  # what runs out over the board's edge does not end there
        first = np.where(ended.any(axis=1), ended.argmax(axis=1), len(steps))
        reached[:, number] = (first + 0.5) * cell_mm
    return reached
