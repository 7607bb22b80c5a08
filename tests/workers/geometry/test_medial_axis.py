"""The axis of any area: its radii are distances, its topology is the area's."""

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box

from tests.support.axis_topology import parts_and_loops
from workers.geometry.medial_axis import medial_axis
from workers.values.region import Region


def region_of(shape: shapely.Geometry) -> Region:
    """Return a shape as a region."""
    return Region(MultiPolygon(shapely.get_parts(shape).tolist()))


def star(points_count: int, inner_mm: float) -> Polygon:
    """Return a star of outer radius 10 mm."""
    angle = np.linspace(0, 2 * np.pi, 2 * points_count + 1)[:-1]
    radius = np.where(np.arange(len(angle)) % 2, 10, inner_mm)
    return Polygon(np.column_stack([radius * np.cos(angle), radius * np.sin(angle)]))


def net(seed: int) -> shapely.Geometry:
    """Return strokes of all widths, ends and corners, crossing each other: parts, holes, slivers."""
    random = np.random.default_rng(seed)
    caps, joins = ("round", "flat", "square"), ("round", "mitre", "bevel")
    strokes = [
        LineString(random.uniform(0, 60, (random.integers(2, 6), 2))).buffer(
            random.uniform(0.1, 4),
            quad_segs=int(random.integers(1, 12)),
            cap_style=caps[seed % 3],
            join_style=joins[seed // 3 % 3],
        )
        for _ in range(random.integers(2, 9))
    ]
    return shapely.union_all(strokes)


def letter() -> shapely.Geometry:
    """Return something like a letter a: a ring, a stem and a thin serif."""
    ring = Point(0, 0).buffer(5, quad_segs=20) - Point(0.6, 0).buffer(3, quad_segs=20)
    return shapely.union_all([ring, box(3.5, -5, 5, 7), box(4.9, -5, 7.5, -4.8)])


SHAPES = {
    "square": box(0, 0, 1, 1),
    "frame": box(0, 0, 60, 60) - box(10, 10, 50, 50),
    "letter": letter(),
    "turned, with split sides": affinity.rotate(box(0, 0, 30, 3).segmentize(0.25), 17.3),
    "parts that touch in a corner": MultiPolygon([box(0, 0, 5, 5), box(5, 5, 9, 9)]),
    "a tip on a side": MultiPolygon([box(0, 0, 5, 5), Polygon([(5, 2), (8, 1), (8, 3)])]),
    "far from the origin": affinity.translate(star(5, 4), 1e4, -3e3),
    **{f"star {count}": star(count, 2 + count / 2) for count in (3, 5, 8)},
    **{f"net {seed}": net(seed) for seed in range(9)},
}


@pytest.mark.parametrize("name", SHAPES)
def test_radii_are_distances_to_the_outline(name: str) -> None:
    """At every node the radius is what a general geometry library measures, to a nanometre."""
    region = region_of(SHAPES[name])

    axis = medial_axis(region)

    places = shapely.points(axis.nodes_mm[:, :2])
    assert np.abs(shapely.distance(places, region.polygons.boundary) - axis.nodes_mm[:, 2]).max() < 1e-6
    assert shapely.covers(region.polygons.buffer(1e-6), places).all()


@pytest.mark.parametrize("name", SHAPES)
def test_the_axis_has_the_topology_of_the_area(name: str) -> None:
    """One piece for each part, one loop for each hole; parts that only touch stay apart."""
    region = region_of(SHAPES[name])

    parts, loops = parts_and_loops(medial_axis(region))

    assert parts == len(region.polygons.geoms)
    assert loops == sum(len(polygon.interiors) for polygon in region.polygons.geoms)


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("chord_mm", [0.005, 0.001])
def test_no_piece_claims_more_than_the_area_has(name: str, chord_mm: float) -> None:
    """All along the straight pieces the radius is at most the distance plus the chord's share."""
    region = region_of(SHAPES[name])

    axis = medial_axis(region, chord_mm=chord_mm)

    starts, ends = axis.nodes_mm[axis.edges[:, 0]], axis.nodes_mm[axis.edges[:, 1]]
    for share in (0.25, 0.5, 0.75):
        on_piece = starts * (1 - share) + ends * share
        distance_mm = shapely.distance(shapely.points(on_piece[:, :2]), region.polygons.boundary)
        assert (on_piece[:, 2] - distance_mm).max(initial=0) < chord_mm + 1e-6


@pytest.mark.parametrize("name", SHAPES)
def test_the_discs_cover_the_area(name: str) -> None:
    """No point of the area is farther than the tolerance outside all discs of the axis."""
    region = region_of(SHAPES[name])

    axis = medial_axis(region, tolerance_mm=0.05, chord_mm=0.002)

    starts, ends = axis.nodes_mm[axis.edges[:, 0]], axis.nodes_mm[axis.edges[:, 1]]
    shares = np.linspace(0, 1, 33)[:, None, None]
    discs = (starts * (1 - shares) + ends * shares).reshape(-1, 3)
    corners = shapely.get_coordinates(region.polygons)
    gap_mm = [np.min(np.hypot(*(discs[:, :2] - corner).T) - discs[:, 2]) for corner in corners]
    assert max(gap_mm) < 0.05 + 0.01  # between two samples of a spur the discs' edge falls back a little


def test_a_round_dot_keeps_one_node() -> None:
    """All joints of a dot's chords go; its centre stays, for the bit must go somewhere."""
    axis = medial_axis(region_of(Point(3, 4).buffer(2, quad_segs=64)))

    assert len(axis.edges) == 0
    assert axis.nodes_mm[axis.lone_nodes] == pytest.approx(np.array([[3, 4, 2]]), abs=0.002)


def test_a_speck_below_the_tolerance_keeps_one_node() -> None:
    """However small, a part leaves a node."""
    axis = medial_axis(region_of(box(0, 0, 0.01, 0.012)))

    assert len(axis.lone_nodes) == 1


def test_no_area_no_axis() -> None:
    """Nothing in, nothing out."""
    axis = medial_axis(Region(MultiPolygon()))

    assert len(axis.nodes_mm) == len(axis.edges) == len(axis.lone_nodes) == 0


def test_a_hole_that_touches_the_outline_opens_the_loop() -> None:
    """A bit cannot pass where the area is as thin as a point."""
    touching = box(0, 0, 10, 10) - Polygon([(0, 5), (3, 4), (3, 6)])

    assert parts_and_loops(medial_axis(region_of(touching))) == (1, 0)


def test_the_same_area_gives_the_same_bytes() -> None:
    """Nothing in it depends on chance."""
    first, second = (medial_axis(region_of(net(4))) for _ in range(2))

    assert first.nodes_mm.tobytes() == second.nodes_mm.tobytes()
    assert first.edges.tobytes() == second.edges.tobytes()
