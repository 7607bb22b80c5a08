"""The carved face as a mesh: glTF 2.0 in its binary form.

Metres, y up, the face towards +z: a viewer shows the sign as it will hang. The
face is a grid; where a whole block of it is flat, the block is a fan round its
middle, which meets its neighbours at every grid point, so nothing gapes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.preview.glb import GlbMesh, write_glb
from workers.preview.tones import linear_light
from workers.preview.window import THROUGH_SLACK_MM, board_window, outside_mm, without_cutout
from workers.values.design import Board
from workers.values.height_field import HeightField
from workers.values.material import Material

Floats = NDArray[np.float32]
Integers = NDArray[np.uint32]
Truths = NDArray[np.bool_]

MOST_TRIANGLES = 250_000  # 7 MB: what a bundle can carry and a browser can turn
_FINEST_CELL_MM = 0.2
_LEAST_STEP = 1.06  # coarser, from one trial to the next
_BLOCKS = (32, 8)  # cells along a side of a block that may become a fan, the larger first
_FLAT_MM = 1e-4
_CUT_SHADE = 200  # of 255: the groove beside the face, as the fresh cut in the picture
_M_PER_MM = np.float32(0.001)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Grid:
    """Depth at grid points, and which cells between them are board."""

    x_mm: Floats  # (columns + 1,)
    y_mm: Floats  # (rows + 1,)
    depth_mm: Floats  # (rows + 1, columns + 1)
    solid: Truths  # (rows, columns)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Tiles:
    """How the face is divided."""

    flat_blocks: tuple[Truths, ...]  # for each size of block, which become a fan
    cells: Truths  # (rows, columns) that become two triangles

    @property
    def triangles_count(self) -> int:
        fans = zip(self.flat_blocks, _BLOCKS, strict=True)
        in_fans = sum(4 * block * np.count_nonzero(whole) for whole, block in fans)
        return int(in_fans + 2 * np.count_nonzero(self.cells))


def write_mesh(
    field: HeightField, board: Board, material: Material, paint: tuple[int, int, int] | None = None
) -> bytes:
    """Return the carved board as GLB of at most 250,000 triangles.

    Args:
        field: What the programs leave, mm.
        board: The finished board; its walls are drawn, its underside is not.
        material: Its colour.
        paint: sRGB colour of all that is carved; None leaves it bare, a little darker than the face.
    """
    whole = (255, 255, 255) if paint else material.colour  # each point then has its own colour
    shades = _shades(material, paint)
    cells = without_cutout(board_window(field, board), board, field.cell_mm)
    cell_mm = max(field.cell_mm, _FINEST_CELL_MM)
    while True:
        grid = _grid(cells, field.cell_mm, board, cell_mm)
        tiles, walls = _tiled(grid), _wall_edges(grid.solid)
        too_many = (tiles.triangles_count + 2 * len(walls)) / MOST_TRIANGLES
        if too_many <= 1:
            faces = _face_triangles(grid, tiles)
            return write_glb(_mesh(grid, faces, walls, board, shades), material.title, whole)
        cell_mm *= max(_LEAST_STEP, math.sqrt(too_many))


def _shades(material: Material, paint: tuple[int, int, int] | None) -> NDArray[np.uint8]:
    """Colours (2, 3) in linear light of the face and of what is carved, over that of the material."""
    if paint is None:
        return np.array([[255] * 3, [_CUT_SHADE] * 3], dtype=np.uint8)
    tones = [[round(255 * linear_light(tone)) for tone in colour] for colour in (material.colour, paint)]
    return np.array(tones, dtype=np.uint8)


def _grid(cells: Floats, field_cell_mm: float, board: Board, cell_mm: float) -> _Grid:
    """Cells that divide the board evenly into whole blocks."""
    rows, columns = (
        math.ceil(side / cell_mm / _BLOCKS[0]) * _BLOCKS[0] for side in (board.height_mm, board.width_mm)
    )
    y_mm = np.linspace(0, board.height_mm, rows + 1, dtype=np.float32)
    x_mm = np.linspace(0, board.width_mm, columns + 1, dtype=np.float32)
    underside_mm = board.thickness_mm - THROUGH_SLACK_MM
    depth_mm = _sampled(cells, y_mm / field_cell_mm, x_mm / field_cell_mm)
    depth_mm[depth_mm >= underside_mm] = 0  # a hole's rim belongs to the face
    middle_x, middle_y = (x_mm[:-1] + x_mm[1:]) / 2, (y_mm[:-1] + y_mm[1:]) / 2
    through = _sampled(cells, middle_y / field_cell_mm, middle_x / field_cell_mm) >= underside_mm
    inside = outside_mm(board, middle_x[None, :], middle_y[:, None]) < 0
    return _Grid(x_mm=x_mm, y_mm=y_mm, depth_mm=depth_mm, solid=inside & ~through)


def _sampled(cells: Floats, rows: NDArray[Any], columns: NDArray[Any]) -> Floats:
    """The cells that hold these points."""
    row = np.clip(rows.astype(np.intp), 0, cells.shape[0] - 1)
    column = np.clip(columns.astype(np.intp), 0, cells.shape[1] - 1)
    taken: Floats = cells[np.ix_(row, column)]
    return taken


def _tiled(grid: _Grid) -> _Tiles:
    """Fans where blocks are flat, two triangles a cell elsewhere."""
    calm = _calm_cells(grid)
    open_cells = grid.solid.copy()
    flat_blocks = []
    for block in _BLOCKS:
        rows, columns = (side // block for side in calm.shape)
        blocks = (calm & open_cells).reshape(rows, block, columns, block)
        whole = np.logical_and.reduce(blocks, axis=(1, 3))
        flat_blocks.append(whole)
        open_cells &= ~np.repeat(np.repeat(whole, block, axis=0), block, axis=1)
    return _Tiles(flat_blocks=tuple(flat_blocks), cells=open_cells)


def _face_triangles(grid: _Grid, tiles: _Tiles) -> Integers:
    """Triangles of the face over point numbers."""
    width = grid.depth_mm.shape[1]
    fans = [_fans(whole, block, width) for whole, block in zip(tiles.flat_blocks, _BLOCKS, strict=True)]
    return np.concatenate([*fans, _pairs(tiles.cells, grid.depth_mm)])


def _calm_cells(grid: _Grid) -> Truths:
    """Cells that are flat, as are all round them: the light on a fan must not see a groove beside it."""
    depth_mm = grid.depth_mm
    corners = np.stack((depth_mm[:-1, :-1], depth_mm[:-1, 1:], depth_mm[1:, :-1], depth_mm[1:, 1:]))
    flat = grid.solid & (np.ptp(corners, axis=0) < _FLAT_MM)
    around = cv2.erode(flat.astype(np.uint8), np.ones((3, 3), dtype=np.uint8))
    return np.asarray(around, dtype=np.bool_)


def _fans(whole: Truths, block: int, width: int) -> Integers:
    """A fan round the middle of each flat block, over all grid points of its rim."""
    side = np.arange(block)
    rim = np.concatenate((side, side * width + block, block * width + block - side, (block - side) * width))
    row, column = np.nonzero(whole)
    corner = (row * block * width + column * block)[:, None]
    middle = np.broadcast_to(corner + (block // 2) * (width + 1), (len(row), 4 * block))
    fan = np.stack((middle, corner + rim, corner + np.roll(rim, -1)), axis=-1)
    return fan.reshape(-1, 3).astype(np.uint32)


def _pairs(cells: Truths, depth_mm: Floats) -> Integers:
    """Two triangles a cell, divided along the diagonal that runs more level, so grooves stay crisp."""
    row, column = np.nonzero(cells)
    width = depth_mm.shape[1]
    a = row * width + column
    b, c, d = a + 1, a + width + 1, a + width
    flat_depth = depth_mm.reshape(-1)
    rising = np.abs(flat_depth[a] - flat_depth[c]) <= np.abs(flat_depth[b] - flat_depth[d])
    first = np.where(rising, (a, b, c), (a, b, d))
    second = np.where(rising, (a, c, d), (b, c, d))
    return np.concatenate((first.T, second.T)).astype(np.uint32)


def _wall_edges(solid: Truths) -> Integers:
    """Edges of the face at its rims as point numbers (m, 2), the board on their left."""
    rows, columns = solid.shape
    width = columns + 1
    framed = np.zeros((rows + 2, columns + 2), dtype=np.bool_)
    framed[1:-1, 1:-1] = solid
    edges = []
    for down, right, start, end in (
        (-1, 0, 0, 1),  # below: runs to the right
        (0, 1, 1, width + 1),  # to the right: runs up
        (1, 0, width + 1, width),  # above: runs to the left
        (0, -1, width, 0),  # to the left: runs down
    ):
        neighbour = framed[1 + down : rows + 1 + down, 1 + right : columns + 1 + right]
        row, column = np.nonzero(solid & ~neighbour)
        corner = row * width + column
        edges.append(np.column_stack((corner + start, corner + end)))
    return np.concatenate(edges).astype(np.uint32)


def _mesh(grid: _Grid, faces: Integers, walls: Integers, board: Board, shades: NDArray[np.uint8]) -> GlbMesh:
    """The points in use, and under each rim a wall of its own points down to the underside."""
    used, numbered = _renumbered(faces, grid.depth_mm.size)
    points = _points(grid, board, walls)
    normals = _normals(grid)
    is_cut = grid.depth_mm.reshape(-1)[used] > _FLAT_MM
    upper = points[walls]
    lower = upper * np.array([1, 1, 0], dtype=np.float32) - np.array(
        [0, 0, board.thickness_mm], dtype=np.float32
    )
    along = upper[:, 1] - upper[:, 0]
    outward = np.column_stack((along[:, 1], -along[:, 0], np.zeros(len(along), dtype=np.float32)))
    outward /= np.maximum(np.linalg.norm(outward, axis=1, keepdims=True), 1e-9)
    corners = np.stack((upper[:, 0], lower[:, 0], lower[:, 1], upper[:, 1]), axis=1).reshape(-1, 3)
    first = len(used) + 4 * np.arange(len(walls))[:, None, None]
    wall_triangles = first + np.array([[0, 1, 2], [0, 2, 3]])
    count = len(used) + len(corners)
    colours = np.full((count, 4), 255, dtype=np.uint8)
    colours[:, :3] = shades[0]
    colours[: len(used), :3][is_cut] = shades[1]
    return GlbMesh(
        positions_m=np.concatenate((points[used], corners)).astype(np.float32) * _M_PER_MM,
        normals=np.concatenate((normals[used], np.repeat(outward, 4, axis=0))).astype(np.float32),
        colours=colours,
        triangles=np.concatenate((numbered, wall_triangles.reshape(-1, 3))).astype(np.uint32),
    )


def _renumbered(faces: Integers, points_count: int) -> tuple[NDArray[np.intp], Integers]:
    """Return the points in use, and the triangles over their places in that list."""
    is_used = np.zeros(points_count, dtype=np.bool_)
    is_used[faces] = True
    place = np.cumsum(is_used, dtype=np.uint32) - np.uint32(1)
    return np.flatnonzero(is_used), place[faces]


def _points(grid: _Grid, board: Board, walls: Integers) -> Floats:
    """Grid points in mm; those on a rounded corner's rim moved onto the arc."""
    x_mm, y_mm = (part.reshape(-1).copy() for part in np.meshgrid(grid.x_mm, grid.y_mm))
    rim = np.unique(walls)
    radius = board.corner_radius_mm
    half = np.array([board.width_mm / 2, board.height_mm / 2])
    from_middle = np.column_stack((x_mm[rim], y_mm[rim])) - half
    past = np.abs(from_middle) - (half - radius)
    reach = np.linalg.norm(past, axis=1)
    spacing_mm = float(np.hypot(grid.x_mm[1], grid.y_mm[1]))
    on_arc = (past > 0).all(axis=1) & (np.abs(reach - radius) <= spacing_mm) & (reach > 0)
    arc = past[on_arc] * (radius / reach[on_arc])[:, None] + (half - radius)
    x_mm[rim[on_arc]], y_mm[rim[on_arc]] = (np.copysign(arc, from_middle[on_arc]) + half).T
    return np.column_stack((x_mm, y_mm, 0 - grid.depth_mm.reshape(-1)))


def _normals(grid: _Grid) -> Floats:
    """(d depth/dx, d depth/dy, 1), made unit length."""
    down_y, along_x = np.gradient(grid.depth_mm, float(grid.y_mm[1]), float(grid.x_mm[1]))
    normals = np.stack((along_x, down_y, np.ones_like(along_x)), axis=-1).reshape(-1, 3)
    unit: Floats = normals / np.linalg.norm(normals, axis=1, keepdims=True)
    return unit
