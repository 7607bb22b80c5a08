"""The minutes of the advice against those of the programs that are written for it.

The estimate knows lengths, bends and lifts; the program's minutes come from the motion planner, which the
proof uses and which tests/reference/test_motion_time.py holds against kinematics.
"""

import pytest

from tests.benchmarks.minutes_estimated import pairs


@pytest.mark.parametrize("name", ["anchor", "rope_locker"])
def test_an_estimate_is_off_by_no_more_than_half(name: str) -> None:
    """Two bits each; what the docstring of workers/resolvability/minutes.py claims as the worst."""
    for _, bit, _, estimate, minutes in pairs([name], [("vee-90", 2.5), ("vee-60", 1.2)]):
        assert estimate == pytest.approx(minutes, rel=0.5), bit


def test_estimates_put_choices_in_the_right_order() -> None:
    """A limit that leaves floors to go round takes longer than one that leaves none, by both."""
    deep, shallow = pairs(["rope_locker"], [("vee-60", 2.5), ("vee-60", 1.2)])

    assert deep[3] < shallow[3]
    assert deep[4] < shallow[4]
