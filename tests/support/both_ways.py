"""One drawing as a picture and as polygons, and how far apart two such drawings are."""

import functools

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from tests.support.exact_coverage import box, circle, covered, star
from workers.geometry.filling import filled
from workers.geometry.polygon_loops import loops_of
from workers.values.curved_artwork import CurvedArtwork
from workers.values.image import InkCoverage
from workers.values.region import Artwork, Region

MM_PER_PX = 0.1
WIDTH_MM, HEIGHT_MM = 30.0, 24.0


@functools.cache
def boatyard() -> tuple[InkCoverage, Artwork]:
    """A mooring ring, a blunt star, a plank and two specks on 30 x 24 mm, as a picture and as polygons.

    Nothing lies on a pixel's side; the picture's coverage is computed apart from what is tested. Corners
    are of 80 degrees and more: of a sharp tip, a picture does not show the last pixel.
    """
    rings_px = [
        circle(80.3, 90.7, 52.2, 400),
        circle(80.3, 90.7, 31.6, 400),
        star(205.4, 84.9, 61.3, 46.1, 5, 0.3),
        box(140.2, 190.6, 170.4, 21.7, 0.21),
        box(264.7, 190.3, 4.4, 4.4),
        box(281.2, 204.6, 7.3, 7.3, 0.5),
    ]
    rows, columns = round(HEIGHT_MM / MM_PER_PX), round(WIDTH_MM / MM_PER_PX)
    rings_mm = [np.stack([ring[:, 0], rows - ring[:, 1]], axis=1) * MM_PER_PX for ring in rings_px]
    ink = Region(filled(rings_mm, is_even_odd=True))
    return (
        InkCoverage(pixels=covered(rings_px, rows, columns), mm_per_px=MM_PER_PX),
        Artwork(ink=ink, width_mm=WIDTH_MM, height_mm=HEIGHT_MM),
    )


def straight_sided(artwork: Artwork) -> CurvedArtwork:
    """A drawing of polygons whose every side is a straight piece."""
    pieces = np.concatenate([np.zeros((0, 4, 2)), *loops_of(artwork.ink.polygons)])
    return CurvedArtwork(artwork=artwork, pieces=pieces, steps=np.ones(len(pieces), np.int64))


def area_mm2(coverage: InkCoverage) -> float:
    """The area of ink in a picture."""
    return float((255 - coverage.pixels.astype(np.int64)).sum()) / 255 * coverage.mm_per_px**2


def farthest_apart_px(coverage: InkCoverage, artwork: Artwork) -> float:
    """How far the most misplaced pixel centre lies from the polygons' outline: 0 if ink and paper agree.

    Both have the same upper left corner.
    """
    rows, columns = coverage.pixels.shape
    column, row = np.meshgrid(np.arange(columns) + 0.5, np.arange(rows) + 0.5)
    x = column * coverage.mm_per_px
    y = artwork.height_mm - row * coverage.mm_per_px
    ink = artwork.ink.polygons
    shapely.prepare(ink)
    wrong = shapely.contains_xy(ink, x, y) != (coverage.pixels < 128)
    if not wrong.any():
        return 0.0
    points = shapely.points(x[wrong], y[wrong])
    return float(shapely.distance(_outline(ink), points).max()) / coverage.mm_per_px


def _outline(ink: MultiPolygon) -> shapely.Geometry:
    return shapely.union_all([ring for part in ink.geoms for ring in _rings(part)])


def _rings(part: Polygon) -> list[shapely.Geometry]:
    return [part.exterior, *part.interiors]
