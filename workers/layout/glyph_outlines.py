"""The outline of one glyph as an inked area.

Curves become chords no farther than a tolerance from them; contours that cross
or overlap are filled by the nonzero winding rule, as fonts are drawn.
"""

from __future__ import annotations

import math

import numpy as np
import uharfbuzz as hb
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

from workers.geometry.filling import filled

Points = NDArray[np.float64]
Unit = tuple[float, float]  # a point in font units


class GlyphPen:
    """Collects a glyph's contours as closed rings of chords.

    Args:
        mm_per_unit: Scale of the font's units.
        tolerance_mm: How far a chord may lie from its curve.

    Source: a chord of a curve with |B''| <= M over a parameter step h is within h^2 M / 8 of it.
    """

    def __init__(self, mm_per_unit: float, tolerance_mm: float) -> None:
        self.rings: list[Points] = []
        self._scale = mm_per_unit
        self._tolerance_mm = tolerance_mm
        self._pieces: list[Points] = []
        self._at = np.zeros(2)

    def moveTo(self, point: Unit) -> None:  # noqa: N802 - the pen protocol's name
        self._at = self._mm(point)
        self._pieces = [self._at[None, :]]

    def lineTo(self, point: Unit) -> None:  # noqa: N802
        self._at = self._mm(point)
        self._pieces.append(self._at[None, :])

    def qCurveTo(self, control: Unit, end: Unit) -> None:  # noqa: N802
        start, middle, last = self._at, self._mm(control), self._mm(end)
        self.curve((start, (start + 2 * middle) / 3, (last + 2 * middle) / 3, last))

    def curveTo(self, first: Unit, second: Unit, end: Unit) -> None:  # noqa: N802
        self.curve((self._at, self._mm(first), self._mm(second), self._mm(end)))

    def closePath(self) -> None:  # noqa: N802
        ring = np.concatenate(self._pieces)
        moves = np.any(ring != np.roll(ring, 1, axis=0), axis=1)
        if np.count_nonzero(moves) >= 3:
            self.rings.append(ring[moves])
        self._pieces = []

    def curve(self, controls: tuple[Points, Points, Points, Points]) -> None:
        """Add a cubic from the current point as chords."""
        p0, p1, p2, p3 = controls
        bend_mm = 6 * max(math.hypot(*(p0 - 2 * p1 + p2)), math.hypot(*(p1 - 2 * p2 + p3)))
        steps = max(1, math.ceil(math.sqrt(bend_mm / (8 * self._tolerance_mm))))
        t = np.linspace(0, 1, steps + 1)[1:, None]
        u = 1 - t
        self._pieces.append(u**3 * p0 + 3 * u**2 * t * p1 + 3 * u * t**2 * p2 + t**3 * p3)
        self._pieces[-1][-1] = p3  # the end itself, not its rounding
        self._at = p3

    def _mm(self, point: Unit) -> Points:
        return np.array(point, dtype=np.float64) * self._scale


def glyph_area(font: hb.Font, glyph: int, mm_per_unit: float, tolerance_mm: float) -> MultiPolygon:
    """Return the inked area of a glyph, its origin at 0, 0, in mm.

    Args:
        font: The font, at one unit per font unit.
        glyph: The glyph's number in it.
        mm_per_unit: Scale of the font's units.
        tolerance_mm: How far a chord may lie from its curve.
    """
    pen = GlyphPen(mm_per_unit, tolerance_mm)
    font.draw_glyph_with_pen(glyph, pen)
    return filled(pen.rings, is_even_odd=False)
