"""A design survives its files, and a damaged file is refused."""

import json
import xml.etree.ElementTree as ElementTree

import numpy as np
import pytest
from shapely.geometry import MultiPolygon, Polygon

from tests.support.specimens import board, lettering
from workers.errors import InputRejectedError, ParameterOutOfRangeError, UnsafeSvgError
from workers.layout.compose import compose
from workers.layout.design_file import draw_design, read_design, write_design
from workers.values.design import Design, Hole
from workers.values.placement import BorderLine, PlacedArt
from workers.values.region import Artwork, Region

BOARD = board(300.1, 120.7, 19.05, corner_radius_mm=12.5, material="mdf")


def star(points: int, outer_mm: float, inner_mm: float) -> Polygon:
    """A star about the origin."""
    angles = np.linspace(0, 2 * np.pi, 2 * points, endpoint=False)
    radii = np.where(np.arange(2 * points) % 2, inner_mm, outer_mm)
    return Polygon(np.column_stack((radii * np.cos(angles), radii * np.sin(angles))))


@pytest.fixture(scope="module")
def design() -> Design:
    """A design of everything: art with holes and islands, turned lettering, a border and two holes."""
    line = lettering("Boat & <Slip>", cap_height_mm=15.3, x_mm=190, y_mm=55, align="centre", turn_deg=7)
    ring = star(7, 30, 18).difference(star(7, 20, 10))
    art = PlacedArt(
        title="art-1",
        artwork=Artwork(ink=Region(MultiPolygon([ring, star(5, 4, 2)])), width_mm=90, height_mm=90),
        x_mm=60,
        y_mm=60,
        turn_deg=33,
    )
    holes = [Hole(x_mm=15, y_mm=100, diameter_mm=4.2), Hole(x_mm=285, y_mm=100, diameter_mm=4.2)]
    return compose(BOARD, [art], [line], BorderLine(inset_mm=4, width_mm=1.7), holes)


@pytest.mark.parametrize("write", [write_design, draw_design])
def test_a_design_read_back_is_the_same(design: Design, write: object) -> None:
    """JSON and drawing alike: every coordinate to the bit of the grid, and all figures."""
    assert callable(write)
    found = read_design(write(design), "/inputs/design")
    assert found.ink.polygons.normalize().equals_exact(design.ink.polygons.normalize(), 1e-9)
    assert (found.board, found.holes, found.elements) == (design.board, design.holes, design.elements)
    assert found.outline.equals(design.outline)


def test_writing_what_was_read_gives_the_same_bytes(design: Design) -> None:
    """Nothing drifts from file to file."""
    data = write_design(design)
    assert write_design(read_design(data, "")) == data


def test_rings_are_millimetres_with_y_up(design: Design) -> None:
    """The JSON's first outer ring lies in the board's frame, with at most five decimals."""
    record = json.loads(write_design(design))
    points = np.array([point for part in record["ink"] for point in part["outer"]])
    assert points.min(axis=0) == pytest.approx([4, 4])
    assert points.max(axis=0) == pytest.approx([300.1 - 4, 120.7 - 4])
    assert np.array_equal(points, np.round(points, 5))


def test_the_drawing_is_in_millimetres_with_y_down(design: Design) -> None:
    """SVG 2: width and height in mm and the viewBox the same; hole 1 from the top."""
    root = ElementTree.fromstring(draw_design(design))  # noqa: S314 - our own bytes
    assert (root.get("width"), root.get("height")) == ("300.1mm", "120.7mm")
    assert root.get("viewBox") == "0 0 300.1 120.7"
    by_id = {element.get("id"): element for element in root.iter() if element.get("id")}
    assert set(by_id) == {"board", "ink", "hole-1", "hole-2"}
    hole = by_id["hole-1"]
    assert (hole.get("cx"), hole.get("cy"), hole.get("r")) == ("15", "20.7", "2.1")


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"{}",
        b"[1,2]",
        b"\xff\xfe",
        b'{"format":"triglyph-design-1","ink":[]}',
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"<svg",
        b"[" * 100_000,
    ],
)
def test_other_files_are_no_designs(data: bytes) -> None:
    """Refused with the field and a remedy, never a fault of ours."""
    with pytest.raises(InputRejectedError) as caught:
        read_design(data, "/inputs/design")
    assert caught.value.field == "/inputs/design"
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("board", "width_mm"), "wide"),
        (("board", "width_mm"), -1),
        (("board", "thickness_mm"), None),
        (("board", "corner_radius_mm"), 1000),
        (("board", "height_mm"), 10**400),
        (("board", "height_mm"), float("nan")),
        (("board", "height_mm"), "high" * 1000),
        (("ink", 0, "outer", 0, 1), 10**400),
        (("ink", 0, "outer", 0, 1), 1e300),
        (("ink", 0, "outer", 0, 1), float("nan")),
        (("holes", 0, "diameter_mm"), float("inf")),
        (("ink", 0, "outer"), [[0, 1]]),
        (("ink", 0, "outer"), [[0, "x"], [1, 2], [3, 4]]),
        (("elements",), 3),
        (("format",), "other"),
    ],
)
def test_damaged_figures_are_refused(design: Design, path: tuple[str | int, ...], value: object) -> None:
    """Each figure of the record is checked on reading."""
    record = json.loads(write_design(design))
    place = record
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    with pytest.raises(InputRejectedError) as caught:
        read_design(json.dumps(record).encode(), "/inputs/design")
    assert len(caught.value.message) < 250


@pytest.mark.parametrize("height", [b"1" + b"0" * 400, b"NaN", b"-1", b'"high"'])
def test_a_drawing_of_no_height_is_refused(design: Design, height: bytes) -> None:
    """Its metadata say where y is 0."""
    drawing = draw_design(design)
    assert drawing.count(b'"height_mm":120.7') == 1
    with pytest.raises(InputRejectedError):
        read_design(drawing.replace(b'"height_mm":120.7', b'"height_mm":' + height), "/inputs/design")


@pytest.mark.parametrize("first", [b"1e999,0", b"1e300,0", b"nan,0"])
def test_a_drawing_with_ink_past_all_size_is_refused(design: Design, first: bytes) -> None:
    """Before anything is computed of it."""
    drawing = draw_design(design).replace(b'id="ink" d="M', b'id="ink" d="M' + first + b"L")
    with pytest.raises(InputRejectedError, match="straight pieces"):
        read_design(drawing, "/inputs/design")


@pytest.mark.parametrize("encoding", [b"utf-7", b"utf-32", b"x-none", b"hex", b"idna", b"undefined"])
def test_a_drawing_in_an_encoding_that_cannot_be_read_is_refused(design: Design, encoding: bytes) -> None:
    """XML 1.0, 4.3.3: only UTF-8 and UTF-16 must be read; the parser says that of others in its own ways."""
    with pytest.raises(InputRejectedError, match="well-formed"):
        read_design(draw_design(design).replace(b"UTF-8", encoding), "/inputs/design")


def test_ink_beyond_the_board_is_refused(design: Design) -> None:
    """A board made smaller by hand no longer holds its ink."""
    record = json.loads(write_design(design))
    record["board"]["width_mm"] = 200
    with pytest.raises(ParameterOutOfRangeError, match=r"beyond its board of 200 x 120\.7 mm"):
        read_design(json.dumps(record).encode(), "/inputs/design")


def test_rings_that_cross_are_filled_even_odd(design: Design) -> None:
    """A bow tie, edited by hand, becomes its two wings."""
    record = json.loads(write_design(design))
    record["ink"] = [{"outer": [[100, 50], [120, 70], [120, 50], [100, 70]], "holes": []}]
    ink = read_design(json.dumps(record).encode(), "").ink.polygons
    assert ink.area == pytest.approx(200)
    assert len(ink.geoms) == 2


def test_entities_in_a_drawing_are_unsafe() -> None:
    """No document type, no entities."""
    bomb = b'<!DOCTYPE svg [<!ENTITY a "b">]><svg xmlns="http://www.w3.org/2000/svg"><metadata>&a;</metadata></svg>'
    with pytest.raises(UnsafeSvgError):
        read_design(bomb, "/inputs/design")


def test_curves_in_a_drawing_are_refused(design: Design) -> None:
    """Only straight pieces are read: nothing is approximated behind anybody's back."""
    drawing = draw_design(design).replace(b'id="ink" d="M', b'id="ink" d="M0,0C1,1,2,2,3,3ZM')
    with pytest.raises(InputRejectedError, match="straight pieces"):
        read_design(drawing, "/inputs/design")
