"""The board on its table as light and depth at each pixel, before a view of it is drawn."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.preview.appearance import Appearance
from workers.preview.grain import figure_of, grain
from workers.preview.part import Part
from workers.preview.scaling import blurred, scaled
from workers.preview.shading import DAYLIGHT, Lamp, light_on
from workers.preview.tones import linear_light
from workers.preview.window import THROUGH_SLACK_MM, board_window, outside_mm, without_cutout
from workers.values.design import Board
from workers.values.height_field import HeightField

Floats = NDArray[np.float32]

_TABLE = (0.80, 0.80, 0.79)  # linear light, red first
_FRESH_CUT = (0.80, 0.72, 0.65)  # cut fibres take the light in: the groove against the planed face
_FRESH_CUT_PLAIN = (0.84, 0.84, 0.85)
_FRESH_FROM_MM, _FRESH_TO_MM = 0.02, 0.25
_SHADOW_SOFT_MM, _SHADOW_SOFT_SHARE = 2.4, 0.006  # at most, and of the board's long side
_SHADOW_FALL, _SHADOW_SHARE = (
    0.25,
    0.01,
)  # its reach, of the thickness; at most, of the long side
_SHADOW_DARK, _HOLE_LIGHT = 0.6, 0.45
_SHEEN = np.float32(0.12)  # of what slopes towards the lamp have over a flat face: oiled wood shines
_LEVEL = 1e-9
_EDGE_ROUND_MM, _EDGE_ARC = 0.9, 0.8  # the board's upper edge is eased, which makes it stand out


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Scene:
    """What is to be seen, top row first: colours in linear light, and how deep all lies."""

    light: Floats  # (rows, columns, 3), red first
    depth_mm: Floats  # (rows, columns) below the board's face; the table lies at its thickness
    part: Part


def scene_of(
    field: HeightField,
    board: Board,
    look: Appearance,
    part: Part,
    lamp: Lamp = DAYLIGHT,
    finer: int = 2,
) -> Scene:
    """Return a part of the board, lit, over the table and its own soft shadow.

    Args:
        field: What the programs leave, mm.
        board: The finished board; beyond its edge the table shows.
        look: Its material, paint and grain.
        part: What is to be seen, as pixels.
        lamp: Where the light comes from.
        finer: The face is lit on a grid so many times finer than the picture, then averaged.
    """
    inner, place = part.on_board(board)
    fine_mm = _fine_depth(field, board, inner.finer(finer))
    fresh = _carved(scaled(fine_mm, inner.rows, inner.columns))
    _ease_edge(fine_mm, board, inner.finer(finer))
    depth_mm = scaled(fine_mm, inner.rows, inner.columns)
    through = (fine_mm >= board.thickness_mm - THROUGH_SLACK_MM).astype(np.float32)
    hole = scaled(through, inner.rows, inner.columns)
    light = light_on(fine_mm, depth_mm, inner.mm_per_px, lamp)
    face = _face(look, inner, depth_mm, light, fresh)
    x_mm, y_mm = part.centres()
    outside = outside_mm(board, x_mm, y_mm)
    seen = _table(outside, board, part)
    seen[place] *= (1 - hole * (1 - np.float32(_HOLE_LIGHT) * light))[:, :, None]
    cover = np.clip(0.5 - outside[place] / np.float32(part.mm_per_px), 0, 1)
    seen[place] += (face - seen[place]) * (cover * (1 - hole))[:, :, None]
    deep_mm = np.full((part.rows, part.columns), board.thickness_mm, dtype=np.float32)
    deep_mm[place] = np.where(outside[place] > 0, np.float32(board.thickness_mm), depth_mm)
    return Scene(light=seen, depth_mm=deep_mm, part=part)


def _carved(depth_mm: Floats) -> Floats:
    """How much of each pixel is fresh cut, 0 to 1."""
    fresh: Floats = np.clip((depth_mm - _FRESH_FROM_MM) / np.float32(_FRESH_TO_MM - _FRESH_FROM_MM), 0, 1)
    return fresh


def _fine_depth(field: HeightField, board: Board, part: Part) -> Floats:
    """Depth at the pixels of a part within the board."""
    cells = without_cutout(board_window(field, board), board, field.cell_mm)[::-1]
    per_cell = part.mm_per_px / field.cell_mm
    if per_cell > 1:  # the whole board: all cells into all pixels, averaged where pixels are the larger
        shrunk = scaled(cells, part.rows, part.columns)
        return np.clip(shrunk, 0, board.thickness_mm, out=shrunk)
    top_mm = len(cells) * field.cell_mm
    first = (part.left_mm / field.cell_mm, (top_mm - part.top_mm) / field.cell_mm)
    placing = np.array(
        [[per_cell, 0, first[0] + per_cell / 2 - 0.5], [0, per_cell, first[1] + per_cell / 2 - 0.5]]
    )
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    size = (part.columns, part.rows)
    fine = cv2.warpAffine(cells, placing, size, flags=flags, borderMode=cv2.BORDER_REPLICATE)
    clipped: Floats = np.clip(fine, 0, board.thickness_mm, dtype=np.float32)
    return clipped


def _ease_edge(fine_mm: Floats, board: Board, part: Part) -> None:
    """Round the board's upper edge over in the depth given."""
    x_mm, y_mm = part.centres()
    for rows, columns in _bands(board, part):
        outside = outside_mm(board, x_mm[:, columns], y_mm[rows])
        into = np.clip(_EDGE_ROUND_MM + outside, 0, _EDGE_ROUND_MM) * np.float32(_EDGE_ARC)
        band = fine_mm[rows, columns]
        np.maximum(band, _EDGE_ROUND_MM - np.sqrt(_EDGE_ROUND_MM**2 - into * into), out=band)


def _bands(board: Board, part: Part) -> list[tuple[slice, slice]]:
    """The bands along the board's edges within a part, in which rounding happens."""
    reach_mm = board.corner_radius_mm + _EDGE_ROUND_MM
    rows, columns, side_mm = part.rows, part.columns, part.mm_per_px
    upper = min(rows, max(0, math.ceil((part.top_mm - board.height_mm + reach_mm) / side_mm) + 1))
    lower = max(upper, min(rows, math.floor((part.top_mm - reach_mm) / side_mm) - 1))
    left = min(columns, max(0, math.ceil((reach_mm - part.left_mm) / side_mm) + 1))
    right = max(left, min(columns, math.floor((board.width_mm - reach_mm - part.left_mm) / side_mm) - 1))
    between, everything = slice(upper, lower), slice(0, columns)
    return [
        (slice(0, upper), everything),
        (slice(lower, rows), everything),
        (between, slice(0, left)),
        (between, slice(right, columns)),
    ]


def _face(look: Appearance, part: Part, depth_mm: Floats, light: Floats, fresh: Floats) -> Floats:
    """Colour in linear light: the planed face and the fresh cut or its paint, each as bright as it is lit."""
    wood = light * grain(look, part, depth_mm) * _fibre_ends(look, part, depth_mm)
    sheen = _SHEEN * np.clip(light - 1, 0, 1)
    cut = _FRESH_CUT if look.material.has_grain else _FRESH_CUT_PLAIN
    coat = [linear_light(tone) for tone in look.paint] if look.paint else None
    planed, coated = wood * (1 - fresh), light * fresh
    face = np.empty((*wood.shape, 3), dtype=np.float32)
    for channel, tone in enumerate(look.material.colour):  # a plane at a time: quicker than side by side
        colour = np.float32(linear_light(tone))
        if coat is None:
            seen = planed * colour + (wood * fresh) * np.float32(colour * cut[channel])
        else:
            seen = planed * colour + coated * np.float32(coat[channel])
        np.add(seen, sheen, out=face[:, :, channel])
    return face


def _fibre_ends(look: Appearance, part: Part, depth_mm: Floats) -> Floats:
    """Walls that cut across the grain are darker: fibres' ends drink in oil and light alike."""
    share = figure_of(look.material).end_fraction
    if not share:
        return np.ones((1, 1), dtype=np.float32)
    slope = _slope_along(depth_mm, look.grain_deg, part.mm_per_px)
    squared = slope * slope
    darker: Floats = 1 - np.float32(share) * np.sqrt(squared / (1 + squared))
    return darker


def _slope_along(depth_mm: Floats, turn_deg: float, mm_per_px: float) -> Floats:
    """How fast the depth grows along a direction, mm a mm."""
    parts = [
        cv2.Sobel(depth_mm, cv2.CV_32F, dx, 1 - dx, ksize=1, scale=share * 0.5 / mm_per_px)
        for dx, share in ((1, math.cos(math.radians(turn_deg))), (0, -math.sin(math.radians(turn_deg))))
        if abs(share) > _LEVEL
    ]
    slope: Floats = np.asarray(parts[0] if len(parts) == 1 else parts[0] + parts[1], dtype=np.float32)
    return slope


def _table(outside: Floats, board: Board, part: Part) -> Floats:
    """The table, darker where the board keeps the light away, to the lower right."""
    covered = (outside < 0).astype(np.float32)
    long_mm = max(board.width_mm, board.height_mm)
    off_px = round(min(board.thickness_mm * _SHADOW_FALL, long_mm * _SHADOW_SHARE) / part.mm_per_px)
    soft = np.zeros_like(covered)
    soft_mm = min(_SHADOW_SOFT_MM, long_mm * _SHADOW_SOFT_SHARE)
    spread = blurred(covered, max(soft_mm / part.mm_per_px, 1.0))
    soft[off_px:, off_px:] = spread[: part.rows - off_px, : part.columns - off_px]
    table: Floats = (1 - np.float32(_SHADOW_DARK) * soft)[:, :, None] * np.array(_TABLE, dtype=np.float32)
    return table
