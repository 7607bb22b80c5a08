"""art.svg: what is written is what is read, in the words of the standard."""

import re

import numpy as np
import pytest
from defusedxml import ElementTree
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import MultiPolygon, Polygon, box

from workers.geometry.flattening import flatten
from workers.intake.svg_document import read_svg
from workers.tracing.art_file import write_art, write_region_art
from workers.tracing.path_text import numeral
from workers.values.outlines import Outlines
from workers.values.region import Artwork, Region

SVG = "{http://www.w3.org/2000/svg}"


def loop(*corners: tuple[float, float]) -> np.ndarray:
    """A closed loop of straight pieces."""
    a = np.array(corners, float)
    b = np.roll(a, -1, axis=0)
    return np.stack([a, a + (b - a) / 3, a + (b - a) * 2 / 3, b], axis=1)


def square(left: float, bottom: float, side: float) -> np.ndarray:
    return loop((left, bottom), (left + side, bottom), (left + side, bottom + side), (left, bottom + side))


RING_AND_DOT = Outlines(
    loops=(square(10, 10, 60), square(20, 20, 40), square(30, 30, 10.12345)), width_mm=100, height_mm=80.5
)


def test_the_page_is_in_mm_and_a_unit_is_a_mm() -> None:
    """Width and height in mm, and a view box of the same numbers (X-02, X-15)."""
    root = ElementTree.fromstring(write_art(RING_AND_DOT))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("100mm", "80.5mm", "0 0 100 80.5")


def test_every_part_is_one_filled_path() -> None:
    """A ring with its hole, and the dot in it: two paths, even-odd, without transforms or styles."""
    paths = ElementTree.fromstring(write_art(RING_AND_DOT)).findall(f"{SVG}path")
    assert sorted(path.get("d", "").count("M") for path in paths) == [1, 2]
    assert all(set(path.attrib) == {"fill-rule", "d"} for path in paths)
    assert {path.get("fill-rule") for path in paths} == {"evenodd"}


def test_y_points_down_and_numbers_are_short() -> None:
    """A square from (10, 10) to (70, 70) on a sheet of 80.5 mm, written by hand."""
    outlines = Outlines(loops=(square(10, 10, 60),), width_mm=100, height_mm=80.5)
    assert b'd="M10 70.5L70 70.5L70 10.5L10 10.5Z"' in write_art(outlines)


def test_curves_are_written_as_curves() -> None:
    """A piece that is not straight is a C with its control points."""
    bow = np.array([[[0, 0], [0, 10], [10, 10], [10, 0]], [[10, 0], [20 / 3, 0], [10 / 3, 0], [0, 0]]], float)
    data = write_art(Outlines(loops=(bow,), width_mm=20, height_mm=20))
    assert b'd="M0 20C0 10 10 10 10 20Z"' in data


@pytest.mark.parametrize("size", ["outlines", "polygons"])
def test_what_is_written_is_read_back(size: str) -> None:
    """Our reader finds the same area, to the rounding of 0.1 um."""
    artwork = flatten(RING_AND_DOT)
    data = write_art(RING_AND_DOT) if size == "outlines" else write_region_art(artwork)
    document = read_svg(data, "/inputs/art")
    assert document.notes == ()
    back = flatten(document.outlines)
    assert (back.width_mm, back.height_mm) == (100, 80.5)
    assert back.ink.polygons.symmetric_difference(artwork.ink.polygons).area < 1e-2
    assert len(back.ink.polygons.geoms) == 2


def test_a_thin_ring_of_few_pieces_keeps_its_hole() -> None:
    """Half-circles of 50 mm, 0.1 mm apart: their chords alone would have put the hole's start outside."""

    def round_loop(radius: float) -> np.ndarray:
        k = 4 / 3 * radius  # handles of a half-circle in one piece: kappa = 4/3 tan(pi/4)
        halves = [[(radius, 0), (radius, k), (-radius, k), (-radius, 0)]]
        halves.append([(-radius, 0), (-radius, -k), (radius, -k), (radius, 0)])
        return np.roll(np.array(halves, float) @ [[0.8, 0.6], [-0.6, 0.8]], 1, axis=0) + 60

    data = write_art(Outlines(loops=(round_loop(50), round_loop(49.9)), width_mm=120, height_mm=120))
    assert data.count(b"<path") == 1


def test_no_ink_is_an_empty_page() -> None:
    """Nothing drawn is no path."""
    artwork = Artwork(ink=Region(MultiPolygon()), width_mm=10, height_mm=10)
    assert b"<path" not in write_region_art(artwork)
    assert b"<path" not in write_art(Outlines(loops=(), width_mm=10, height_mm=10))


def test_polygons_keep_their_holes() -> None:
    """One path with two loops."""
    area = MultiPolygon([Polygon(box(1, 1, 9, 9).exterior, [box(3, 3, 5, 5).exterior])])
    data = write_region_art(Artwork(ink=Region(area), width_mm=10, height_mm=10))
    assert data.count(b"<path") == 1
    assert len(re.findall(b"M", data)) == 2


@given(st.integers(-(10**9), 10**9))
def test_numerals_are_shortest_and_exact(value: int) -> None:
    """Read back by Python's decimals, in units of 0.0001, without a needless zero."""
    text = numeral(value)
    assert round(float(text) * 10_000) == value
    assert not re.search(r"\.\d*0$|\.$|^-?0\d", text)
    assert text != "-0"
