"""Where a V-bit goes to cut grooves: along the middle of strokes, and round wide areas at the limit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from workers.geometry.chains import chains
from workers.geometry.vee import flank_slope
from workers.toolpaths.strands import Strands, at_height, between, joined, parted_at, strands_of
from workers.values.cutter import VeeCutter
from workers.values.medial_axis import MedialAxis
from workers.values.region import Region

Floats = NDArray[np.float64]

_SAME_DEPTH_MM = 0.001  # less room than this at the limit is no floor: rounding would lose it
_DEEP_INSIDE_MM = 0.5  # from the rim of milled floor; a wall's foot is at the rim
_POINT_MM = 0.01  # long: a line that stands for a point
_MEETING_MM = 0.02  # how far a line of the axis may end from the wall pass that it runs into


@dataclass(frozen=True, slots=True, kw_only=True)
class Groove:
    """A V-bit and the depth it may not pass, as widths at the face."""

    slope: float  # half the groove's width for each unit of depth
    tip_radius_mm: float
    depth_mm: float

    @property
    def full_radius_mm(self) -> float:
        """Half the width of a stroke that is cut just to the limit."""
        return self.tip_radius_mm + self.slope * self.depth_mm

    def radius_at_mm(self, heights_mm: Floats) -> Floats:
        """Return half the width that the bit cuts with its tip at heights of 0 or less."""
        return np.asarray(self.tip_radius_mm - self.slope * heights_mm)


def groove_of(cutter: VeeCutter, depth_mm: float) -> Groove:
    """Return the groove that a bit cuts down to a depth."""
    return Groove(slope=flank_slope(cutter), tip_radius_mm=cutter.tip_mm / 2, depth_mm=depth_mm)


def axis_strands(axis: MedialAxis, groove: Groove) -> Strands:
    """Return the middle lines of strokes wider than the tip and no wider than the limit cuts.

    The tip's centre stands at depth (radius - tip radius) / slope; the lines end exactly
    where that is 0 and where it is the limit.
    """
    return between(_axis_lines(axis, groove), -groove.depth_mm, 0.0)


def floor_middles(axis: MedialAxis, groove: Groove) -> Strands:
    """Return the middle lines of areas wider than the limit cuts, deeper than it as if there were none.

    The middle of a round area is a line too, hardly longer than a point.
    """
    middles_mm = _at_depth(axis.nodes_mm[axis.lone_nodes], groove)
    short = strands_of(
        [np.stack([middle, middle + np.array([_POINT_MM, 0.0, 0.0])]) for middle in middles_mm]
    )
    return between(joined([_axis_lines(axis, groove), short]), -np.inf, -groove.depth_mm)


def dots(axis: MedialAxis, groove: Groove) -> Floats:
    """Return where to plunge for round dots that are too small for a line, (n, 3)."""
    points_mm = _at_depth(axis.nodes_mm[axis.lone_nodes], groove)
    fits = (points_mm[:, 2] < 0) & (points_mm[:, 2] >= -groove.depth_mm)
    return np.asarray(points_mm[fits])


def groove_strands(axis: MedialAxis, walls: Region, groove: Groove, milled: Region) -> Strands:
    """Return everything the V-bit runs along for walls and strokes, parted where it meets.

    Args:
        axis: Of the ink.
        walls: The ink, inset by the groove's full radius: round it the bit runs at the limit.
        groove: The bit and the limit.
        milled: Floor at the limit already; there is no wall deep inside it, but open ground may end there.
    """
    lines = axis_strands(axis, groove)
    open_mm = milled.polygons.buffer(-_DEEP_INSIDE_MM)
    loops = strands_of(
        [
            at_height(ring, -groove.depth_mm)
            for ring in rings_of(walls)
            if not open_mm.covers(shapely.Point(ring[0]))
        ]
    )
    return joined([parted_at(loops, _deep_ends(lines, groove), _MEETING_MM), lines])


def rings_of(region: Region) -> list[Floats]:
    """Return the closed rings round an area and its holes, the area on their left, (n, 2) each."""
    rings = []
    for polygon in region.polygons.geoms:
        rings += [shapely.get_coordinates(ring) for ring in (polygon.exterior, *polygon.interiors)]
    return rings


def _axis_lines(axis: MedialAxis, groove: Groove) -> Strands:
    points_mm = _at_depth(axis.nodes_mm, groove)
    at_limit = np.abs(points_mm[:, 2] + groove.depth_mm) < _SAME_DEPTH_MM
    points_mm[at_limit, 2] = -groove.depth_mm  # a stroke just as wide as the limit cuts is a stroke, no floor
    return strands_of([points_mm[chain] for chain in chains(axis)])


def _at_depth(nodes_mm: Floats, groove: Groove) -> Floats:
    """Return nodes of an axis (x, y, radius) with the height of the bit's tip for radius."""
    heights_mm = -(nodes_mm[:, 2] - groove.tip_radius_mm) / groove.slope
    return np.column_stack([nodes_mm[:, :2], heights_mm])


def _deep_ends(lines: Strands, groove: Groove) -> Floats:
    """Return the ends of lines that reach the limit."""
    if not len(lines):
        return np.empty((0, 3))
    ends_mm = lines.points_mm[np.concatenate([lines.offsets[:-1], lines.offsets[1:] - 1])]
    return np.asarray(ends_mm[ends_mm[:, 2] == -groove.depth_mm])
