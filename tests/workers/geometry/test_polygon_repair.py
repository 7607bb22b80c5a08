"""Shapes become valid areas."""

import numpy as np
import pytest
import shapely
from shapely.geometry import GeometryCollection, LineString, MultiPolygon, Point, Polygon, box

from workers.geometry.polygon_repair import on_grid, region_of


def test_a_bow_tie_becomes_two_triangles() -> None:
    """An outline that crosses itself is cut where it does."""
    region = region_of(Polygon([(0, 0), (2, 2), (2, 0), (0, 2)]))

    assert len(region.polygons.geoms) == 2
    assert region.polygons.area == pytest.approx(2)


def test_loose_lines_and_points_are_left_out() -> None:
    """What has no area is no area, however deep it lies."""
    mixed = GeometryCollection(
        [Point(9, 9), LineString([(0, 0), (5, 5)]), GeometryCollection([MultiPolygon([box(0, 0, 1, 1)])])]
    )

    assert region_of(mixed).polygons.equals(MultiPolygon([box(0, 0, 1, 1)]))


def test_parts_below_a_least_area_are_left_out() -> None:
    """Only what is larger stays."""
    parts = MultiPolygon([box(0, 0, 1, 1), box(3, 3, 3.01, 3.01)])

    assert len(region_of(parts, least_area_mm2=0.01).polygons.geoms) == 1


def test_nothing_stays_nothing() -> None:
    """An empty shape is an empty region."""
    assert region_of(Polygon()).polygons.is_empty


def test_on_the_grid_no_zero_is_negative() -> None:
    """The library's rounding leaves -0.0 or 0.0 by chance; one area shall be one sequence of bytes."""
    slipped = box(-4e-6, -4e-6, 3, 2).union(box(1, -2, 2, 4e-6))

    places_mm = shapely.get_coordinates(on_grid(slipped).polygons)

    assert (places_mm == 0).any()
    assert not np.signbit(places_mm[places_mm == 0]).any()
