"""Ink grows by a distance, to a fraction of a pixel."""

import math

import numpy as np
import pytest
import shapely

from tests.support.exact_coverage import box, circle, covered
from workers.touch_up.moved_edge import widened


def _ink_px2(pixels: np.ndarray) -> float:
    return float(np.sum(255 - pixels.astype(np.int64))) / 255


@pytest.mark.parametrize("by_px", [0.1, 0.5, 1.0, 2.3, 7.7, 26.4])
def test_a_disc_grows_to_a_larger_disc(by_px: float) -> None:
    """The area is pi (r + d)^2 (Steiner), within 0.05 px of the rim."""
    radius = 12.4
    grown = widened(covered([circle(40.2, 39.7, radius)], 80, 80), by_px)
    off_px = math.sqrt(_ink_px2(grown) / math.pi) - (radius + by_px)
    assert abs(off_px) < 0.05


def test_a_box_grows_by_its_sides_and_quarter_discs() -> None:
    """Steiner's formula for a convex area: A + d P + pi d^2, within 0.05 px of the rim."""
    by_px, width, height = 4.6, 31.0, 17.0
    grown = widened(covered([box(40.3, 30.4, width, height, 0.37)], 60, 80), by_px)
    rim_px = 2 * (width + height)
    wanted = width * height + by_px * rim_px + math.pi * by_px**2
    assert abs(_ink_px2(grown) - wanted) < 0.05 * rim_px


def test_paper_far_away_stays_as_it_is() -> None:
    """Its grey is not touched beyond the reach."""
    picture = np.minimum(covered([circle(20, 20, 6)], 60, 60), 250)
    assert (widened(picture, 2.0)[40:, 40:] == 250).all()


@pytest.mark.parametrize("by_px", [3.3, 20.5, 120.0])
def test_every_pixel_knows_how_far_the_edge_is(by_px: float) -> None:
    """Ink moves by the distance to the nearest point of all outlines, against GEOS, to 0.15 px."""
    rings = [circle(60, 70, 31.3), circle(150, 180, 9.6), circle(231, 88, 4.2)]  # a picture rounds corners
    grown = widened(covered(rings, 260, 300), by_px)
    ink = shapely.union_all([shapely.Polygon(ring) for ring in rings])
    shapely.prepare(ink)
    row, column = np.mgrid[0:260, 0:300]
    away_px = shapely.distance(ink, shapely.points(column + 0.5, row + 0.5))
    is_clear = np.abs(away_px - by_px) > 0.6  # further than a half-tone reaches
    assert ((grown < 128) == (away_px < by_px))[is_clear].all()
    is_halftone = (grown > 0) & (grown < 255) & (away_px > 0.75)
    told_px = by_px - 0.5 + grown[is_halftone] / 255
    assert is_halftone.sum() > 100
    assert np.quantile(np.abs(told_px - away_px[is_halftone]), 0.99) < 0.15
