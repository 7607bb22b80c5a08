"""Shapes become valid areas."""

import pytest
from shapely.geometry import GeometryCollection, LineString, MultiPolygon, Point, Polygon, box

from workers.geometry.polygon_repair import region_of


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
