"""Widths along an axis against a general library's distance transform of a picture of the same area.

OpenCV's exact Euclidean transform knows nothing of sides and corners: it measures from pixel to pixel. The
picture is four times finer than the cell by which widths are compared, for the transform of a two-tone
picture is itself off by up to a pixel (0.7 of one for the nearest centre, as much for the edge's steps).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from tests.support.exact_coverage import covered
from workers.values.medial_axis import MedialAxis
from workers.values.region import Region

FINER = 4
_MARGIN_MM = 2.0


@dataclass(frozen=True)
class Picture:
    """An area in two tones."""

    is_ink: NDArray[np.bool_]
    corner_mm: NDArray[np.float64]  # of the first pixel, x and y
    cell_mm: float

    def widths_off_cells(self, axis: MedialAxis, *, in_ink: bool) -> NDArray[np.float64]:
        """Return by how many cells widths differ from the picture's, at every cell along an axis.

        Args:
            axis: Of the ink, or of the paper round it as far as that lies in the picture.
            in_ink: Measure ink; else paper.
        """
        px_mm = self.cell_mm / FINER
        wanted = (self.is_ink if in_ink else ~self.is_ink).astype(np.uint8)
        distance_px = cv2.distanceTransform(wanted, cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
        points_mm = _every_cell(axis, self.cell_mm)
        column, row = np.floor((points_mm[:, :2] - self.corner_mm) / px_mm).astype(int).T
        rows, columns = self.is_ink.shape
        to_rim_px = np.minimum.reduce([column, row, columns - 1 - column, rows - 1 - row])
        seen = to_rim_px * px_mm > points_mm[:, 2]  # the picture's rim is no outline
        found_mm = 2 * px_mm * (distance_px[row[seen], column[seen]] - 0.5)  # edges run between centres
        return np.asarray((found_mm - 2 * points_mm[seen, 2]) / self.cell_mm)


def pictured(region: Region, cell_mm: float) -> Picture:
    """Return a picture of ink with some paper round it."""
    px_mm = cell_mm / FINER
    left, bottom, right, top = region.polygons.bounds
    corner_mm = np.array([left, bottom]) - _MARGIN_MM
    columns, rows = np.ceil((np.array([right, top]) + _MARGIN_MM - corner_mm) / px_mm).astype(int)
    rings = shapely.get_rings(shapely.get_parts(region.polygons))
    places_px = [(shapely.get_coordinates(ring)[:-1] - corner_mm) / px_mm for ring in rings]
    return Picture(covered(places_px, rows, columns) < 128, corner_mm, cell_mm)


def _every_cell(axis: MedialAxis, cell_mm: float) -> NDArray[np.float64]:
    """Return points along the axis with their radii, no farther apart than a cell."""
    starts, ends = axis.nodes_mm[axis.edges[:, 0]], axis.nodes_mm[axis.edges[:, 1]]
    pieces = np.maximum(1, np.ceil(np.hypot(*(ends - starts)[:, :2].T) / cell_mm)).astype(int)
    edge = np.repeat(np.arange(len(pieces)), pieces)
    step = np.arange(len(edge)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    share = ((step + 0.5) / pieces[edge])[:, None]
    along = starts[edge] * (1 - share) + ends[edge] * share
    return np.concatenate([along, axis.nodes_mm[axis.lone_nodes]])
