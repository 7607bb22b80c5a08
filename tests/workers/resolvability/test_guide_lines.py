"""The middle of a thickened stroke keeps clear of tight gaps."""

import numpy as np
import pytest
from shapely.geometry import LineString, Point

from workers.resolvability.guide_lines import guide_lines
from workers.resolvability.room import Room
from workers.values.medial_axis import MedialAxis


def axis(*lines: list[tuple[float, float, float]]) -> MedialAxis:
    """Return an axis of separate lines of (x, y, radius)."""
    nodes, edges = [], []
    for line in lines:
        edges += [(len(nodes) + place, len(nodes) + place + 1) for place in range(len(line) - 1)]
        nodes += line
    return MedialAxis(
        nodes_mm=np.array(nodes, float).reshape(-1, 3),
        edges=np.array(edges, np.int32).reshape(-1, 2),
        lone_nodes=np.empty(0, np.int32),
    )


STROKE = [(0.0, 0.0, 0.2), (20.0, 0.0, 0.2)]


def middle(guide: object) -> LineString:
    """Return a guide as the line it is."""
    assert isinstance(guide, LineString)
    return guide


def test_with_room_the_stroke_keeps_its_middle_and_its_ends() -> None:
    """From 0.4 mm to 1 mm: the line ends 0.3 mm earlier, so the round end reaches as far as before."""
    (guide,) = guide_lines(axis(STROKE), axis(), Room(width_mm=1.0, gap_mm=0.6))

    assert middle(guide).bounds == pytest.approx((0.3, 0, 19.7, 0))


def test_beside_a_tight_gap_the_middle_moves_away() -> None:
    """A gap's middle 0.5 mm above, of which 0.3 stay free: 0.2 mm of room there, so 0.8 below."""
    gap = [(-5.0, 0.5, 0.3), (25.0, 0.5, 0.3)]

    (guide,) = guide_lines(axis(STROKE), axis(gap), Room(width_mm=1.0, gap_mm=0.6))

    assert middle(guide).bounds[1::2] == pytest.approx((-0.3, -0.3), abs=1e-3)


def test_between_two_tight_gaps_it_stays_in_their_middle() -> None:
    """Room of 0.2 mm above and 0.4 below: the middle of what there is lies 0.1 below."""
    above = [(-5.0, 0.5, 0.3), (25.0, 0.5, 0.3)]
    below = [(-5.0, -0.7, 0.3), (25.0, -0.7, 0.3)]

    (guide,) = guide_lines(axis(STROKE), axis(above, below), Room(width_mm=1.0, gap_mm=0.6))

    assert middle(guide).bounds[1::2] == pytest.approx((-0.1, -0.1), abs=1e-3)


def test_a_gap_far_off_does_not_matter() -> None:
    """Room on both sides leaves the line where it was."""
    far = [(-5.0, 3.0, 2.0), (25.0, 3.0, 2.0)]

    (guide,) = guide_lines(axis(STROKE), axis(far), Room(width_mm=1.0, gap_mm=0.6))

    assert middle(guide).bounds[1::2] == pytest.approx((0, 0))


def test_a_stroke_too_short_to_trim_is_thickened_about_its_middle() -> None:
    """Shorter than twice what its ends give up, it becomes a dot."""
    (guide,) = guide_lines(axis([(0, 0, 0.2), (0.4, 0, 0.2)]), axis(), Room(width_mm=1.0, gap_mm=0.6))

    assert isinstance(guide, Point)
    assert (guide.x, guide.y) == pytest.approx((0.2, 0))
