"""Strokes too thin to show, thickened just as far as they need and their neighbours allow."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from workers.geometry.polygon_repair import on_grid
from workers.resolvability.centre_lines import measured, narrower_than
from workers.resolvability.examine import judged
from workers.resolvability.growth import FILM_MM, growth_of
from workers.resolvability.limits import limits_of, showing_width_mm
from workers.resolvability.repair_notes import notes_on
from workers.resolvability.runs import Changed, Points
from workers.resolvability.topology import grown
from workers.values.cuts import InciseCut
from workers.values.examination import Examination
from workers.values.finding import Finding
from workers.values.material import Material
from workers.values.progress import Reporter, silent
from workers.values.region import Region

_OVER_MM = 0.02  # made wider than needed, so that a second look does not doubt it
_BESIDE_MM = 0.02  # how near to its outline a stroke must have grown to count as repaired


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Repaired:
    """The repaired area, what it was and is like, and how far any outline moved."""

    region: Region
    examination_before: Examination
    examination: Examination
    notes: tuple[Finding, ...]
    moved_mm: float


def repair(region: Region, cut: InciseCut, material: Material, report: Reporter = silent) -> Repaired:
    """Thicken strokes that would be lost or faint, and nothing else.

    A thin stroke is joined with discs of the least width that shows along its centre line, so it
    blends into the wide part by itself, and it ends where it ended. Gaps keep what they have, or
    the thinnest wall that stands: beside one, a stroke grows on its other side. Parts stay apart,
    holes stay open, corners stay as they are.

    Args:
        region: The ink.
        cut: The bit and the depth limit.
        material: Gives the depth that shows and the thinnest wall that stands.
        report: Told how far it is.
    """
    limits = limits_of(cut, material)
    report(0.05, "measuring the strokes")
    before = judged(measured(region), limits)
    result = _thickened(region, showing_width_mm(cut, material) + _OVER_MM, material.thinnest_wall_mm, report)
    growth = shapely.difference(result.polygons, region.polygons)
    moved_mm = _farthest_mm(growth, region)
    if moved_mm <= FILM_MM:
        result, after, moved_mm = region, before, 0.0
    else:
        after = judged(measured(result), limits, _beside(growth))
    return Repaired(
        region=result,
        examination_before=before,
        examination=after,
        notes=notes_on(before, after, cut, material, moved_mm),
        moved_mm=moved_mm,
    )


def _thickened(region: Region, width_mm: float, gap_mm: float, report: Reporter) -> Region:
    """Return the area with its thin strokes as wide as asked, as far as gaps allow, on the grid of files.

    So what is examined here is to the last digit what the next step reads and need not measure again.
    """
    found = measured(region)
    thin = narrower_than(found.ink, width_mm - _OVER_MM / 2)
    if not len(thin.edges) + len(thin.lone_nodes):
        return region
    report(0.3, "thickening thin strokes")
    growth = growth_of(region, found, thin, width_mm, gap_mm)
    report(0.5, "keeping gaps and parts as they are")
    return on_grid(grown(region, growth, gap_mm).polygons)


def _beside(growth: BaseGeometry) -> Changed:
    """Return the test whether the outline beside a point of a centre line has moved."""
    tree = shapely.STRtree(shapely.get_parts(growth.buffer(-FILM_MM, join_style="mitre")))

    def is_changed(points_mm: Points) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        places = shapely.points(points_mm[:, :2])
        near = tree.query(places, predicate="dwithin", distance=points_mm[:, 2] / 2 + _BESIDE_MM)[0]
        changed = np.zeros(len(points_mm), np.bool_)
        changed[near] = True
        return changed

    return is_changed


def _farthest_mm(growth: BaseGeometry, region: Region) -> float:
    """Return how far the farthest corner of growth is from the outline of the area it is outside of."""
    corners_mm = shapely.get_coordinates(growth)
    if not len(corners_mm):
        return 0.0
    places = shapely.points(corners_mm)
    _, distance_mm = _sides(region).query_nearest(places, return_distance=True, all_matches=False)
    return float(distance_mm.max())


def _sides(region: Region) -> shapely.STRtree:
    """Return the sides of an area's outline one by one: whole rings would be searched from side to side."""
    rings = shapely.get_rings(shapely.get_parts(region.polygons))
    points_mm, ring = shapely.get_coordinates(rings, return_index=True)
    pairs_mm = np.stack([points_mm[:-1], points_mm[1:]], axis=1)
    return shapely.STRtree(np.asarray(shapely.linestrings(pairs_mm[ring[:-1] == ring[1:]])))
