"""Which parts of an axis a repair looks at."""

import numpy as np
import pytest

from workers.resolvability.thin_parts import part_along, without_dead_ends
from workers.values.examination import Judged, Verdict
from workers.values.medial_axis import MedialAxis

Line = list[tuple[float, float, float]]


def axis(line: Line, lone: Line | None = None) -> MedialAxis:
    """Return an axis of one line of (x, y, radius), and lone nodes."""
    return MedialAxis(
        nodes_mm=np.array(line + (lone or []), float),
        edges=np.array([(place, place + 1) for place in range(len(line) - 1)], np.int32).reshape(-1, 2),
        lone_nodes=np.arange(len(line), len(line) + len(lone or []), dtype=np.int32),
    )


def run(*places_mm: tuple[float, float], width_mm: float = 0.5) -> Judged:
    """Return a stretch of a stroke that was judged faint."""
    return Judged(
        verdict=Verdict.FAINT,
        width_mm=width_mm,
        narrowest_mm=width_mm,
        length_mm=1.0,
        at_mm=places_mm[0],
        line_mm=np.array(places_mm),
    )


def spans_mm(found: MedialAxis) -> tuple[float, float]:
    """Return from which x to which x an axis goes."""
    places_mm = found.nodes_mm[found.edges, 0]
    return float(places_mm.min()), float(places_mm.max())


def test_only_what_lies_in_a_run_and_is_narrow_counts() -> None:
    """A line 0.4 mm wide up to x 10 and widening to 2 mm at x 20: of a run to x 15 the part below 1 mm."""
    line = axis([(0, 0, 0.2), (5, 0, 0.2), (10, 0, 0.2), (20, 0, 1.0)])

    assert spans_mm(part_along(line, [run((5, 0), (10, 0), (20, 0))], 1.0)) == pytest.approx((5, 13.75))


def test_without_runs_there_is_no_part() -> None:
    """What an examination has no fault with is left alone, however narrow."""
    found = part_along(axis([(0, 0, 0.2), (5, 0, 0.2)], [(9, 9, 0.1)]), [], 1.0)

    assert len(found.edges) == len(found.lone_nodes) == 0


def test_a_dot_counts_with_all_that_lies_in_it() -> None:
    """A dot is one place of a run; the lone node there belongs to it, one elsewhere does not."""
    found = part_along(axis([(0, 0, 2), (5, 0, 2)], [(9, 9, 0.1), (20, 9, 0.1)]), [run((9, 9))], 1.0)

    assert found.nodes_mm[found.lone_nodes, 0].tolist() == [9]


def test_a_gap_that_runs_out_ends_where_it_is_wide_enough() -> None:
    """A wedge of paper from 0 to 2 mm wide over 10 mm: below 0.4 mm, the first 2 mm, it is given up."""
    wedge = axis([(0, 0, 0.0), (10, 0, 1.0)])

    assert spans_mm(without_dead_ends(wedge, 0.4, 5.0)) == pytest.approx((2, 10))


def test_no_more_of_a_gap_is_given_up_than_asked() -> None:
    """A slit stays a slit: of its narrow end only so much goes as is allowed."""
    slit = axis([(float(x), 0, 0.1) for x in range(11)] + [(20, 0, 3.0)])

    assert spans_mm(without_dead_ends(slit, 0.4, 3.0)) == pytest.approx((3, 20))


def test_a_gap_narrow_all_along_is_kept() -> None:
    """It has no wide part that it could end at."""
    slit = axis([(0, 0, 0.1), (10, 0, 0.1)])

    assert spans_mm(without_dead_ends(slit, 0.4, 50.0)) == (0, 10)
