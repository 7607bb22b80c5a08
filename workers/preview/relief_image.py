"""The board as it will look: carved, cut out, lying on a table."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.preview.grain import grain
from workers.preview.png import encode_png
from workers.preview.scaling import blurred, scaled
from workers.preview.shading import light_on
from workers.preview.tones import linear_light, srgb_tones
from workers.preview.window import (
    THROUGH_SLACK_MM,
    board_window,
    outside_mm,
    pixel_centres,
    without_cutout,
)
from workers.values.design import Board
from workers.values.height_field import HeightField
from workers.values.material import Material

Floats = NDArray[np.float32]

_LONG_SIDE_PX = 1600
_MARGIN_FRACTION = 0.03  # of the long side, table round the board
_FINER = 2  # the face is lit on a grid this much finer than the picture, then averaged
_TABLE = (0.80, 0.80, 0.79)  # linear light, red first
_FRESH_CUT = (0.74, 0.67, 0.61)  # cut fibres take the light in: the groove against the planed face
_FRESH_CUT_PLAIN = (0.82, 0.82, 0.83)
_FRESH_FROM_MM, _FRESH_TO_MM = 0.02, 0.25
_SHADOW_SOFT_PX = 9.0
_SHADOW_FALL, _SHADOW_LONGEST_MM = 0.25, 12.0  # how far the shadow reaches, of the board's thickness
_SHADOW_DARK, _HOLE_DARK = 0.6, 0.85
_EDGE_ROUND_MM = 0.9  # the board's upper edge is eased, which makes it stand out


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Scene:
    """The board on its table from above, top row first: colours in linear light, and how deep all lies."""

    light: Floats  # (rows, columns, 3), red first
    depth_mm: Floats  # (rows, columns) below the board's face; the table lies at its thickness
    mm_per_px: float


def draw_relief(
    field: HeightField, board: Board, material: Material, paint: tuple[int, int, int] | None = None
) -> bytes:
    """Return a picture of the carved board as PNG, about 1600 pixels on its long side.

    Args:
        field: What the programs leave, mm.
        board: The finished board; beyond its edge the table shows.
        material: Its colour and grain.
        paint: sRGB colour of all that is carved; None leaves it bare.
    """
    scene = scene_of(field, board, material, paint)
    return encode_png(srgb_tones(scene.light)[:, :, ::-1], scene.mm_per_px)


def scene_of(
    field: HeightField, board: Board, material: Material, paint: tuple[int, int, int] | None = None
) -> Scene:
    """Return what is to be seen, before a view of it is drawn; arguments as for ``draw_relief``."""
    mm_per_px = max(board.width_mm, board.height_mm) / (_LONG_SIDE_PX * (1 - 2 * _MARGIN_FRACTION))
    rows, columns = round(board.height_mm / mm_per_px), round(board.width_mm / mm_per_px)
    fine_mm = _fine_depth(field, board, rows * _FINER, columns * _FINER)
    carved = None if paint is None else _carved(scaled(fine_mm, rows, columns))
    _ease_edge(fine_mm, board)
    depth_mm = scaled(fine_mm, rows, columns)
    hole = scaled((fine_mm >= board.thickness_mm - THROUGH_SLACK_MM).astype(np.float32), rows, columns)
    light = light_on(fine_mm, depth_mm, mm_per_px)
    face = _face(material, light, _carved(depth_mm), mm_per_px)
    if paint is not None and carved is not None:
        coat = light[:, :, None] * np.array([linear_light(tone) for tone in paint], dtype=np.float32)
        face += (coat - face) * carved[:, :, None]
    return Scene(
        light=_on_table(face, light, hole, board, mm_per_px),
        depth_mm=_with_table(depth_mm, board, mm_per_px),
        mm_per_px=mm_per_px,
    )


def _carved(depth_mm: Floats) -> Floats:
    """How much of each pixel is fresh cut, 0 to 1."""
    fresh: Floats = np.clip((depth_mm - _FRESH_FROM_MM) / np.float32(_FRESH_TO_MM - _FRESH_FROM_MM), 0, 1)
    return fresh


def _fine_depth(field: HeightField, board: Board, rows: int, columns: int) -> Floats:
    """Depth on the fine grid, top row first."""
    cells = without_cutout(board_window(field, board), board, field.cell_mm)
    fine = scaled(cells[::-1], rows, columns)
    return np.clip(fine, 0, board.thickness_mm, out=fine)


def _ease_edge(fine: Floats, board: Board) -> None:
    """Round the board's upper edge over in the depth given."""
    rows, columns = fine.shape
    mm_per_px = board.width_mm / columns
    x_mm, y_mm = pixel_centres(board, rows, columns, mm_per_px)
    for band_rows, band_columns in _bands(
        rows, columns, (board.corner_radius_mm + _EDGE_ROUND_MM) / mm_per_px
    ):
        outside = outside_mm(board, x_mm[:, band_columns], y_mm[band_rows])
        into = np.clip(_EDGE_ROUND_MM + outside, 0, _EDGE_ROUND_MM)
        band = fine[band_rows, band_columns]
        np.maximum(band, _EDGE_ROUND_MM - np.sqrt(_EDGE_ROUND_MM**2 - into * into), out=band)


def _bands(rows: int, columns: int, width_px: float) -> list[tuple[slice, slice]]:
    """The four bands along a picture's edges, in which rounding happens."""
    width = min(math.ceil(width_px) + 1, rows // 2, columns // 2)
    between, everything = slice(width, rows - width), slice(0, columns)
    return [
        (slice(0, width), everything),
        (slice(rows - width, rows), everything),
        (between, slice(0, width)),
        (between, slice(columns - width, columns)),
    ]


def _face(material: Material, light: Floats, fresh: Floats, mm_per_px: float) -> Floats:
    """Colour in linear light: the planed face and the fresh cut, each as bright as it is lit."""
    rows, columns = light.shape
    colour = np.array([linear_light(tone) for tone in material.colour], dtype=np.float32)
    cut = np.array(_FRESH_CUT if material.has_grain else _FRESH_CUT_PLAIN, dtype=np.float32)
    brightness = light * grain(material, rows, columns, mm_per_px)
    tint = 1 - fresh[:, :, None] * (1 - cut)
    face: Floats = brightness[:, :, None] * tint * colour
    return face


def _on_table(face: Floats, light: Floats, hole: Floats, board: Board, mm_per_px: float) -> Floats:
    """The board over the table and its own soft shadow; through its holes the table is in shadow."""
    margin = round(_LONG_SIDE_PX * _MARGIN_FRACTION)
    rows, columns = (side + 2 * margin for side in light.shape)
    outside = outside_mm(board, *pixel_centres(board, rows, columns, mm_per_px, margin))
    table = _table(outside, board, mm_per_px)
    inner = (slice(margin, rows - margin), slice(margin, columns - margin))
    cover = np.clip(0.5 - outside[inner] / np.float32(mm_per_px), 0, 1)
    solid = (cover * (1 - hole))[:, :, None]
    table[inner] += (face - table[inner]) * solid
    return table


def _with_table(depth_mm: Floats, board: Board, mm_per_px: float) -> Floats:
    """The board's depth within the picture's margin; beyond its edge the table's."""
    margin = round(_LONG_SIDE_PX * _MARGIN_FRACTION)
    rows, columns = (side + 2 * margin for side in depth_mm.shape)
    outside = outside_mm(board, *pixel_centres(board, rows, columns, mm_per_px, margin)) > 0
    whole = np.full((rows, columns), board.thickness_mm, dtype=np.float32)
    whole[margin : rows - margin, margin : columns - margin] = depth_mm
    whole[outside] = board.thickness_mm
    return whole


def _table(outside: Floats, board: Board, mm_per_px: float) -> Floats:
    """The table, darker where the board keeps the light away: to the lower right, and beneath."""
    rows, columns = outside.shape
    covered = (outside < 0).astype(np.float32)
    off_px = round(min(board.thickness_mm, _SHADOW_LONGEST_MM) * _SHADOW_FALL / mm_per_px)
    soft = np.zeros_like(covered)
    soft[off_px:, off_px:] = blurred(covered, _SHADOW_SOFT_PX)[: rows - off_px, : columns - off_px]
    dark = np.maximum(np.float32(_SHADOW_DARK) * soft, np.float32(_HOLE_DARK) * covered)
    table: Floats = (1 - dark)[:, :, None] * np.array(_TABLE, dtype=np.float32)
    return table
