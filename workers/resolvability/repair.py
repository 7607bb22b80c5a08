"""Strokes too thin to show, thickened just as far as they need and their neighbours allow."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import GeometryCollection, LineString, Point
from shapely.geometry.base import BaseGeometry

from workers.geometry.chains import chains
from workers.geometry.offsets import quarter_pieces
from workers.resolvability.centre_lines import Measured, measured, narrower_than
from workers.resolvability.examine import judged
from workers.resolvability.limits import limits_of, showing_width_mm
from workers.resolvability.repair_notes import notes_on
from workers.resolvability.runs import Changed, Points
from workers.resolvability.topology import grown
from workers.values.cuts import InciseCut
from workers.values.examination import Examination
from workers.values.finding import Finding
from workers.values.material import Material
from workers.values.medial_axis import MedialAxis
from workers.values.progress import Reporter, silent
from workers.values.region import Region

_OVER_MM = 0.02  # made wider than needed, so that a second look does not doubt it
_PASSES = 6  # each lets a stroke that is hemmed in on one side grow half of what it lacks on the other
_LEAST_GAIN_FRACTION = 0.02  # of what is lacking in one pass; less is not worth another
_CHORD_MM = 0.003  # how straight the new outlines' pieces may be; each pass measures all of them again
_FILM_MM = 0.003  # what is thinner than this is rounding, not growth
_SPIKE_FRACTION = (
    0.2  # of the width wanted: what growth leaves narrower than this between two gaps is no stroke
)
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
    blends into the wide part by itself. Gaps keep what they have, or the thinnest wall that
    stands; parts stay apart, holes stay open. Corners stay as they are.

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
    moved_mm = _moved_mm(region, result)
    if moved_mm <= _FILM_MM:
        result, after, moved_mm = region, before, 0.0
    else:
        growth = shapely.difference(result.polygons, region.polygons)
        after = judged(measured(result), limits, _beside(growth))
    return Repaired(
        region=result,
        examination_before=before,
        examination=after,
        notes=notes_on(before, after, cut, material, moved_mm),
        moved_mm=moved_mm,
    )


def _thickened(region: Region, width_mm: float, gap_mm: float, report: Reporter) -> Region:
    """Return the area with its thin strokes as wide as asked, as far as gaps allow."""
    current, lacking_mm2 = region, np.inf
    for turn in range(_PASSES):
        report(0.1 + 0.7 * turn / _PASSES, "thickening thin strokes")
        found = measured(current)
        thin = narrower_than(found.ink, width_mm - _OVER_MM / 2)
        still_lacking_mm2 = _lacking_mm2(thin, width_mm)
        if still_lacking_mm2 == 0 or still_lacking_mm2 > (1 - _LEAST_GAIN_FRACTION) * lacking_mm2:
            break
        lacking_mm2 = still_lacking_mm2
        current = grown(current, _growth(current, found, thin, width_mm, gap_mm), gap_mm)
    return current


def _growth(
    region: Region, found: Measured, thin: MedialAxis, width_mm: float, gap_mm: float
) -> BaseGeometry:
    """Return what thin strokes should fill, clear of the middle of every gap.

    It overlaps the ink: cut along the ink's outline it would part from it by rounding.
    """
    wanted = _buffered(thin, width_mm / 2)
    middle_of_gaps = _buffered(narrower_than(found.paper, width_mm + gap_mm), gap_mm / 2)
    growth = shapely.difference(wanted, middle_of_gaps)
    return _without_spikes(growth, region, width_mm * _SPIKE_FRACTION / 2)


def _without_spikes(growth: BaseGeometry, region: Region, radius_mm: float) -> BaseGeometry:
    """Return the growth that a disc of the radius reaches without leaving the ink, old or new."""
    together = shapely.union(region.polygons, growth)
    pieces = quarter_pieces(radius_mm, _CHORD_MM)
    opened = together.buffer(-radius_mm, quad_segs=pieces).buffer(radius_mm + _FILM_MM, quad_segs=pieces)
    return shapely.intersection(growth, opened)


def _buffered(axis: MedialAxis, radius_mm: float) -> BaseGeometry:
    """Return all that is within a radius of an axis."""
    lines = [LineString(axis.nodes_mm[run, :2]).simplify(_CHORD_MM) for run in chains(axis)]
    dots = [Point(place_mm) for place_mm in axis.nodes_mm[axis.lone_nodes, :2]]
    middle = GeometryCollection([*lines, *dots])
    return shapely.buffer(middle, radius_mm, quad_segs=quarter_pieces(radius_mm, _CHORD_MM))


def _lacking_mm2(thin: MedialAxis, width_mm: float) -> float:
    """Return how much ink thin strokes lack: width times length, a dot being as long as wide."""
    steps_mm = np.diff(thin.nodes_mm[thin.edges, :2], axis=1)[:, 0]
    widths_mm = thin.nodes_mm[thin.edges, 2].sum(axis=1)
    dots_mm = 2 * thin.nodes_mm[thin.lone_nodes, 2]
    along_mm2 = np.hypot(steps_mm[:, 0], steps_mm[:, 1]) * (width_mm - widths_mm)
    return float(along_mm2.sum() + (dots_mm * (width_mm - dots_mm)).sum())


def _beside(growth: BaseGeometry) -> Changed:
    """Return the test whether the outline beside a point of a centre line has moved."""
    tree = shapely.STRtree(shapely.get_parts(growth.buffer(-_FILM_MM, join_style="mitre")))

    def is_changed(points_mm: Points) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        places = shapely.points(points_mm[:, :2])
        near = tree.query(places, predicate="dwithin", distance=points_mm[:, 2] / 2 + _BESIDE_MM)[0]
        changed = np.zeros(len(points_mm), np.bool_)
        changed[near] = True
        return changed

    return is_changed


def _moved_mm(before: Region, after: Region) -> float:
    """Return how far the farthest point of the outline has moved."""
    if after is before or before.polygons.is_empty:
        return 0.0
    places = shapely.points(shapely.get_coordinates(after.polygons))
    parts = list(before.polygons.geoms)
    _, distance_mm = shapely.STRtree(parts).query_nearest(places, return_distance=True, all_matches=False)
    return float(distance_mm.max(initial=0.0))
