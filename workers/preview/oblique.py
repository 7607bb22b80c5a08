"""The board lying on its table as one sees it from in front: turned a little, and from above at a slant.

A parallel projection. Along each column of the turned scene a cell rises on the picture to
y sin(e) + z cos(e); what the cells before it already cover is hidden: the highest so far is the horizon.
"""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.preview.png import encode_png
from workers.preview.relief_image import Scene, scene_of
from workers.preview.scaling import scaled
from workers.preview.tones import srgb_tones
from workers.values.design import Board
from workers.values.height_field import HeightField
from workers.values.material import Material

Floats = NDArray[np.float32]

_TURN_DEG, _ELEVATION_DEG = 16.0, 40.0
_WALL_SHADE = np.float32(0.55)  # walls that face the viewer are turned away from the lamp
_WALL_FROM_PX = 1.5  # a cell that stands this much over a pixel shows its wall there
_WALL_INSIDE_PX = 3  # a wall has the colour of the face this far behind its edge, which is blurred itself
_SMALLER = 0.75  # the picture is drawn larger than it leaves, which smooths its edges


def draw_oblique(
    field: HeightField, board: Board, material: Material, paint: tuple[int, int, int] | None = None
) -> bytes:
    """Return an oblique picture of the carved board as PNG.

    Args:
        field: What the programs leave, mm.
        board: The finished board.
        material: Its colour and grain.
        paint: sRGB colour of all that is carved; None leaves it bare.
    """
    scene = _turned(scene_of(field, board, material, paint))
    seen = projected(scene.light, scene.depth_mm, scene.mm_per_px, _ELEVATION_DEG)
    rows, columns = (round(_SMALLER * side) for side in seen.shape[:2])
    return encode_png(srgb_tones(scaled(seen, rows, columns))[:, :, ::-1], scene.mm_per_px / _SMALLER)


def projected(light: Floats, depth_mm: Floats, mm_per_px: float, elevation_deg: float) -> Floats:
    """Return a scene seen from its lower edge, so many degrees over the table.

    Args:
        light: Colours (rows, columns, 3), top row first.
        depth_mm: Of the same pixels.
        mm_per_px: Side of a pixel.
        elevation_deg: 90 is straight from above.

    Source: parallel projection, v = y sin(e) + z cos(e), hidden where an earlier v is as high.
    """
    elevation = math.radians(elevation_deg)
    depth_px = depth_mm[::-1] * np.float32(1 / mm_per_px)  # nearest row first
    lowest = float(depth_px.max()) * math.cos(elevation)
    rows, columns = depth_px.shape
    along = (np.arange(rows, dtype=np.float32) * np.float32(math.sin(elevation)))[:, None]
    rise = along + np.float32(lowest) - depth_px * np.float32(math.cos(elevation))
    horizon = np.maximum.accumulate(rise, axis=0)
    high = math.ceil(float(horizon.max())) + 1
    first = _first_at_least(horizon, high)
    kept = np.minimum(first, rows - 1)
    column = np.arange(columns)[None, :]
    wall = horizon[kept, column] - np.arange(high)[:, None] > _WALL_FROM_PX
    shade = np.where(wall, _WALL_SHADE, np.float32(1))[:, :, None]
    coloured = np.minimum(kept + _WALL_INSIDE_PX * wall, rows - 1)
    seen: Floats = light[::-1][coloured, column] * shade
    full = int((first < rows).all(axis=1).sum())  # rows above are past the table's far edge
    return np.ascontiguousarray(seen[:full][::-1])


def _first_at_least(horizon: Floats, high: int) -> NDArray[np.intp]:
    """For each picture row and column the number of cells below it: the first cell that reaches it.

    Counted by sorting rising cells into picture rows, since a horizon never falls.
    """
    columns = horizon.shape[1]
    row = np.floor(horizon).astype(np.intp) + 1
    place = np.clip(row, 0, high) * columns + np.arange(columns)[None, :]
    counts = np.bincount(place.reshape(-1), minlength=(high + 1) * columns).reshape(high + 1, columns)
    below: NDArray[np.intp] = np.cumsum(counts, axis=0)[:high]
    return below


def _turned(scene: Scene) -> Scene:
    """The scene turned about its middle, in a picture that holds all of it; the table goes on beyond."""
    rows, columns = scene.depth_mm.shape
    turn = math.radians(_TURN_DEG)
    wide = math.ceil(columns * math.cos(turn) + rows * math.sin(turn))
    high = math.ceil(columns * math.sin(turn) + rows * math.cos(turn))
    matrix = cv2.getRotationMatrix2D((columns / 2, rows / 2), -_TURN_DEG, 1.0)
    beyond = math.ceil(float(scene.depth_mm[0, 0]) / scene.mm_per_px / math.tan(math.radians(_ELEVATION_DEG)))
    matrix[:, 2] += (wide - columns) / 2, (high - rows) / 2 + beyond  # the board hides some table behind it
    high += beyond
    table_mm = float(scene.depth_mm[0, 0])
    solid = scene.depth_mm < table_mm

    def turned(picture: Floats, beyond_it: tuple[float, ...]) -> Floats:
        made = cv2.warpAffine(picture, matrix, (wide, high), flags=cv2.INTER_LINEAR, borderValue=beyond_it)
        return np.asarray(made, dtype=np.float32)

    # slopes are smooth, but nothing lies half way between face and table
    face_mm = turned(np.where(solid, scene.depth_mm, np.float32(0)), (0.0,))
    is_solid = turned(solid.astype(np.float32), (0.0,)) > 0.5
    return Scene(
        light=turned(scene.light, tuple(scene.light[0, 0].tolist())),
        depth_mm=np.where(is_solid, face_mm, np.float32(table_mm)),
        mm_per_px=scene.mm_per_px,
    )
