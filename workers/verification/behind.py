"""The back of the board: what is run with the board turned over is cut on maps of its own.

All of it lies in the frame of the back as it lies: x is the board's width less the front's x.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry import Polygon

from workers.simulation.undercut import UndercutStock
from workers.values.design import Board, Hanger
from workers.values.hanger_shape import as_they_lie, head_outline
from workers.values.height_field import HeightField
from workers.verification.evidence import Circumstances, Exhibit
from workers.verification.exhibits import without_stock
from workers.verification.grid import Grid
from workers.verification.over_edges import parts_over, traverses_in_stock, watch_on
from workers.verification.stretches import Stretch
from workers.verification.tolerances import RAPID_MM

_MARGIN_MM = 1.0  # round what is cut, and what shall be
_NOWHERE_MM = (0.0, 0.0, 0.0, 0.0)  # a cell, for programs that cut nothing

Floats = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class BackExhibit(Exhibit):
    """What one bit does from behind."""

    lifted_mm: Floats  # (n,) by how much each motion lifts a head into the wood over it


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Behind:
    """The back after all of its programs, where anything is cut or shall be."""

    circumstances: Circumstances  # as the board lies
    hangers: tuple[Hanger, ...] | None  # as they lie; None: no design is known
    grid: Grid
    stock: UndercutStock
    exhibits: tuple[BackExhibit, ...]
    carved_mm: Floats  # depth of the face behind each cell

    def wood_mm(self) -> Floats:
        """Return how much is left between back and face where the back is cut; elsewhere not a number."""
        deepest_mm = self.stock.deepest_mm
        left_mm = np.float32(self.circumstances.board.thickness_mm) - self.carved_mm - deepest_mm
        wood_mm: Floats = np.where(deepest_mm > 0, left_mm, np.float32(np.nan))
        return wood_mm


def cut_from_behind(
    stretches: Sequence[Stretch],
    hangers: Sequence[Hanger] | None,
    circumstances: Circumstances,
    face_mm: Floats,
    grid: Grid,
) -> Behind | None:
    """Cut the back with one bit after the other; None if nothing is cut there, nor shall be.

    Args:
        stretches: What is run from behind, in order.
        hangers: The design's, in the front's frame; None where no design is known.
        circumstances: Those of the front.
        face_mm: What the programs of the front leave.
        grid: Where its cells are.
    """
    board = circumstances.board
    lying = as_they_lie(hangers, board) if hangers is not None else None
    reaches = [_reach(stretch, circumstances) for stretch in stretches]
    wanted = [head_outline(hanger).buffer(_MARGIN_MM).bounds for hanger in lying or ()]
    boxes = [*(reach for reach in reaches if reach), *wanted]
    if not stretches and not boxes:
        return None
    window = _window(boxes or [_NOWHERE_MM], _turned(grid, board))
    first_row, last_row, first, last = window.cells
    stock = UndercutStock(
        window.grid.left_mm,
        window.grid.bottom_mm,
        window.grid.right_mm,
        window.grid.top_mm,
        window.grid.cell_mm,
    )
    turned = _circumstances(circumstances)
    return Behind(
        circumstances=turned,
        hangers=lying,
        grid=window.grid,
        stock=stock,
        exhibits=tuple(_cut(stretch, stock, window.grid, turned) for stretch in stretches),
        carved_mm=face_mm[first_row:last_row, ::-1][:, first:last],
    )


def field_behind(behind: Behind, face_mm: Floats, grid: Grid) -> HeightField:
    """Return what is seen of the whole back: its cuts as far as they are open, and what goes right through.

    Args:
        behind: The back's part that is cut.
        face_mm: What the programs of the front leave.
        grid: Where its cells are.
    """
    board = behind.circumstances.board
    turned = _turned(grid, board)
    depth_mm = np.where(face_mm >= board.thickness_mm - RAPID_MM, face_mm, np.float32(0.0))[:, ::-1].copy()
    first_row, last_row, first, last = _window([_box(behind.grid)], turned).cells
    seen = depth_mm[first_row:last_row, first:last]
    np.maximum(seen, behind.stock.opened_mm(), out=seen)
    return HeightField(
        depth_mm=depth_mm, cell_mm=grid.cell_mm, left_mm=turned.left_mm, bottom_mm=turned.bottom_mm
    )


@dataclass(frozen=True, slots=True)
class _Window:
    grid: Grid
    cells: tuple[int, int, int, int]  # first row, row after the last, first column, column after the last


Box = tuple[float, float, float, float]


def _turned(grid: Grid, board: Board) -> Grid:
    """The same cells as seen from behind."""
    return replace(grid, left_mm=board.width_mm - grid.right_mm, right_mm=board.width_mm - grid.left_mm)


def _box(grid: Grid) -> Box:
    half_mm = grid.cell_mm / 2
    return (
        grid.left_mm + half_mm,
        grid.bottom_mm + half_mm,
        grid.right_mm - half_mm,
        grid.top_mm - half_mm,
    )


def _window(boxes: Sequence[Box], whole: Grid) -> _Window:
    """The least part of whole cells that holds the boxes, as far as the grid goes."""
    left, bottom, right, top = zip(*boxes, strict=True)
    first, last = _whole_cells(min(left) - whole.left_mm, max(right) - whole.left_mm, whole, whole.columns)
    first_row, last_row = _whole_cells(
        min(bottom) - whole.bottom_mm, max(top) - whole.bottom_mm, whole, whole.rows
    )
    part = Grid(
        left_mm=whole.left_mm + first * whole.cell_mm,
        bottom_mm=whole.bottom_mm + first_row * whole.cell_mm,
        right_mm=whole.left_mm + last * whole.cell_mm,
        top_mm=whole.bottom_mm + last_row * whole.cell_mm,
        cell_mm=whole.cell_mm,
    )
    return _Window(part, (first_row, last_row, first, last))


def _whole_cells(start_mm: float, end_mm: float, whole: Grid, count: int) -> tuple[int, int]:
    """Return the first cell and the one after the last; one at least."""
    first = min(max(math.floor(start_mm / whole.cell_mm), 0), count - 1)
    return first, min(max(math.ceil(end_mm / whole.cell_mm), first + 1), count)


def _reach(stretch: Stretch, circumstances: Circumstances) -> Box | None:
    """The box of all that bit and holder may touch below the face, if they get there."""
    trace = stretch.trace
    below = trace.lowest_mm < 0
    if not below.any():
        return None
    depth_mm = -float(trace.lowest_mm.min())
    parts = parts_over(stretch.cutter, circumstances.machine)
    widest_mm = max([stretch.cutter.diameter_mm, *(p.diameter_mm for p in parts if p.over_tip_mm < depth_mm)])
    places_mm = np.concatenate([trace.starts_mm[below, :2], trace.ends_mm[below, :2]])
    left, bottom = (places_mm.min(axis=0) - widest_mm / 2 - _MARGIN_MM).tolist()
    right, top = (places_mm.max(axis=0) + widest_mm / 2 + _MARGIN_MM).tolist()
    return left, bottom, right, top


def _circumstances(front: Circumstances) -> Circumstances:
    """Return the same turned over; clamps stay where they stand on the machine."""

    def over(outline: Polygon) -> Polygon:
        return affinity.affine_transform(outline, [-1, 0, 0, 1, front.board.width_mm, 0])

    edge = front.open_edge
    return replace(front, outline=over(front.outline), open_edge=None if edge is None else over(edge))


def _cut(stretch: Stretch, stock: UndercutStock, grid: Grid, circumstances: Circumstances) -> BackExhibit:
    trace, cutter = stretch.trace, stretch.cutter
    before_mm = float(stock.deepest_mm.sum(dtype=np.float64))
    watch = watch_on(cutter, circumstances.machine, circumstances.material, grid.cell_mm)
    effects = stock.cut(
        trace,
        cutter,
        traverses_in_stock(trace),
        watch.collars,
        lambda: without_stock(circumstances, grid),
    )
    sunk_mm, too_deep_mm = watch.told_apart(effects.sunk_mm)
    return BackExhibit(
        program=stretch.program,
        trace=trace,
        cutter=cutter,
        number=stretch.number,
        removed_mm=effects.removed_mm,
        sunk_mm=sunk_mm,
        too_deep_mm=too_deep_mm,
        lifted_mm=effects.lifted_mm,
        cut_cells=float(stock.deepest_mm.sum(dtype=np.float64)) > before_mm,
        freed_fraction=0.0,
    )
