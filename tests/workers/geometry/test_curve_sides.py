"""Sides of polygons are told by the curves that they lie on, whatever was done to the polygons."""

import numpy as np
import pytest
import shapely
from shapely.geometry import MultiPolygon

from workers.geometry.curve_sides import NO_PIECE, curve_sides, shares_of
from workers.geometry.flattening import flatten_keeping_curves
from workers.values.curved_artwork import CurvedArtwork
from workers.values.outlines import Outlines
from workers.values.region import Artwork, Region

KAPPA = 0.5522847498  # handles of a quarter circle, times its radius (common practice)


def disc(x: float, y: float, radius: float) -> np.ndarray:
    """A circle of four pieces, anticlockwise from its right."""
    quarter = np.array([[1, 0], [1, KAPPA], [KAPPA, 1], [0, 1]])
    turns = [np.array([[c, s], [-s, c]]) for c, s in ((1, 0), (0, 1), (-1, 0), (0, -1))]
    return np.array([quarter @ turn * radius + [x, y] for turn in turns])


def drawing(*loops: np.ndarray) -> CurvedArtwork:
    """Loops on a sheet of 40 x 40 mm."""
    return flatten_keeping_curves(Outlines(loops=loops, width_mm=40, height_mm=40), 0.005)


def with_ink(before: CurvedArtwork, ink: shapely.Geometry) -> CurvedArtwork:
    """The same curves over other polygons."""
    parts = MultiPolygon(list(shapely.get_parts(ink)))
    artwork = Artwork(ink=Region(parts), width_mm=40, height_mm=40)
    return CurvedArtwork(artwork=artwork, pieces=before.pieces, steps=before.steps)


def test_untouched_pieces_are_whole() -> None:
    """All four quarters of a ring's two circles, the inner one run backwards."""
    sides = curve_sides(drawing(disc(20, 20, 10), disc(20, 20, 5)))
    assert shares_of(sides, 8) == pytest.approx(np.ones(8))
    is_inner = sides.pieces >= 4
    assert (np.diff(sides.params[~is_inner], axis=1) > 0).all()
    assert (np.diff(sides.params[is_inner], axis=1) < 0).all()


def test_a_cut_leaves_parts_of_chords() -> None:
    """A knife from left to right at half the radius, 30 degrees up: a third of two quarters goes."""
    round_ = drawing(disc(20, 20, 10))
    sides = curve_sides(with_ink(round_, round_.artwork.ink.polygons & shapely.box(0, 0, 40, 25)))
    shares = shares_of(sides, 4)
    assert shares[[2, 3]] == pytest.approx([1, 1])
    assert 0 < shares[0] == pytest.approx(shares[1], abs=1e-6)
    # the parameter at which a quarter's sine is a half, by bisection
    quarter = np.array([0, KAPPA, 1, 1])
    low, high = 0.0, 1.0
    for _ in range(50):
        t = (low + high) / 2
        sine = quarter @ [(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3]
        low, high = (t, high) if sine < 0.5 else (low, t)
    assert shares[0] == pytest.approx(low, abs=0.005)
    assert (sides.pieces == NO_PIECE).sum() == 1


def test_places_elsewhere_lie_on_no_piece() -> None:
    """A ring a micrometre larger is another one."""
    round_ = drawing(disc(20, 20, 10))
    grown = shapely.transform(round_.artwork.ink.polygons, lambda xy: 20 + (xy - 20) * 1.0001)
    assert (curve_sides(with_ink(round_, grown)).pieces == NO_PIECE).all()


def test_of_curves_on_each_other_the_first_counts() -> None:
    """The same circle twice: its sides are those of the first."""
    twice = drawing(disc(20, 20, 10), disc(20, 20, 10))
    once = drawing(disc(20, 20, 10)).artwork.ink.polygons
    assert set(curve_sides(with_ink(twice, once)).pieces) == {0, 1, 2, 3}


def test_blank_drawings_have_no_sides() -> None:
    """Nor do they fail."""
    sides = curve_sides(drawing())
    assert len(sides.ends) == 0
    assert list(sides.starts) == [0]
