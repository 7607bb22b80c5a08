"""Areas that an SVG paints: closed cubic loops in mm, and the rule by which they are filled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.geometry.flattening import flat_rings
from workers.intake.svg_colours import Tone
from workers.intake.svg_path_data import Subpath

Loops = tuple[NDArray[np.float64], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Area:
    """Closed cubic loops, mm, with the rule by which they are filled."""

    loops: Loops
    is_even_odd: bool


@dataclass(frozen=True, slots=True, eq=False)
class Paint:
    """An area painted dark or light, within all of some others."""

    area: Area
    tone: Tone
    clips: tuple[Area, ...] = ()
    element: int = 0  # which of the drawn elements it belongs to
    is_outline: bool = False  # its loops are the drawing's own, not those of a stroke or a letter

    @property
    def is_ink(self) -> bool:
        """Return whether it adds to what is read; else it takes away."""
        return self.tone.is_ink


def fill_area(subpaths: Sequence[Subpath], matrix: NDArray[np.float64], is_even_odd: bool) -> Area:
    """Return the area that filling a path paints: every subpath is closed by a straight line.

    Args:
        subpaths: The path, user units.
        matrix: From user units to mm.
        is_even_odd: The fill rule.
    """
    loops = []
    for subpath in subpaths:
        pieces = transformed(subpath.pieces, matrix)
        if not np.array_equal(pieces[-1, 3], pieces[0, 0]):
            pieces = np.concatenate([pieces, [straight(pieces[-1, 3], pieces[0, 0])]])
        loops.append(pieces)
    return Area(tuple(loops), is_even_odd)


def rectangle(left: float, top: float, width: float, height: float, matrix: NDArray[np.float64]) -> Area:
    """Return a rectangle of user space as an area."""
    corners = np.array([[left, top], [left + width, top], [left + width, top + height], [left, top + height]])
    loop = np.array([straight(a, b) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)])
    return Area((transformed(loop, matrix),), is_even_odd=True)


def transformed(pieces: NDArray[np.float64], matrix: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return points moved by a matrix."""
    moved: NDArray[np.float64] = pieces @ matrix[:2, :2].T + matrix[:2, 2]
    return moved


def straight(start: NDArray[np.float64], end: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the straight piece between two points, its inner control points at the thirds."""
    return np.array([start, start + (end - start) / 3, start + (end - start) * 2 / 3, end])


def bounds_of(loops: Sequence[NDArray[np.float64]]) -> tuple[float, float, float, float] | None:
    """Return left, top, width and height of curves; None if they have no area.

    Args:
        loops: Cubic pieces, in any unit, closed or not.
    """
    if not loops:
        return None
    every = np.concatenate(loops).reshape(-1, 2)
    largest = max(float(np.ptp(every, axis=0).max()), 1e-9)
    points = np.concatenate([*flat_rings(tuple(loops), largest * 1e-5), *(loop[-1:, 3] for loop in loops)])
    (left, top), (width, height) = points.min(axis=0), np.ptp(points, axis=0)
    return (float(left), float(top), float(width), float(height)) if width > 0 and height > 0 else None
