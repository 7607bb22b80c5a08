"""Faults of outlines are put right, counted, and shown at the place of the largest."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from workers.geometry.flattening import flat_rings, flatten
from workers.intake.svg_document import SvgDocument, read_svg

HEAD = 'xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100"'
DOT = '<rect x="90" y="90" width="5" height="5"/>'


def read(body: str) -> SvgDocument:
    return read_svg(f"<svg {HEAD}>{body}</svg>".encode(), "/svg")


@pytest.mark.parametrize(
    ("body", "code", "count", "at_mm", "ink_mm2"),
    [
        # open: three sides of a square, and of a larger one with the larger gap
        (
            '<path d="M10 10h10v10h-10"/><path d="M30 30h20v20h-20"/>',
            "svg-outlines-closed",
            2,
            (30, 60),
            100 + 400,
        ),
        ('<polyline points="10,10 30,10 30,30"/>', "svg-outlines-closed", 1, (20, 80), 200),
        # a bow tie: both halves are ink by either rule
        ('<path d="M10 10L30 30L30 10L10 30z"/>', "svg-outlines-crossing", 1, (20, 80), 200),
        # the lens of two squares of one path, by the rules
        (
            '<path d="M10 10h20v20h-20zM20 5h5v10h-5z" fill-rule="evenodd"/>',
            "svg-outlines-crossing",
            1,
            None,
            400 + 50 - 2 * 25,
        ),
        ('<path d="M10 10h20v20h-20zM20 5h5v10h-5z"/>', "svg-outlines-crossing", 1, None, 400 + 50 - 25),
        (
            '<rect x="10" y="10" width="20" height="20"/><rect x="20" y="20" width="20" height="20"/>',
            "svg-shapes-overlapping",
            1,
            (25, 75),
            700,
        ),
        (
            '<rect x="10" y="10" width="20" height="20"/><path d="M10 10h20v20h-20z"/>',
            "svg-outlines-duplicate",
            1,
            (20, 80),
            400,
        ),
        ('<path d="M10 10h20v20h-20zM10 10h20v20h-20z"/>', "svg-outlines-duplicate", 1, (10, 90), 400),
        (
            '<path fill-rule="evenodd" d="M10 10h20v20h-20zM10 10h20v20h-20z"/>',
            "svg-outlines-cancelled",
            1,
            (10, 90),
            0,
        ),
        ('<path d="M10 20h0z"/>', "svg-outlines-without-length", 1, (10, 80), 0),
        ('<path d="M10 20h0" stroke="black"/>', "svg-outlines-without-length", 1, (10, 80), 0),
        ('<path d="M10 20h30v.001h-30z"/>', "svg-slivers", 1, (10, 80), 0),
    ],
)
def test_a_fault_is_repaired_counted_and_located(
    body: str, code: str, count: int, at_mm: tuple[float, float] | None, ink_mm2: float
) -> None:
    """Areas in closed form; the place counts from the lower left with y up."""
    document = read(body + DOT)
    (note,) = [note for note in document.notes if note.code == code]
    assert (f"({count} in all" in note.message) == (count > 1)
    assert note.at_mm is not None
    if at_mm is not None:
        assert note.at_mm == pytest.approx(at_mm, abs=0.01)
    assert {note.code for note in document.notes} <= {code, "svg-outlines-crossing"}
    assert flatten(document.outlines).ink.polygons.area == pytest.approx(ink_mm2 + 25, rel=1e-4)


@pytest.mark.parametrize(
    "body",
    [
        '<path d="M10 10h20v20h-20zM15 15h5v5h-5z" fill-rule="evenodd"/>',
        '<path d="M10 10h20v20h-20zM15 15v5h5v-5z"/>',
        '<path d="M10 10L40 40" stroke="black"/>',
        '<path d="M50 50h0" stroke="black" stroke-width="4" stroke-linecap="round"/>',
        '<rect x="10" y="10" width="9" height="9" stroke="black"/>',
        '<circle cx="20" cy="20" r="9"/><circle cx="20" cy="20" r="5" fill="white"/>',
        '<path d="M10 10h10v10h-10v-10"/>',  # back at its start: closed, though nothing says so
    ],
)
def test_sound_drawings_have_nothing_to_repair(body: str) -> None:
    """Holes, lines, dots, fills with their own stroke, and white on black are no faults."""
    assert read(body + DOT).notes == ()


def test_a_dot_of_a_round_cap_is_drawn() -> None:
    """SVG 2, 13.5.4: a subpath of no length with round caps paints a disc."""
    dot = '<path d="M50 50h0" fill="none" stroke="black" stroke-width="4" stroke-linecap="round"/>'
    assert flatten(read(dot).outlines, 0.0005).ink.polygons.area == pytest.approx(np.pi * 4, rel=1e-3)


@settings(deadline=None, max_examples=40)
@given(st.lists(st.tuples(st.integers(0, 100), st.integers(0, 100)), min_size=3, max_size=9), st.booleans())
def test_whatever_crosses_comes_out_simple_and_evenly_turned(
    points: list[tuple[int, int]], is_even_odd: bool
) -> None:
    """Any polygon becomes loops that are simple: anticlockwise round ink, clockwise round holes.

    The area is that of GEOS by its own route: lines noded, faces made, each judged by its winding.
    """
    rule = "evenodd" if is_even_odd else "nonzero"
    data = " ".join(f"{x},{y}" for x, y in points)
    corner = '<rect x="-9" y="-9" width="9.1" height="9.1"/>'
    document = read(f'<polygon points="{data}" fill-rule="{rule}"/>{corner}')
    rings = [shapely.LinearRing(ring) for ring in flat_rings(document.outlines.loops, 0.002)]
    assert all(ring.is_simple for ring in rings)
    signed = sum(abs(shapely.Polygon(ring).area) * (1 if ring.is_ccw else -1) for ring in rings)
    assert signed == pytest.approx(flatten(document.outlines).ink.polygons.area, abs=1e-6)
    assert signed == pytest.approx(_filled_mm2(points, is_even_odd), abs=0.05)


def _filled_mm2(points: list[tuple[int, int]], is_even_odd: bool) -> float:
    """Area of a polygon by a rule, with the corner square that every drawing here has."""
    ring = np.array(points, float)
    noded = shapely.union_all(shapely.linestrings(np.stack([ring, np.roll(ring, -1, axis=0)], axis=1)))
    shape = shapely.box(0, 0, 0.1, 0.1)
    for face in shapely.get_parts(shapely.polygonize(list(shapely.get_parts(noded)))):
        seat = np.array(face.representative_point().coords[0])
        steps = np.diff(np.arctan2(*(np.vstack([ring, ring[:1]]) - seat).T[::-1]))
        turns = round(float(((steps + np.pi) % (2 * np.pi) - np.pi).sum()) / (2 * np.pi))
        if turns % 2 if is_even_odd else turns:
            shape = shape.union(face)
    return float(shape.area)


@pytest.mark.parametrize(
    ("body", "code", "at_mm"),
    [
        ('<path d="M10 10H30V20L5"/>', "svg-path-broken", (30, 80)),
        ('<text x="40" y="30" font-family="Harbour Script">Quay</text>', "svg-text-left-out", (40, 70)),
    ],
)
def test_what_is_left_out_has_its_place(body: str, code: str, at_mm: tuple[float, float]) -> None:
    """Where the path's last good segment ends, and where the text begins, y up on a page of 100 mm."""
    note = next(note for note in read(body + DOT).notes if note.code == code)
    assert note.at_mm == pytest.approx(at_mm)
    assert "near x" in note.message
