"""Drawings of the tests, planned, written and proven whole: nothing missed, nothing spoilt.

Source of the drawings: tests/support/drawings/README.md. The bars are this project's own: overcut at most
0.02 mm sideways (a 60 degree bit makes 0.035 mm in depth of that), undercut below 0.05 mm for all but one
cell in a thousand, no rapid in stock. ``python -m tests.benchmarks.path_scores`` has many more drawings.
"""

import pytest

from tests.benchmarks.path_scores import OWN, drawn, laid_out, scored

NAMES = sorted(path.name.removesuffix(".truth.json") for path in OWN.glob("*.truth.json"))


@pytest.mark.parametrize("name", NAMES)
def test_a_drawing_is_cut_whole_and_proven(name: str) -> None:
    """From the truth of a drawing to the proof of its programs, without arcs and with."""
    score = scored(name, laid_out(drawn(OWN / f"{name}.truth.json")))

    assert score.errors == ()
    assert score.sideways_mm <= 0.02
    assert score.undercut_mm <= 0.05
    assert score.missed_mm2 == 0
    assert score.air_mm <= score.nearest_mm
    assert score.at_feed_min <= 1.8 * score.floor.at_feed_min
    assert score.bytes_counts[1] < 0.8 * score.bytes_counts[0]
