"""The figure of wood, made from hashed lattices: the same for the same board, always."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.values.material import Material

Floats = NDArray[np.float32]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Figure:
    """How strongly each part of the figure shows, as shares of the colour."""

    ring_fraction: float  # growth rings, cut lengthwise
    ring_mm: float  # apart
    fibre_fraction: float  # fine streaks
    pore_fraction: float  # short dark strokes of open-pored woods


_FIGURES = {
    "softwood": _Figure(ring_fraction=0.10, ring_mm=7.0, fibre_fraction=0.05, pore_fraction=0.0),
    "hardwood": _Figure(ring_fraction=0.09, ring_mm=11.0, fibre_fraction=0.07, pore_fraction=0.20),
    "plywood": _Figure(ring_fraction=0.06, ring_mm=18.0, fibre_fraction=0.05, pore_fraction=0.05),
}
_MOST_WASTE = 4  # times the picture, beyond which stretching a whole lattice costs more than placing it
_PLAIN_FRACTION = 0.015  # fibreboard, foam and plastic are almost even


def grain(material: Material, rows: int, columns: int, mm_per_px: float) -> Floats:
    """Return how bright the face is at each pixel, about 1; the grain runs along the longer side.

    Args:
        material: Its family and whether it has grain.
        rows: Of the picture.
        columns: Of the picture.
        mm_per_px: Side of a pixel.
    """
    if columns < rows:
        return np.ascontiguousarray(grain(material, columns, rows, mm_per_px).T)
    if not material.has_grain:
        return 1 + np.float32(_PLAIN_FRACTION) * _noise(rows, columns, mm_per_px, 0.5, 0.5, 7)
    figure = _FIGURES.get(material.family, _FIGURES["softwood"])
    brightness: Floats = 1 + np.float32(figure.fibre_fraction) * (
        0.6 * _noise(rows, columns, mm_per_px, 45.0, 0.5, 1)
        + 0.4 * _noise(rows, columns, mm_per_px, 160.0, 3.0, 2)
    )
    brightness -= figure.ring_fraction * _rings(rows, columns, mm_per_px, figure.ring_mm)
    if figure.pore_fraction:
        pores = _noise(rows, columns, mm_per_px, 6.0, 0.35, 5)
        brightness -= figure.pore_fraction * np.clip(pores - 0.45, 0, 1)
    return brightness


def _rings(rows: int, columns: int, mm_per_px: float, ring_mm: float) -> Floats:
    """Late wood, 0 to 1: a slow rise and a quick fall across each ring, bent by slow noise."""
    across = (np.arange(rows, dtype=np.float32) * np.float32(mm_per_px / ring_mm))[:, None]
    bent = across + 2.2 * _noise(rows, columns, mm_per_px, 260.0, 55.0, 3)
    bent += 0.25 * _noise(rows, columns, mm_per_px, 60.0, 9.0, 4)
    phase = bent - np.floor(bent)
    late: Floats = phase**3 * np.clip((1 - phase) * 8, 0, 1)
    return late


def _noise(
    rows: int, columns: int, mm_per_px: float, along_mm: float, across_mm: float, layer: int
) -> Floats:
    """Smooth noise from -1 to 1 with this grid of independent values."""
    wide_px, high_px = along_mm / mm_per_px, across_mm / mm_per_px
    lattice = _hashed(math.ceil(rows / high_px) + 1, math.ceil(columns / wide_px) + 1, layer)
    size = (math.ceil(lattice.shape[1] * wide_px), math.ceil(lattice.shape[0] * high_px))
    if size[0] * size[1] <= _MOST_WASTE * rows * columns:
        smooth = cv2.resize(lattice, size, interpolation=cv2.INTER_CUBIC)[:rows, :columns]
    else:  # slower a pixel, but makes only the corner of the lattice that is seen
        scaling = np.array([[wide_px, 0, 0], [0, high_px, 0]])
        smooth = cv2.warpAffine(lattice, scaling, (columns, rows), flags=cv2.INTER_CUBIC)
    return np.asarray(smooth, dtype=np.float32)


def _hashed(rows: int, columns: int, layer: int) -> Floats:
    """Values from -1 to 1 that depend on place and layer alone.

    Source: the finaliser of a 32-bit multiply-and-xor-shift hash; any well mixing hash would do.
    """
    row, column = np.indices((rows, columns), dtype=np.uint32)
    mixed = (
        row * np.uint32(0x9E3779B1)
        ^ column * np.uint32(0x85EBCA77)
        ^ np.uint32(layer * 0x27D4EB2F & 0xFFFFFFFF)
    )
    for shift, factor in ((16, 0x7FEB352D), (15, 0x846CA68B)):
        mixed = (mixed ^ (mixed >> np.uint32(shift))) * np.uint32(factor)
    mixed ^= mixed >> np.uint32(16)
    return (mixed.astype(np.float32) / np.float32(2**31) - 1).astype(np.float32)
