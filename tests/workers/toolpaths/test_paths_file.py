"""paths.json: what is read is what was written; anything else is refused."""

import json
from typing import Any

import numpy as np
import pytest
from shapely.geometry import box

from tests.support.specimens import BASSWOOD, MACHINE, clearing, cutout, design, drilling, incise, region
from workers.errors import InputRejectedError
from workers.toolpaths.paths_file import read_paths, write_paths
from workers.toolpaths.plan import plan
from workers.values.cutting_plan import CuttingPlan
from workers.values.design import Hole


@pytest.fixture(scope="module")
def sign_plan() -> CuttingPlan:
    """A sign with a floor to clear, a hole and a cutout."""
    sign = design(region(box(20, 20, 80, 40)), holes=(Hole(x_mm=9, y_mm=9, diameter_mm=5),))
    return plan(sign, incise(), clearing(), cutout(), drilling(), BASSWOOD, MACHINE).plan


def test_a_plan_comes_back_exactly(sign_plan: CuttingPlan) -> None:
    """Board, bits, speeds, every point and every feed."""
    back = read_paths(write_paths(sign_plan), "/inputs/paths")

    assert back.board == sign_plan.board
    assert (back.clearance_mm, back.spin_up_s) == (sign_plan.clearance_mm, sign_plan.spin_up_s)
    for operation, same in zip(sign_plan.operations, back.operations, strict=True):
        assert (operation.kind, operation.cutter, operation.spindle_rpm) == (
            same.kind,
            same.cutter,
            same.spindle_rpm,
        )
        for path, again in zip(operation.paths, same.paths, strict=True):
            assert (path.points_mm == again.points_mm).all()
            assert (path.feeds_mm_per_min == again.feeds_mm_per_min).all()
            assert (path.arc_rows == again.arc_rows).all()
            assert path.traverse_mm == again.traverse_mm
            assert np.abs(path.arc_turns_rad - again.arc_turns_rad).max(initial=0) <= 0.5e-6
    assert sum(len(path.arc_rows) for work in back.operations for path in work.paths) >= 4


def test_writing_twice_gives_the_same_bytes(sign_plan: CuttingPlan) -> None:
    """Also after reading."""
    data = write_paths(read_paths(write_paths(sign_plan), "/inputs/paths"))

    assert data == write_paths(read_paths(data, "/inputs/paths"))
    assert np.frombuffer(data, np.uint8).max() < 128


def _damage(record: dict[str, Any], place: list[Any], value: Any) -> bytes:
    inner = record
    for key in place[:-1]:
        inner = inner[key]
    inner[place[-1]] = value
    return json.dumps(record).encode()


PATH = ["operations", 0, "paths", 0]


@pytest.mark.parametrize(
    ("place", "value"),
    [
        (["format"], "another"),
        (["unit_mm"], 1),
        (["clearance_mm"], -5),
        (["clearance_mm"], "five"),
        (["board", "width_mm"], 0),
        (["board", "material"], "x" * 101),
        (["operations"], {"kind": "clear"}),
        (["operations", 0, "kind"], "polish"),
        (["operations", 0, "cutter", "kind"], "laser"),
        (["operations", 0, "cutter", "diameter_mm"], None),
        (["operations", 0, "spindle_rpm"], 0),
        (["operations", 0, "paths"], []),
        ([*PATH, "points"], [1, 2]),
        ([*PATH, "points"], []),
        ([*PATH, "points"], [0.5, 0.5, 0.5]),
        ([*PATH, "points"], ["1", "2", "3"]),
        ([*PATH, "points"], [10**30, 0, 0]),
        ([*PATH, "points"], [10**9, 0, 0]),
        ([*PATH, "feeds"], [[10**15, 100]]),
        ([*PATH, "feeds"], [[-1, 100]]),
        ([*PATH, "feeds"], [[1, -100]]),
        ([*PATH, "feeds"], 7),
        ([*PATH, "arcs"], [[0, 10**6, 10**6]]),
        ([*PATH, "arcs"], [[-1, 2, 10**6]]),
        ([*PATH, "arcs"], [[0, 4, 10**6], [3, 5, 10**6]]),
        ([*PATH, "arcs"], [[0, 2, 4 * 10**6]]),
        ([*PATH, "arcs"], [[0, 2, 0]]),
        ([*PATH, "arcs"], [[0, 2]]),
        ([*PATH, "traverse_mm"], -1),
        ([*PATH, "arcs"], [[0, 2, 0.5]]),
    ],
)
def test_damaged_files_are_refused(sign_plan: CuttingPlan, place: list[Any], value: Any) -> None:
    """With the field that led to them, never by a crash or by filling memory."""
    data = _damage(json.loads(write_paths(sign_plan)), place, value)

    with pytest.raises(InputRejectedError, match="no cut paths") as refused:
        read_paths(data, "/inputs/paths")
    assert refused.value.field == "/inputs/paths"


@pytest.mark.parametrize(
    "data",
    [b"", b"\xff\xfe", b"[]", b"{}", b"null", b'{"format": NaN}', b"[" * 100_000, b'"triglyph-paths-1"'],
)
def test_what_is_no_plan_at_all_is_refused(data: bytes) -> None:
    """Anything may be sent."""
    with pytest.raises(InputRejectedError):
        read_paths(data, "/inputs/paths")
