"""Which pieces cross: told as general geometry (shapely) tells it of the same curves."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from workers.tracing.crossings import crossing_pieces

Piece = NDArray[np.float64]


def line(a: tuple[float, float], b: tuple[float, float]) -> Piece:
    start, end = np.array(a, float), np.array(b, float)
    return np.stack([start, (2 * start + end) / 3, (start + 2 * end) / 3, end])


def crossed(*loops: list[Piece]) -> list[bool]:
    starts = np.cumsum([0, *(len(loop) for loop in loops)]).astype(np.int32)
    return crossing_pieces(np.array([piece for loop in loops for piece in loop]), starts).tolist()


def ring(*corners: tuple[float, float]) -> list[Piece]:
    return [line(a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)]


def along(piece: Piece, steps: int) -> NDArray[np.float64]:
    t = np.linspace(0, 1, steps + 1)[:, None]
    s = 1 - t
    points: NDArray[np.float64] = (
        s**3 * piece[0] + 3 * s * s * t * piece[1] + 3 * s * t * t * piece[2] + t**3 * piece[3]
    )
    return points


def test_a_figure_of_eight_crosses_itself_in_two_sides() -> None:
    """The two that cross are marked, the two that join them are not."""
    assert crossed(ring((0, 0), (50, 40), (50, 0), (0, 40))) == [True, False, True, False]


def test_loops_in_each_other_do_not_cross_until_one_reaches_over() -> None:
    """Squares with 0.1 px between them, then one that overlaps by as much."""
    inner = ring((10, 10), (90, 10), (90, 90), (10, 90))
    assert not any(crossed(ring((9.9, 9.9), (90.1, 9.9), (90.1, 90.1), (9.9, 90.1)), inner))
    assert any(crossed(ring((10.1, 9.9), (90.1, 9.9), (90.1, 90.1), (10.1, 90.1)), inner))


def test_a_piece_that_loops_crosses_itself() -> None:
    """Handles that cross make a loop; the same with handles set short does not."""
    looped = np.array([[0, 0], [60, 40], [-30, 40], [30, 0]], float)
    plain = np.array([[0, 0], [5, 20], [25, 20], [30, 0]], float)
    back = [line((30, 0), (15, -20)), line((15, -20), (0, 0))]
    assert crossed([looped, *back])[0]
    assert not any(crossed([plain, *back]))


def test_pieces_that_double_back_on_each_other_cross() -> None:
    """A line there and back encloses nothing."""
    assert all(crossed([line((0, 0), (30, 7)), line((30, 7), (0, 0))]))


def test_long_pieces_meet_far_from_their_ends() -> None:
    """Across many cells of the grid."""
    assert any(crossed(ring((0, 0), (1000, 3), (1000, 900)), ring((500, -5), (510, 700), (490, 700))))
    assert not any(crossed(ring((0, 0), (1000, 3), (1000, 900)), ring((500, 500), (510, 700), (490, 700))))


places = st.tuples(st.floats(0, 60), st.floats(0, 60))


@settings(deadline=None, max_examples=200)
@given(one=st.lists(places, min_size=4, max_size=4), other=st.lists(places, min_size=4, max_size=4))
def test_arches_that_shapely_sees_cross_are_marked(
    one: list[tuple[float, float]], other: list[tuple[float, float]]
) -> None:
    """Each is closed by the line between its ends; crossings within 0.1 px of an end are left out."""
    arches = [np.array(one), np.array(other)]
    lines = [shapely.LineString(along(arch, 400)) for arch in arches]
    shared = lines[0].intersection(lines[1])
    ends = shapely.MultiPoint([one[0], one[3], other[0], other[3]])
    assume(lines[0].crosses(lines[1]) and shared.distance(ends) > 0.1)
    found = crossed(*([arch, line(tuple(arch[3]), tuple(arch[0]))] for arch in arches))
    assert found[0]
    assert found[2]


@settings(deadline=None, max_examples=200)
@given(one=st.lists(places, min_size=4, max_size=4), other=st.lists(places, min_size=4, max_size=4))
def test_loops_that_shapely_sees_apart_are_not_marked_together(
    one: list[tuple[float, float]], other: list[tuple[float, float]]
) -> None:
    """What each loop is by itself it is beside another from which it keeps 0.1 px."""
    loops = [[arch, line(tuple(arch[3]), tuple(arch[0]))] for arch in (np.array(one), np.array(other))]
    whole = [shapely.MultiLineString([along(piece, 400) for piece in loop]) for loop in loops]
    assume(whole[0].distance(whole[1]) > 0.1)
    assert crossed(*loops) == crossed(loops[0]) + crossed(loops[1])
