"""Curves as polygons: how near, and what is inside."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from workers.geometry.filling import filled
from workers.geometry.flattening import flat_rings, flatten
from workers.values.outlines import Outlines

KAPPA = 0.552284749831  # of a quarter circle; I-21


def circle(x: float, y: float, radius: float, way: int = 1) -> np.ndarray:
    """Four cubic quarters."""
    pieces = []
    for quarter in range(4):
        a = quarter * math.pi / 2 * way
        cos, sin = math.cos(a), math.sin(a)
        turn = np.array([[cos, sin], [-sin, cos]])
        piece = np.array([[1, 0], [1, KAPPA * way], [KAPPA, way], [0, way]])
        pieces.append(piece @ turn * radius + [x, y])
    return np.array(pieces)


def outlines(*loops: np.ndarray) -> Outlines:
    return Outlines(loops=loops, width_mm=100, height_mm=100)


@pytest.mark.parametrize("tolerance_mm", [0.1, 0.01, 0.001])
def test_chords_stay_within_the_tolerance(tolerance_mm: float) -> None:
    """I-21 and the sagitta: between radius - tolerance and radius + 0.000272530 radius."""
    ring = flat_rings((circle(50, 50, 20),), tolerance_mm)[0]
    middles = (ring + np.roll(ring, -1, axis=0)) / 2
    for points in (ring, middles):
        radii = np.hypot(*(points - 50).T)
        assert radii.min() >= 20 - tolerance_mm
        assert radii.max() <= 20 * (1 + 0.000272531)


def test_no_more_points_than_a_circle_needs() -> None:
    """A polygon of n sides leaves a circle by radius (1 - cos(pi / n)); ours at most half as many more."""
    ring = flat_rings((circle(50, 50, 20),), 0.005)[0]
    needed = math.pi / math.acos(1 - 0.005 / 20)
    assert len(ring) <= 1.5 * needed


def test_straight_pieces_stay_single() -> None:
    """Evenly or unevenly run, a straight piece is one side."""
    a, b = np.array([0.0, 0.0]), np.array([30.0, 40.0])
    pieces = np.array(
        [
            [a, a + (b - a) * 0.1, a + (b - a) * 0.2, b],
            [b, [20, 40], [10, 40], [0, 40]],
            [[0, 40], [0, 30], [0, 10], a],
        ]
    )
    assert len(flat_rings((pieces,), 0.001)[0]) == 3


@pytest.mark.parametrize("way", [1, -1])
def test_holes_and_islands(way: int) -> None:
    """Even-odd, whichever way the loops run: area by the closed form."""
    artwork = flatten(outlines(circle(50, 50, 40), circle(50, 50, 30, way), circle(50, 50, 10, -way)), 0.0005)
    assert artwork.ink.polygons.area == pytest.approx(math.pi * (1600 - 900 + 100), rel=3e-4)
    assert sorted(len(part.interiors) for part in artwork.ink.polygons.geoms) == [0, 1]


def test_loops_that_cross_are_filled_even_odd() -> None:
    """Two circles that overlap: everything but the lens, which is gone round twice."""
    area = flatten(outlines(circle(40, 50, 20), circle(60, 50, 20)), 0.0005).ink.polygons.area
    lens = 2 * 400 * math.acos(0.5) - 10 * math.sqrt(4 * 400 - 400)
    assert area == pytest.approx(2 * math.pi * 400 - 2 * lens, rel=1e-3)


BOW_TIE = np.array([[0, 0], [10, 10], [10, 0], [0, 10]], float)
FIVE = np.array([[math.sin(k * 0.8 * math.pi), math.cos(k * 0.8 * math.pi)] for k in range(5)])  # a pentagram
GOLDEN = (1 + math.sqrt(5)) / 2  # the inner pentagon's corners lie at 1 / golden^2
PENTAGRAM_WHOLE = 5 * math.sin(math.radians(36)) / GOLDEN**2
PENTAGRAM_MIDDLE = 2.5 * math.sin(math.radians(72)) / GOLDEN**4


@pytest.mark.parametrize(
    ("rings", "is_even_odd", "expected"),
    [
        ([BOW_TIE], True, 50.0),
        ([BOW_TIE], False, 50.0),
        ([FIVE], False, PENTAGRAM_WHOLE),
        ([FIVE], True, PENTAGRAM_WHOLE - PENTAGRAM_MIDDLE),
        ([BOW_TIE, BOW_TIE], True, 0.0),
        ([BOW_TIE, BOW_TIE], False, 50.0),
        ([], True, 0.0),
        ([BOW_TIE[:2]], True, 0.0),
    ],
)
def test_rings_that_cross_themselves(rings: list, is_even_odd: bool, expected: float) -> None:
    """A bow tie, and a pentagram in the unit circle, by trigonometry."""
    assert filled(rings, is_even_odd).area == pytest.approx(expected, abs=1e-7)


@settings(deadline=None, max_examples=40)
@given(st.lists(st.tuples(st.integers(0, 20), st.integers(0, 20)), min_size=3, max_size=12))
def test_any_loop_gives_a_valid_area(corners: list[tuple[int, int]]) -> None:
    """However a loop crosses or touches itself; even-odd is checked by counting crossings of rays."""
    ring = np.array(corners, float)
    loop = np.stack([ring, ring, np.roll(ring, -1, axis=0), np.roll(ring, -1, axis=0)], axis=1)
    ink = flatten(outlines(loop)).ink.polygons
    assert ink.is_valid
    seats = np.stack(np.meshgrid(np.arange(0.37, 20, 1.93), np.arange(0.41, 20, 1.87)), -1).reshape(-1, 2)
    a, b = ring, np.roll(ring, -1, axis=0)
    crosses = (a[None, :, 1] > seats[:, None, 1]) != (b[None, :, 1] > seats[:, None, 1])
    with np.errstate(divide="ignore", invalid="ignore"):
        at = a[:, 0] + (seats[:, None, 1] - a[:, 1]) * (b - a)[:, 0] / (b - a)[:, 1]
    inside = (crosses & (at > seats[:, None, 0])).sum(axis=1) % 2 == 1
    clear = np.abs(at - seats[:, None, 0]).min(axis=1, where=crosses, initial=9) > 1e-6

    assert (shapely.contains_xy(ink, *seats.T) == inside)[clear].all()


def test_no_loops_are_no_ink() -> None:
    """An empty drawing stays one."""
    assert flatten(outlines()).ink.polygons.is_empty
