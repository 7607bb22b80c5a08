"""Pixels hold exactly the share of them that lies in a polygon."""

import math

import numpy as np
import pytest
from shapely.geometry import MultiPolygon, Point, Polygon, box

from tests.support.exact_coverage import covered
from tests.support.exact_coverage import star as star_px
from workers.touch_up.polygon_coverage import polygon_coverage


def test_each_pixel_is_the_area_in_it() -> None:
    """Against areas of GEOS, pixel by pixel, for a turned triangle with a hole."""
    area = Polygon([(0.3, 0.2), (9.6, 2.7), (3.1, 7.9)]).difference(box(3.2, 2.6, 4.9, 4.3))
    found = polygon_coverage(MultiPolygon([area]), 8, 10, 1.0, 8.0)
    rows, columns = found.window
    for row in range(rows.start, rows.stop):
        for column in range(columns.start, columns.stop):
            pixel = box(column, 8 - row - 1, column + 1, 8 - row)
            share = found.fraction[row - rows.start, column - columns.start]
            assert share == pytest.approx(area.intersection(pixel).area, abs=1e-6)


def test_the_whole_is_the_area() -> None:
    """A ring's coverage adds up to pi (R^2 - r^2), less what its chords leave out (1 - sin x / x)."""
    ring = (
        Point(20.3, 14.6).buffer(9.7, quad_segs=256).difference(Point(20.3, 14.6).buffer(4.1, quad_segs=256))
    )
    found = polygon_coverage(MultiPolygon([ring]), 300, 400, 0.1, 30.0)
    step = math.pi / 2 / 256
    chords = math.sin(step) / step
    assert found.fraction.sum(dtype=np.float64) * 0.01 == pytest.approx(
        math.pi * (9.7**2 - 4.1**2) * chords, rel=1e-6
    )


def test_against_line_by_line_areas() -> None:
    """A star agrees with areas summed along 32 lines a pixel, to what that summing is good for."""
    ring = star_px(31.3, 28.7, 25.4, 9.9, 7, 0.4)
    area = MultiPolygon([Polygon([(x, 60 - y) for x, y in ring])])
    found = polygon_coverage(area, 60, 64, 1.0, 60.0)
    picture = np.full((60, 64), 255.0)
    picture[found.window] -= 255 * found.fraction
    assert np.abs(picture - covered([ring], 60, 64)).max() < 255 / 32


def test_only_the_touched_box_is_computed() -> None:
    """A square millimetre on a large sheet is a window of a hundred pixels."""
    found = polygon_coverage(MultiPolygon([box(100, 100, 101, 101)]), 3000, 2000, 0.1, 300.0)
    assert found.window == (slice(1990, 2000), slice(1000, 1010))
    assert (found.fraction == 1.0).all()
