"""What to add to a drawing so that its thin strokes become wide enough."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely.geometry import GeometryCollection
from shapely.geometry.base import BaseGeometry

from workers.geometry.offsets import quarter_pieces
from workers.resolvability.centre_lines import narrower_than
from workers.resolvability.gap_guard import GapGuard
from workers.resolvability.guide_lines import guide_lines
from workers.resolvability.moves import FILM_MM
from workers.resolvability.room import Room
from workers.resolvability.thin_parts import without_dead_ends
from workers.values.medial_axis import MedialAxis

CHORD_MM = 0.003  # how straight the new outlines' pieces may be
_SPIKE_FRACTION = 0.4  # of the width wanted: growth that gaps leave narrower than this is no stroke


def growth_of(area: BaseGeometry, thin: MedialAxis, between: MedialAxis, room: Room) -> BaseGeometry:
    """Return what thin strokes should fill, clear of the middle of every gap.

    It overlaps the ink: cut along the ink's outline it would part from it by rounding.

    Args:
        area: The ink.
        thin: The part of its axis that is too thin.
        between: The axis of the paper.
        room: How wide the strokes shall become, and what they may take for it.
    """
    gaps = narrower_than(between, 2 * room.width_mm + room.gap_mm)
    gaps = without_dead_ends(gaps, room.slit_mm, room.width_mm)
    wanted = _buffered(guide_lines(thin, gaps, room), room.width_mm / 2)
    kept_free = GapGuard.along(gaps, room.gap_mm / 2).near(wanted)
    growth = shapely.difference(wanted, kept_free)
    growth = _without_spikes(growth, area, room.width_mm * _SPIKE_FRACTION / 2)
    return shapely.simplify(growth, CHORD_MM)


def _buffered(middles: Sequence[BaseGeometry], radius_mm: float) -> BaseGeometry:
    """Return all that is within a radius of lines and points."""
    collected = GeometryCollection([middle.simplify(CHORD_MM) for middle in middles])
    return shapely.buffer(collected, radius_mm, quad_segs=quarter_pieces(radius_mm, CHORD_MM))


def _without_spikes(growth: BaseGeometry, area: BaseGeometry, radius_mm: float) -> BaseGeometry:
    """Return the growth that a disc of the radius reaches without leaving the ink, old or new."""
    together = shapely.union(area, growth)
    pieces = quarter_pieces(radius_mm, CHORD_MM)
    opened = together.buffer(-radius_mm, quad_segs=pieces).buffer(radius_mm + FILM_MM, quad_segs=pieces)
    return shapely.intersection(growth, opened)
