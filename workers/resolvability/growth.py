"""What to add to a drawing so that its thin strokes become wide enough."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely.geometry import GeometryCollection
from shapely.geometry.base import BaseGeometry

from workers.geometry.offsets import quarter_pieces
from workers.resolvability.centre_lines import Measured, narrower_than
from workers.resolvability.gap_guard import GapGuard
from workers.resolvability.guide_lines import guide_lines
from workers.values.medial_axis import MedialAxis
from workers.values.region import Region

FILM_MM = 0.003  # what is thinner than this is rounding, not growth
_CHORD_MM = 0.003  # how straight the new outlines' pieces may be
_SPIKE_FRACTION = 0.4  # of the width wanted: growth that gaps leave narrower than this is no stroke


def growth_of(
    region: Region, found: Measured, thin: MedialAxis, width_mm: float, gap_mm: float
) -> BaseGeometry:
    """Return what thin strokes should fill, clear of the middle of every gap.

    It overlaps the ink: cut along the ink's outline it would part from it by rounding.

    Args:
        region: The ink.
        found: Its centre lines and those of the paper.
        thin: The part of the ink's axis that is too thin.
        width_mm: How wide it shall become.
        gap_mm: How much of a gap must be left, if it was that wide.
    """
    gaps = narrower_than(found.paper, 2 * width_mm + gap_mm)
    wanted = _buffered(guide_lines(thin, gaps, width_mm, gap_mm), width_mm / 2)
    growth = shapely.difference(wanted, GapGuard.along(gaps, gap_mm / 2).near(wanted))
    return _without_spikes(growth, region, width_mm * _SPIKE_FRACTION / 2)


def _buffered(middles: Sequence[BaseGeometry], radius_mm: float) -> BaseGeometry:
    """Return all that is within a radius of lines and points."""
    collected = GeometryCollection([middle.simplify(_CHORD_MM) for middle in middles])
    return shapely.buffer(collected, radius_mm, quad_segs=quarter_pieces(radius_mm, _CHORD_MM))


def _without_spikes(growth: BaseGeometry, region: Region, radius_mm: float) -> BaseGeometry:
    """Return the growth that a disc of the radius reaches without leaving the ink, old or new."""
    together = shapely.union(region.polygons, growth)
    pieces = quarter_pieces(radius_mm, _CHORD_MM)
    opened = together.buffer(-radius_mm, quad_segs=pieces).buffer(radius_mm + FILM_MM, quad_segs=pieces)
    return shapely.intersection(growth, opened)
