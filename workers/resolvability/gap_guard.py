"""The middle of every gap, which growth must leave free: as wide as asked, or all of it where it is less."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from workers.values.medial_axis import MedialAxis

Floats = NDArray[np.float64]

_CORNERS = 24  # of the polygons that stand for discs; they are drawn round them


@dataclass(frozen=True, slots=True, eq=False)
class GapGuard:
    """Discs along the axis of gaps, no larger than asked nor than fits between the strokes."""

    starts_mm: Floats  # (m, 3) x, y, radius
    ends_mm: Floats  # (m, 3); a lone disc ends where it starts
    tree: shapely.STRtree  # of the pieces from start to end

    @classmethod
    def along(cls, gaps: MedialAxis, radius_mm: float) -> GapGuard:
        """Return the guard of an axis; discs have the radius, or the axis's where that is less."""
        discs_mm = np.minimum(gaps.nodes_mm, (np.inf, np.inf, radius_mm))
        starts_mm = np.vstack([discs_mm[gaps.edges[:, 0]], discs_mm[gaps.lone_nodes]])
        ends_mm = np.vstack([discs_mm[gaps.edges[:, 1]], discs_mm[gaps.lone_nodes]])
        pieces = np.asarray(shapely.linestrings(np.stack([starts_mm, ends_mm], axis=1)[:, :, :2]))
        return cls(starts_mm, ends_mm, shapely.STRtree(pieces))

    def distances_mm(self, places_mm: Floats) -> Floats:
        """Return how far places are from the guard; negative inside it."""
        places = shapely.points(places_mm)
        (_, nearest), axis_mm = self.tree.query_nearest(places, return_distance=True, all_matches=False)
        share = shapely.line_locate_point(self.tree.geometries[nearest], places, normalized=True)
        share = np.nan_to_num(share)  # a lone disc has no length
        radius_mm = self.starts_mm[nearest, 2] * (1 - share) + self.ends_mm[nearest, 2] * share
        return np.asarray(axis_mm - radius_mm)

    def near(self, wanted: BaseGeometry) -> BaseGeometry:
        """Return all discs that reach a shape, with what lies between them, as polygons drawn round them."""
        radius_mm = float(max(self.starts_mm[:, 2].max(initial=0), self.ends_mm[:, 2].max(initial=0)))
        reaching = np.sort(self.tree.query(wanted, predicate="dwithin", distance=radius_mm))
        starts_mm, ends_mm = self.starts_mm[reaching], self.ends_mm[reaching]
        is_even = np.minimum(starts_mm[:, 2], ends_mm[:, 2]) == radius_mm
        even = shapely.line_merge(shapely.union_all(self.tree.geometries[reaching[is_even]]))
        return shapely.union(
            shapely.buffer(even, radius_mm, quad_segs=_CORNERS // 4),
            shapely.union_all(_hulls(starts_mm[~is_even], ends_mm[~is_even])),
        )


def _hulls(starts_mm: Floats, ends_mm: Floats) -> NDArray[np.object_]:
    """Return what discs sweep that change their size on the way."""
    angle = np.arange(_CORNERS) * 2 * np.pi / _CORNERS
    rim = np.column_stack([np.cos(angle), np.sin(angle)]) / np.cos(np.pi / _CORNERS)
    rims_mm = [discs[:, None, :2] + discs[:, 2, None, None] * rim for discs in (starts_mm, ends_mm)]
    corners_mm = np.concatenate(rims_mm, axis=1)
    owner = np.repeat(np.arange(len(corners_mm)), 2 * _CORNERS)
    return np.asarray(shapely.convex_hull(shapely.multipoints(corners_mm.reshape(-1, 2), indices=owner)))
