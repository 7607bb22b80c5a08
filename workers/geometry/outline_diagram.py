"""The Voronoi diagram of an outline with the paper round it: both the ink's axis and the paper's lie in it.

Verdicts, repair and grooves ask for the diagram of the same area one after the other, and
building it is the dearest thing that happens to a drawing; so the last few are kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import shapely
from shapely.geometry import box

from workers.geometry.medial_axis import WholeAxis, pruned, whole_axes
from workers.geometry.polygon_repair import GRID_MM, is_on_grid, region_of
from workers.geometry.segment_voronoi import FINEST_PER_MM, SegmentVoronoi, segment_voronoi
from workers.values.medial_axis import MedialAxis
from workers.values.region import Region

_SHEET_MARGIN_MM = 20.0  # more than any wall is wide


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class OutlineDiagram:
    """The diagram of an outline, and the axes of both its sides before any branch goes."""

    voronoi: SegmentVoronoi  # of the paper
    ink: WholeAxis
    paper: WholeAxis


@lru_cache(maxsize=3)  # before and after a repair, and one to spare; 4 MB each for a rich sign
def outline_diagram(region: Region) -> OutlineDiagram:
    """Return the diagram of an area that is not empty, seen as holes in a wide sheet of paper.

    The sheet's edge, far off, only gives an end to the middle lines between strokes that
    would otherwise run to infinity. An area of a design lies on the grid of files, and needs
    no finer one.
    """
    left, bottom, right, top = region.polygons.bounds
    margin_mm = (right - left) + (top - bottom) + _SHEET_MARGIN_MM
    sheet = box(left - margin_mm, bottom - margin_mm, right + margin_mm, top + margin_mm)
    paper = region_of(shapely.difference(sheet, region.polygons))
    voronoi = segment_voronoi(paper, round(1 / GRID_MM) if is_on_grid(region) else FINEST_PER_MM)
    inside, outside = whole_axes(voronoi)
    return OutlineDiagram(voronoi=voronoi, ink=outside, paper=inside)


def ink_axis(region: Region, tolerance_mm: float = 0.02) -> MedialAxis:
    """Return the medial axis of an area; as ``medial_axis``, from the diagram that is kept."""
    return pruned(outline_diagram(region).ink, tolerance_mm)


def paper_axis(region: Region, tolerance_mm: float = 0.02) -> MedialAxis:
    """Return the medial axis of what surrounds an area, as far as the sheet's edge."""
    return pruned(outline_diagram(region).paper, tolerance_mm)
