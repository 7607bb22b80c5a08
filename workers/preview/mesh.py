"""The carved board as a mesh: glTF 2.0 in its binary form.

Metres, y up, the face towards +z: a viewer shows the sign as it will hang. Face, walls and underside
close it all round, so that its volume is the board's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.preview.creases import along_creases
from workers.preview.glb import GlbMesh, write_glb
from workers.preview.mesh_edges import facet_normals, in_use, rim_edges, rounded_points
from workers.preview.tones import linear_light
from workers.preview.triangulation import BLOCK, Triangulation, triangulated
from workers.preview.window import THROUGH_SLACK_MM, board_window, outside_mm, without_cutout
from workers.values.design import Board
from workers.values.height_field import HeightField
from workers.values.material import Material

Floats = NDArray[np.float32]
Integers = NDArray[np.uint32]
Truths = NDArray[np.bool_]

MOST_TRIANGLES = 200_000  # 7 MB: what a bundle carries and a browser turns
TOLERANCE_MM = 0.05  # of a point that is left out, from the middle between its neighbours
_FINEST_CELL_MM = 0.2
_LEAST_STEP, _MARGIN = 1.12, 1.06  # coarser, from one trial to the next; of what seems to be enough
_UNDER_AND_WALLS = 8  # triangles for each point of a rim, in the walls and the underside
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


def write_mesh(
    field: HeightField, board: Board, material: Material, paint: tuple[int, int, int] | None = None
) -> bytes:
    """Return the carved board as GLB, closed all round, of at most 250,000 triangles.

    Args:
        field: What the programs leave, mm.
        board: The finished board.
        material: Its colour.
        paint: sRGB colour of all that is carved; None leaves it bare, a little darker than the face.
    """
    cells = without_cutout(board_window(field, board), board, field.cell_mm)
    is_through = cells >= board.thickness_mm - THROUGH_SLACK_MM
    whole_mm = np.where(is_through, np.float32(0), cells)  # a hole's rim belongs to the face
    cell_mm = max(field.cell_mm, _FINEST_CELL_MM)
    while True:
        grid = _grid((whole_mm, is_through), field.cell_mm, board, cell_mm)
        on_rim = _rim_points(grid.solid)
        face = triangulated(grid.depth_mm, TOLERANCE_MM, on_rim)
        too_many = (face.triangles_count + _UNDER_AND_WALLS * np.count_nonzero(on_rim)) / MOST_TRIANGLES
        if too_many <= 1:
            break
        cell_mm *= max(
            _LEAST_STEP, _MARGIN * too_many
        )  # most triangles lie along edges, so they go with 1 / cell
    whole = (255, 255, 255) if paint else material.colour  # each point then has its own colour
    surface = HeightField(depth_mm=whole_mm, cell_mm=field.cell_mm, left_mm=0.0, bottom_mm=0.0)
    mesh = _mesh(grid, face, on_rim, board, _shades(material, paint), surface)
    return write_glb(mesh, material.title, whole)


def _shades(material: Material, paint: tuple[int, int, int] | None) -> NDArray[np.uint8]:
    """Colours (2, 3) in linear light of the face and of what is carved, over that of the material."""
    if paint is None:
        return np.array([[255] * 3, [_CUT_SHADE] * 3], dtype=np.uint8)
    tones = [[round(255 * linear_light(tone)) for tone in colour] for colour in (material.colour, paint)]
    return np.array(tones, dtype=np.uint8)


def _grid(cells: tuple[Floats, Truths], field_cell_mm: float, board: Board, cell_mm: float) -> _Grid:
    """Cells that divide the board evenly into whole blocks, by the field's depth and what is cut through."""
    rows, columns = (math.ceil(side / cell_mm / BLOCK) * BLOCK for side in (board.height_mm, board.width_mm))
    y_mm = np.linspace(0, board.height_mm, rows + 1, dtype=np.float32)
    x_mm = np.linspace(0, board.width_mm, columns + 1, dtype=np.float32)
    depth_mm = _between(cells[0], y_mm / field_cell_mm, x_mm / field_cell_mm)
    middle_x, middle_y = (x_mm[:-1] + x_mm[1:]) / 2, (y_mm[:-1] + y_mm[1:]) / 2
    through = _sampled(cells[1], middle_y / field_cell_mm, middle_x / field_cell_mm)
    inside = outside_mm(board, middle_x[None, :], middle_y[:, None]) < 0
    return _Grid(x_mm=x_mm, y_mm=y_mm, depth_mm=depth_mm, solid=inside & ~through)


def _sampled(cells: Truths, rows: NDArray[Any], columns: NDArray[Any]) -> Truths:
    """The cells that hold these points."""
    row = np.clip(rows.astype(np.intp), 0, cells.shape[0] - 1)
    column = np.clip(columns.astype(np.intp), 0, cells.shape[1] - 1)
    taken: Truths = cells[np.ix_(row, column)]
    return taken


def _between(cells: Floats, rows: NDArray[Any], columns: NDArray[Any]) -> Floats:
    """Depth at points, evenly spaced from the corner on, between the middles of cells."""
    placing = np.array([[columns[1], 0, -0.5], [0, rows[1], -0.5]], dtype=np.float64)  # both begin at 0
    flags, size = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP, (len(columns), len(rows))
    seen = cv2.warpAffine(cells, placing, size, flags=flags, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(seen, dtype=np.float32)


def _rim_points(solid: Truths) -> Truths:
    """Points where board and no board meet."""
    framed = np.pad(solid, 1, mode="edge")
    around = framed[:-1, :-1].astype(np.uint8) + framed[:-1, 1:] + framed[1:, :-1] + framed[1:, 1:]
    on_rim: Truths = (around > 0) & (around < 4)
    return on_rim


def _of_wood(triangles: Integers, solid: Truths) -> Integers:
    """The triangles over solid cells; none lies over both kinds."""
    width = np.uint32(solid.shape[1] + 1)
    row = triangles // width
    column = triangles - row * width
    kept: Integers = triangles[solid[row.sum(axis=1) // 3, column.sum(axis=1) // 3]]
    return kept


def _mesh(
    grid: _Grid,
    carved: Triangulation,
    on_rim: Truths,
    board: Board,
    shades: NDArray[np.uint8],
    surface: HeightField,
) -> GlbMesh:
    """The face with its creases sharp, a wall under each of its rims, the underside over the same rims."""
    plane = triangulated(np.zeros_like(grid.depth_mm), 1.0, on_rim | carved.border())
    face, under = (_of_wood(made.triangles(), grid.solid) for made in (carved, plane))
    may_be_rim = on_rim.copy()
    may_be_rim[[0, -1]] = may_be_rim[:, [0, -1]] = True
    rim = rim_edges(face, may_be_rim.reshape(-1))
    points_mm = rounded_points(grid.x_mm, grid.y_mm, grid.depth_mm, board, rim)
    points_mm, face = along_creases(points_mm, face, ~may_be_rim.reshape(-1), surface)
    numbers, normals, corners, is_slope = facet_normals(points_mm, face)
    floor_mm = points_mm * np.array([1, 1, 0], dtype=np.float32)
    floor_mm[:, 2] = -board.thickness_mm
    along = points_mm[rim[:, 1]] - points_mm[rim[:, 0]]
    outward = np.column_stack((along[:, 1], -along[:, 0], np.zeros(len(along), dtype=np.float32)))
    outward /= np.maximum(np.linalg.norm(outward, axis=1, keepdims=True), 1e-9)
    upper, lower = points_mm[rim], floor_mm[rim]
    walls = np.stack((upper[:, 0], lower[:, 0], lower[:, 1], upper[:, 1]), axis=1).reshape(-1, 3)
    first = len(numbers) + 4 * np.arange(len(rim))[:, None, None]
    wall_triangles = (first + np.array([[0, 1, 2], [0, 2, 3]])).reshape(-1, 3)
    below, placed = in_use(under, len(points_mm))
    under_triangles = placed[:, ::-1] + len(numbers) + len(walls)
    is_cut = is_slope | (points_mm[numbers, 2] < -_FLAT_MM)
    colours = np.full((len(numbers) + len(walls) + len(below), 4), 255, dtype=np.uint8)
    colours[:, :3] = shades[0]
    colours[: len(numbers), :3][is_cut] = shades[1]
    downward = np.broadcast_to(np.array([0, 0, -1], dtype=np.float32), (len(below), 3))
    return GlbMesh(
        positions_m=np.concatenate((points_mm[numbers], walls, floor_mm[below])).astype(np.float32)
        * _M_PER_MM,
        normals=np.concatenate((normals, np.repeat(outward, 4, axis=0), downward)).astype(np.float32),
        colours=colours,
        triangles=np.concatenate((corners, wall_triangles, under_triangles)).astype(np.uint32),
    )
