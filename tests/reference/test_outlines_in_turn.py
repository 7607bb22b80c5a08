"""art.svg's outlines are closed, simple and apart; round ink anticlockwise (y up), round holes clockwise.

Source: the files are read by fontTools' reader of path data and judged by shapely, general libraries that
share no code with what wrote them. Which way round is our own choice, as art_file.py states it.
"""

import itertools
import re

import cv2
import numpy as np
import pytest
import shapely
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.svgLib.path import parse_path
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon

from workers.geometry.flattening import flatten, flatten_keeping_curves
from workers.intake.svg_document import read_svg
from workers.touch_up.apply import apply_to_artwork
from workers.tracing.art_file import write_art, write_region_art
from workers.tracing.edge_tracer import trace_with_record
from workers.tracing.redrawn import redrawn
from workers.values.image import InkCoverage
from workers.values.progress import silent
from workers.values.region import Artwork
from workers.values.touch_up import Draw, Erase, Invert, Mirror, Patch, Stroke, Thicken, Turn

SEEDS = st.integers(0, 10**6)
SIDE_MM = 60.0
ROUNDED_MM2 = 1e-4  # where two touch, places of 0.0001 mm may let them cross by so much


def contours(art: bytes) -> list[NDArray[np.float64]]:
    """Each closed contour of the file as points, y up, curves as 64 chords; fails on one left open."""
    found: list[list[tuple[float, float]]] = []
    for data in re.findall(rb' d="([^"]*)"', art):
        pen = DecomposingRecordingPen({})
        parse_path(data.decode(), pen)
        closings = [name for name, _ in pen.value if name in ("moveTo", "closePath", "endPath")]
        assert closings == ["moveTo", "closePath"] * (len(closings) // 2)
        for name, points in pen.value:
            if name == "moveTo":
                found.append([points[0]])
            elif name == "lineTo":
                found[-1].append(points[0])
            elif name == "curveTo":
                found[-1] += _along(np.array([found[-1][-1], *points]))
    return [_without_repeats(np.array(points) * [1, -1]) for points in found]


def _along(controls: NDArray[np.float64]) -> list[tuple[float, float]]:
    t = np.linspace(0, 1, 65)[1:, None]
    weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
    return [tuple(point) for point in sum(w * c for w, c in zip(weights, controls, strict=True))]


def _without_repeats(points: NDArray[np.float64]) -> NDArray[np.float64]:
    return points[(points != np.roll(points, 1, axis=0)).any(axis=1)]


def check(art: bytes, *, may_touch: bool = False) -> None:
    """Every contour is simple, crosses no other, and runs as its depth of nesting asks for."""
    rings = [shapely.LinearRing(points) for points in contours(art)]
    assert rings
    assert all(ring.is_simple for ring in rings)
    shapes = [shapely.Polygon(ring) for ring in rings]
    for one, other in itertools.combinations(range(len(rings)), 2):
        if rings[one].intersects(rings[other]):
            assert may_touch
            a, b = shapes[one], shapes[other]
            assert min(a.intersection(b).area, a.difference(b).area, b.difference(a).area) <= ROUNDED_MM2
    for shape, ring in zip(shapes, rings, strict=True):
        inner = shape.representative_point()
        depth = sum(other.contains(inner) and other.area > shape.area for other in shapes)
        assert ring.is_ccw == (depth % 2 == 0)


def random_svg(seed: int) -> bytes:
    """Polygons that cross themselves, circles and thick lines over each other, in black and white."""
    random = np.random.default_rng(seed)
    body = ""
    for _ in range(6):
        x, y = random.uniform(10, 50, 2)
        paint = random.choice(["black", "white"], p=[0.7, 0.3])
        points = " ".join(f"{a:.2f},{b:.2f}" for a, b in random.uniform(5, 55, (5, 2)))
        body += str(
            random.choice(
                [
                    f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{random.uniform(2, 9):.2f}" fill="{paint}"/>',
                    f'<polygon points="{points}" fill="{paint}"/>',
                    f'<polyline points="{points}" fill="none" stroke="{paint}" stroke-width="2"/>',
                ]
            )
        )
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">'
    return f'{head}<rect x="2" y="2" width="9" height="9"/>{body}</svg>'.encode()


@settings(deadline=None, max_examples=10)
@given(seed=SEEDS)
def test_traced_outlines(seed: int) -> None:
    """Soft random blobs, crisp and blurred."""
    noise = np.random.default_rng(seed).normal(size=(90, 90)).astype(np.float32)
    soft = cv2.GaussianBlur(noise, (0, 0), 3.0)
    pixels = np.clip(np.rint(127.5 + (100 + seed % 900) * soft / soft.std()), 0, 255).astype(np.uint8)
    outlines, _ = trace_with_record(InkCoverage(pixels=pixels, mm_per_px=0.1), 0.02)
    check(write_art(outlines))


@settings(deadline=None, max_examples=10)
@given(seed=SEEDS)
def test_outlines_of_an_svg(seed: int) -> None:
    """Whatever crosses in the file; two outlines may meet in a point."""
    check(write_art(read_svg(random_svg(seed), "/image").outlines), may_touch=True)


@pytest.mark.parametrize("name", ["erase", "draw", "mirror", "turn", "invert", "thicken"])
@settings(deadline=None, max_examples=3)
@given(seed=SEEDS)
def test_outlines_after_touch_up(name: str, seed: int) -> None:
    """Each kind of step, curves kept or fitted anew."""
    patch = Patch(polygon_mm=((5, -5), (48, -11), (30, -50)))
    steps = {
        "erase": Erase(area=patch),
        "draw": Draw(area=Stroke(line_mm=((4, -4), (50, -45)), width_mm=3)),
        "mirror": Mirror(is_left_right=True),
        "turn": Turn(turn_deg=30),
        "invert": Invert(),
        "thicken": Thicken(by_mm=0.3, within=None),
    }
    drawing = flatten_keeping_curves(read_svg(random_svg(seed), "/image").outlines, 0.005)
    touched = apply_to_artwork(drawing, [steps[name]], silent).drawing
    check(write_art(redrawn(touched, 0.02).outlines), may_touch=True)


def test_a_polygon_that_runs_the_wrong_way_is_turned() -> None:
    """Shapely promises no sense; the file does."""
    ring = shapely.box(10, 10, 20, 20, ccw=False)
    ink = MultiPolygon([shapely.Polygon(ring.exterior, [shapely.box(12, 12, 14, 14).exterior])])
    artwork = flatten(read_svg(random_svg(1), "/image").outlines)
    region = type(artwork.ink)(ink)
    check(write_region_art(Artwork(ink=region, width_mm=SIDE_MM, height_mm=SIDE_MM)))
