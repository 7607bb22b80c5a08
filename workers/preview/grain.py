"""The figure of wood, made from hashed lattices: the same for the same place on the same board, always."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.preview.appearance import Appearance
from workers.preview.part import Part
from workers.values.material import Material

Floats = NDArray[np.float32]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Figure:
    """How strongly each part of the figure shows, as shares of the colour."""

    ring_fraction: float = 0.0  # growth rings, cut lengthwise
    ring_mm: float = 9.0  # apart
    fibre_fraction: float = 0.05  # fine streaks
    pore_fraction: float = 0.0  # short dark strokes of open-pored woods
    end_fraction: float = 0.2  # how much darker wood is where its fibres end
    ply_mm: float = 0.0  # thickness of the layers that a cut edge shows


# Common practice: basswood, maple and cherry are even, resinous woods banded, oak and walnut full of pores.
_BY_FAMILY = {
    "softwood": _Figure(ring_fraction=0.12, ring_mm=7.0),
    "hardwood": _Figure(ring_fraction=0.09, ring_mm=11.0, fibre_fraction=0.07, pore_fraction=0.20),
    "plywood": _Figure(ring_fraction=0.06, ring_mm=18.0, pore_fraction=0.05, end_fraction=0.0, ply_mm=1.4),
}
_BY_NAME = {
    "basswood": _Figure(ring_fraction=0.06, ring_mm=9.0, fibre_fraction=0.04),
    "western-redcedar": _Figure(ring_fraction=0.22, ring_mm=5.0, fibre_fraction=0.07),
    "cherry": _Figure(ring_fraction=0.08, ring_mm=14.0, fibre_fraction=0.06, pore_fraction=0.06),
    "hard-maple": _Figure(ring_fraction=0.05, ring_mm=16.0, fibre_fraction=0.04, pore_fraction=0.04),
}
_PLAIN = _Figure(fibre_fraction=0.0, end_fraction=0.0)
_RING_LEAN = 0.8  # how far a ring moves across, of the depth below the face: rings stand aslant in a board
_PITH_BELOW_MM = 60.0  # where the middle of the rings lies, as the end of a board shows them
_COARSER, _SLOW = (8, 4), 2.5  # noise of so many coarser pixels a value is made of those
_MOST_WASTE = 4  # times the picture, beyond which stretching a whole lattice costs more than placing it
_PLAIN_FRACTION = 0.015  # fibreboard, foam and plastic are almost even


def figure_of(material: Material) -> _Figure:
    """Return how a material's figure shows; what has no grain is plain."""
    if not material.has_grain:
        return _PLAIN
    return _BY_NAME.get(material.name, _BY_FAMILY.get(material.family, _BY_FAMILY["softwood"]))


def grain(look: Appearance, part: Part, depth_mm: Floats) -> Floats:
    """Return how bright the surface is at each pixel, about 1.

    Rings go on into the wood, so that in a groove their lines are where the groove has cut them.

    Args:
        look: Its material, and how the grain runs.
        part: The pixels.
        depth_mm: Below the face, at these pixels.
    """
    if look.grain_deg % 180 == 90:
        sideways = Part(
            left_mm=-part.top_mm,
            top_mm=-part.left_mm,
            rows=part.columns,
            columns=part.rows,
            mm_per_px=part.mm_per_px,
        )
        return np.ascontiguousarray(_along_rows(look.material, sideways, 0.0, depth_mm.T).T)
    return _along_rows(look.material, part, look.grain_deg % 180, depth_mm)


def _along_rows(material: Material, part: Part, turn_deg: float, depth_mm: Floats) -> Floats:
    if not material.has_grain:
        return 1 + np.float32(_PLAIN_FRACTION) * _noise(part, 0.0, 0.5, 0.5, 7)
    figure = figure_of(material)
    brightness: Floats = 1 + np.float32(figure.fibre_fraction) * (
        0.6 * _noise(part, turn_deg, 45.0, 0.5, 1) + 0.4 * _noise(part, turn_deg, 160.0, 3.0, 2)
    )
    if figure.ring_fraction:
        brightness -= figure.ring_fraction * _rings(part, turn_deg, figure.ring_mm, depth_mm)
    if figure.pore_fraction:
        pores = _noise(part, turn_deg, 6.0, 0.35, 5)
        brightness -= figure.pore_fraction * np.clip(pores - 0.45, 0, 1)
    return brightness


def end_grain(material: Material, across_mm: Floats, depth_mm: Floats) -> Floats:
    """Return how bright wood is where its fibres end, about 1: arcs of rings, darker than the face.

    Args:
        material: Its family.
        across_mm: Places across the grain.
        depth_mm: Below the face.
    """
    figure = figure_of(material)
    reach_mm = np.hypot(across_mm - np.float32(_PITH_BELOW_MM), depth_mm + np.float32(_PITH_BELOW_MM))
    bright: Floats = 1 - figure.end_fraction - 1.5 * figure.ring_fraction * _late(reach_mm / figure.ring_mm)
    return bright


def plies(material: Material, depth_mm: Floats) -> Floats:
    """Return how bright the cut edge of layered stock is: every other layer shows the ends of its fibres."""
    figure = figure_of(material)
    if not figure.ply_mm:
        return np.ones_like(depth_mm)
    crossed = np.floor(depth_mm / np.float32(figure.ply_mm)) % 2
    banded: Floats = 1 - np.float32(0.22) * crossed
    return banded


def _rings(part: Part, turn_deg: float, ring_mm: float, depth_mm: Floats) -> Floats:
    """Late wood, 0 to 1: across each ring, bent by slow noise, leaning with the depth."""
    x_mm, y_mm = part.centres()
    turn = math.radians(turn_deg)
    across_mm = np.float32(math.sin(turn)) * x_mm - np.float32(math.cos(turn)) * y_mm
    bent = across_mm * np.float32(1 / ring_mm) + 2.2 * _noise(part, turn_deg, 260.0, 55.0, 3)
    bent += 0.25 * _noise(part, turn_deg, 60.0, 9.0, 4)
    bent += np.float32(_RING_LEAN / ring_mm) * depth_mm
    return _late(bent)


def _late(rings: Floats) -> Floats:
    """A slow rise and a quick fall within each ring."""
    phase = rings - np.floor(rings)
    late: Floats = phase * phase * phase * np.clip((1 - phase) * 8, 0, 1)
    return late


def _noise(part: Part, turn_deg: float, along_mm: float, across_mm: float, layer: int) -> Floats:
    """Smooth noise from -1 to 1 with this grid of independent values, its rows turned from x."""
    side_mm = part.mm_per_px
    if turn_deg == 0:
        return _level_noise(part, along_mm, across_mm, layer)
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    left_mm, down_mm = part.left_mm + side_mm / 2, -part.top_mm + side_mm / 2  # of the first pixel's middle
    matrix = np.array(
        [
            [cos * side_mm, -sin * side_mm, cos * left_mm - sin * down_mm],
            [sin * side_mm, cos * side_mm, sin * left_mm + cos * down_mm],
        ]
    )
    corners = np.array([[0, 0, 1], [part.columns, 0, 1], [0, part.rows, 1], [part.columns, part.rows, 1]])
    reached = (corners @ matrix.T) / (along_mm, across_mm)
    first, last = np.floor(reached.min(axis=0)).astype(int) - 1, np.ceil(reached.max(axis=0)).astype(int) + 2
    lattice = _hashed(int(first[1]), int(last[1] - first[1]), int(first[0]), int(last[0] - first[0]), layer)
    placing = matrix / np.array([[along_mm], [across_mm]])
    placing[:, 2] -= first
    flags = cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP
    turned = cv2.warpAffine(lattice, placing, (part.columns, part.rows), flags=flags)
    return np.asarray(turned, dtype=np.float32)


def _level_noise(part: Part, along_mm: float, across_mm: float, layer: int) -> Floats:
    """The same where rows run along x: stretched, which is quicker than placed; what is slow in steps."""
    wide_px, high_px = along_mm / part.mm_per_px, across_mm / part.mm_per_px
    for coarser in _COARSER:
        if min(wide_px, high_px) >= _SLOW * coarser:
            small = _level_noise(part.coarser(coarser), along_mm, across_mm, layer)
            size = (small.shape[1] * coarser, small.shape[0] * coarser)
            smooth = cv2.resize(small, size, interpolation=cv2.INTER_LINEAR)[: part.rows, : part.columns]
            return np.asarray(smooth, dtype=np.float32)
    first_column, first_row = (
        math.floor(part.left_mm / along_mm) - 1,
        math.floor(-part.top_mm / across_mm) - 1,
    )
    off_x = part.left_mm / part.mm_per_px - first_column * wide_px
    off_y = -part.top_mm / part.mm_per_px - first_row * high_px
    lattice = _hashed(
        first_row,
        math.ceil((part.rows + off_y) / high_px) + 2,
        first_column,
        math.ceil((part.columns + off_x) / wide_px) + 2,
        layer,
    )
    size = (math.ceil(lattice.shape[1] * wide_px), math.ceil(lattice.shape[0] * high_px))
    if size[0] * size[1] <= _MOST_WASTE * part.rows * part.columns:
        row, column = round(off_y), round(off_x)
        stretched = cv2.resize(lattice, size, interpolation=cv2.INTER_CUBIC)
        smooth = stretched[row : row + part.rows, column : column + part.columns]
    else:  # slower a pixel, but makes only the corner of the lattice that is seen
        scaling = np.array([[wide_px, 0, (wide_px - 1) / 2 - off_x], [0, high_px, (high_px - 1) / 2 - off_y]])
        smooth = cv2.warpAffine(lattice, scaling, (part.columns, part.rows), flags=cv2.INTER_CUBIC)
    return np.asarray(smooth, dtype=np.float32)


def _hashed(first_row: int, rows: int, first_column: int, columns: int, layer: int) -> Floats:
    """Values from -1 to 1 that depend on place and layer alone.

    Source: the finaliser of a 32-bit multiply-and-xor-shift hash; any well mixing hash would do.
    """
    row = (np.arange(rows) + first_row).astype(np.uint32)[:, None]
    column = (np.arange(columns) + first_column).astype(np.uint32)[None, :]
    mixed = (
        row * np.uint32(0x9E3779B1)
        ^ column * np.uint32(0x85EBCA77)
        ^ np.uint32(layer * 0x27D4EB2F & 0xFFFFFFFF)
    )
    for shift, factor in ((16, 0x7FEB352D), (15, 0x846CA68B)):
        mixed = (mixed ^ (mixed >> np.uint32(shift))) * np.uint32(factor)
    mixed ^= mixed >> np.uint32(16)
    return (mixed.astype(np.float32) / np.float32(2**31) - 1).astype(np.float32)
