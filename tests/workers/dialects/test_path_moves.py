"""One path as lines: only what changes, nothing that rounding makes no move."""

from dataclasses import replace

import numpy as np

from tests.support.specimens import MACHINE, board, vee
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.path_moves import Heights, path_moves
from workers.dialects.word_format import INCHES, MILLIMETRES
from workers.values.cutting_plan import CutPath, CuttingPlan, Operation, OperationKind


def lines(points: list[tuple[float, float, float]], feeds: list[float]) -> list[str]:
    """A path as lines in millimetres, from a clearance of 5 mm."""
    return list(path_moves(CutPath(np.array(points), np.array(feeds)), MILLIMETRES, Heights(1.0, 5.0)))


def test_axes_that_stand_still_are_left_out_and_feeds_that_stay() -> None:
    """Over the start, down, along, up."""
    assert lines([(1, 2, -1), (4, 2, -1), (4, 5, -2), (4, 5, -3)], [300, 900, 900, 300]) == [
        "G0 X1.000 Y2.000",
        "G0 Z1.000",
        "G1 Z-1.000 F300.0",
        "G1 X4.000 F900.0",
        "G1 Y5.000 Z-2.000",
        "G1 Z-3.000 F300.0",
        "G0 Z5.000",
    ]


def test_a_plunge_alone_is_a_whole_path() -> None:
    """A round dot."""
    assert lines([(1, 2, -1)], [300]) == ["G0 X1.000 Y2.000", "G0 Z1.000", "G1 Z-1.000 F300.0", "G0 Z5.000"]


def test_moves_below_the_last_digit_are_dropped() -> None:
    """Neither a line without axes nor a feed change on nothing."""
    found = lines([(0, 0, -1), (0.0004, 0, -1), (0.0004, 0.0004, -1), (3, 0, -1)], [300, 900, 500, 900])

    assert found[2:-1] == ["G1 Z-1.000 F300.0", "G1 X3.000 F900.0"]


def test_small_steps_do_not_add_up_to_an_error() -> None:
    """A thousand steps of 0.3 um end where they should."""
    x_mm = np.linspace(0, 0.3, 1001)
    path = CutPath(np.column_stack([x_mm, 0 * x_mm, -1 + 0 * x_mm]), np.full(1001, 600.0))

    found = list(path_moves(path, MILLIMETRES, Heights(1.0, 5.0)))

    assert found[-2] == "G1 X0.300"
    assert len(found) == 300 + 4


def test_minus_zero_is_zero() -> None:
    """Also after rounding, in either unit."""
    path = CutPath(np.array([[-0.0001, -0.0, -0.00001], [5.0, -0.00004, -1]]), np.array([300.0, 300.0]))

    for words in (MILLIMETRES, INCHES):
        assert "-0.000" not in "\n".join(path_moves(path, words, Heights(1.0, 5.0))).replace("-0.0394", "")


def test_a_slow_feed_is_never_written_as_none() -> None:
    """F0 is an error to every controller (G-21)."""
    assert "F0.1" in lines([(0, 0, -1)], [0.0001])[2]


def test_a_low_way_is_left_and_reached_at_its_height() -> None:
    """The bit rises only as high as the way to the next path is, and to the plan's clearance at last."""
    one, other = (CutPath(np.array([[x, 0.0, -1.0]]), np.array([300.0])) for x in (1.0, 9.0))
    operation = Operation(
        kind=OperationKind.INCISE,
        cutter=vee(90),
        spindle_rpm=18000,
        paths=(one, replace(other, traverse_mm=2.0)),
    )
    plan = CuttingPlan(board=board(), clearance_mm=5, spin_up_s=3, operations=(operation,))
    moves = [line for line in METRIC_LINES.write(operation, plan, MACHINE) if line.startswith(("G0 ", "G1 "))]

    assert moves == [
        "G0 Z5.000",
        *("G0 X1.000 Y0.000", "G0 Z1.000", "G1 Z-1.000 F300.0", "G0 Z2.000"),
        *("G0 X9.000 Y0.000", "G0 Z1.000", "G1 Z-1.000 F300.0", "G0 Z5.000"),
        "G0 X0.000 Y0.000",
    ]
