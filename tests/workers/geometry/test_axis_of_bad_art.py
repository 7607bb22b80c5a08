"""The axis of whatever tracing or an SVG may deliver: rings that touch, cross, repeat and all but coincide.

The rings go through the same filling as an SVG's. What is asked holds for the area as it lies on the
diagram's grid: slivers thinner than a few millionths of a millimetre are gone there.
"""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from tests.support.axis_topology import parts_and_gaps, parts_and_loops
from workers.geometry.filling import filled
from workers.geometry.medial_axis import pruned, whole_axes
from workers.geometry.outline_diagram import ink_axis, outline_diagram, paper_axis
from workers.geometry.polygon_repair import on_grid, region_of
from workers.geometry.segment_voronoi import segment_voronoi
from workers.values.medial_axis import MedialAxis
from workers.values.region import Region

SQUARE = [(0, 0), (10, 0), (10, 10), (0, 10)]
CHESS = [
    [(x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1)] for x in range(6) for y in range(6) if (x + y) % 2 == 0
]
PENTAGRAM = [(np.cos(angle), np.sin(angle)) for angle in np.arange(5) * 4 * np.pi / 5]
RINGS = {
    "a hole whose tip touches the outline": [SQUARE, [(0, 5), (3, 4), (3, 6)]],
    "a hole that cuts the area in two": [SQUARE, [(0, 5), (5, 3), (10, 5), (5, 7)]],
    "holes in a row that touch": [SQUARE, *([(x, 5), (x + 1, 4), (x + 2, 5), (x + 1, 6)] for x in (2, 4, 6))],
    "holes that shut in a part by their tips": [
        SQUARE,
        [(3, 3), (7, 3), (5, 2)],
        [(7, 3), (7, 7), (8, 5)],
        [(7, 7), (3, 7), (5, 8)],
        [(3, 7), (3, 3), (2, 5)],
    ],
    "squares that meet in their corners": CHESS,
    "a hole in a chess board of holes": [[(-1, -1), (7, -1), (7, 7), (-1, 7)], *CHESS],
    "a tip on a side": [SQUARE, [(10, 5), (13, 4), (13, 6)]],
    "two squares with a side in common": [SQUARE, [(10, 0), (20, 0), (20, 10), (10, 10)]],
    "two squares with half a side in common": [SQUARE, [(10, 5), (20, 5), (20, 15), (10, 15)]],
    "the same ring twice, hardly moved": [SQUARE, [(x + 3e-5, y + 1e-5) for x, y in SQUARE]],
    "a pentagram": [PENTAGRAM],
    "a spike without width": [[(0, 0), (10, 0), (10, 10), (5, 10), (5, 30), (5, 10), (0, 10)]],
    "a spike a micrometre wide": [[(0, 0), (10, 0), (10, 10), (5.001, 10), (5, 30), (5, 10), (0, 10)]],
    "a notch a micrometre wide": [[(0, 0), (10, 0), (10, 10), (5.001, 10), (5, 1), (5, 10), (0, 10)]],
    "a slit without width": [[(0, 0), (10, 0), (10, 5), (4, 5), (10, 5), (10, 10), (0, 10)]],
    "a sliver": [[(0, 0), (50, 0.0001), (100, 0)]],
    "a bow tie": [[(0, 0), (10, 10), (10, 0), (0, 10)]],
    "corners twice and thrice": [
        [(x + step, y + step * step) for x, y in SQUARE for step in (0, 1e-9, 1e-7, 1e-5)]
    ],
    "a side of a thousand collinear pieces": [[*((x / 100, 0) for x in range(1001)), (10, 1), (0, 1)]],
    "a comb of hairs": [
        [*((x / 10, 9 * (x % 2)) for x in range(101)), (10, -1), (0, -1)],
    ],
}


def art(rings: list[list[tuple[float, float]]], is_even_odd: bool) -> Region:
    """Return the area that rings fill, as an SVG is read."""
    return region_of(filled([np.array(ring, dtype=float) for ring in rings], is_even_odd))


def must_fit(axis: MedialAxis, area: Region) -> None:
    """Every radius is the distance to the outline, every node inside; as many parts and loops as the area."""
    places = shapely.points(axis.nodes_mm[:, :2])
    off_mm = shapely.distance(places, area.polygons.boundary) - axis.nodes_mm[:, 2]
    assert np.abs(off_mm).max(initial=0) < 1e-8
    assert shapely.covers(area.polygons.buffer(1e-8), places).all()
    assert parts_and_loops(axis) == parts_and_gaps(area)


@pytest.mark.parametrize("is_even_odd", [True, False], ids=["even-odd", "nonzero"])
@pytest.mark.parametrize("name", RINGS)
def test_bad_art_has_an_axis_that_fits(name: str, is_even_odd: bool) -> None:
    """Radii, places, parts and loops are the area's own."""
    voronoi = segment_voronoi(art(RINGS[name], is_even_odd))

    must_fit(pruned(whole_axes(voronoi)[0]), region_of(voronoi.area_mm))


@pytest.mark.parametrize("name", RINGS)
def test_so_has_the_paper_round_it(name: str) -> None:
    """The same holds for both sides of one diagram, on the grid of files."""
    ink = on_grid(art(RINGS[name], is_even_odd=True).polygons)
    paper = region_of(outline_diagram(ink).voronoi.area_mm)
    sheet = box(*paper.polygons.bounds)

    must_fit(paper_axis(ink), paper)
    must_fit(ink_axis(ink), region_of(shapely.difference(sheet, paper.polygons)))


POINTS = st.tuples(st.integers(0, 9), st.integers(0, 9))
SOUP = st.lists(st.lists(POINTS, min_size=3, max_size=8), min_size=1, max_size=5)


@given(SOUP, st.booleans())
@settings(deadline=None, max_examples=60)
def test_any_rings_on_a_lattice_have_an_axis_that_fits(
    rings: list[list[tuple[float, float]]], is_even_odd: bool
) -> None:
    """Random rings on few lattice points touch, overlap and run along each other in every way."""
    area = art(rings, is_even_odd)
    if area.polygons.is_empty:
        return
    voronoi = segment_voronoi(area)

    must_fit(pruned(whole_axes(voronoi)[0]), region_of(voronoi.area_mm))


@given(SOUP, st.booleans(), st.integers(-9, -4), st.integers(0, 99))
@settings(deadline=None, max_examples=60)
def test_so_have_rings_drawn_twice_a_hair_apart(
    rings: list[list[tuple[float, float]]], is_even_odd: bool, exponent: int, seed: int
) -> None:
    """Each ring again, its corners moved by 1e-9 to 1e-4 mm: near duplicates, slivers of every width."""
    random = np.random.default_rng(seed)
    moved = [np.array(ring) + random.normal(0, 10.0**exponent, (len(ring), 2)) for ring in rings]
    area = art([*rings, *moved], is_even_odd)
    if area.polygons.is_empty:
        return
    voronoi = segment_voronoi(area)

    must_fit(pruned(whole_axes(voronoi)[0]), region_of(voronoi.area_mm))
