"""Low ways from cut to cut: only where nothing can be met (trade.md P-10, P-11)."""

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Polygon, box

from tests.support.specimens import MACHINE, mill, vee
from workers.toolpaths.pace import LOW_MM
from workers.toolpaths.ways import with_low_ways
from workers.values.cutter import Cutter
from workers.values.cutting_plan import CutPath, Operation, OperationKind
from workers.values.keep_out import KeepOut

FACE = box(0, 0, 200, 100)
CLAMP = KeepOut(left_mm=40, bottom_mm=60, right_mm=60, top_mm=100, height_mm=20)


def heights(
    *places_mm: tuple[float, float],
    kind: OperationKind = OperationKind.INCISE,
    cutter: Cutter | None = None,
    face: Polygon = FACE,
    keep_outs: tuple[KeepOut, ...] = (),
    clearance_mm: float = 5.0,
) -> list[float | None]:
    """The heights of the ways to plunges at these places; None is the plan's clearance."""
    paths = tuple(CutPath(np.array([[x, y, -1.0]]), np.array([300.0])) for x, y in places_mm)
    operation = Operation(kind=kind, cutter=cutter or vee(90, diameter_mm=6), spindle_rpm=18000, paths=paths)
    machine = replace(MACHINE, clearance_mm=clearance_mm)
    return [path.traverse_mm for path in with_low_ways(operation, face, keep_outs, machine).paths]


def test_the_first_way_is_high_and_neighbours_are_reached_low() -> None:
    """The bit comes from home over the bed, and hops from cut to cut over the face."""
    assert heights((10, 10), (30, 10), (50, 20)) == [None, LOW_MM, LOW_MM]


def test_a_long_way_is_high() -> None:
    """A board may be crowned."""
    assert heights((10, 10), (80, 10), (190, 10)) == [None, LOW_MM, None]


def test_a_way_off_the_face_is_high() -> None:
    """Across the bay of an outline, or to a place beside the board."""
    bay = FACE.difference(box(20, 5, 30, 100))

    assert heights((10, 50), (40, 50), face=bay) == [None, None]
    assert heights((10, 50), (-10, 50)) == [None, None]


@pytest.mark.parametrize(("y_mm", "expected"), [(51.0, LOW_MM), (53.0, None), (80.0, None)])
def test_a_way_keeps_clear_of_clamps(y_mm: float, expected: float | None) -> None:
    """P-11: 5 mm beside the bit's edge; a bit of 6 mm passes 8 mm below the clamp at y 60."""
    assert heights((20, y_mm), (80, y_mm), keep_outs=(CLAMP,)) == [None, expected]


@pytest.mark.parametrize(("y_mm", "expected"), [(47.0, LOW_MM), (49.0, None)])
def test_a_way_keeps_the_nut_clear_of_a_high_clamp(y_mm: float, expected: float | None) -> None:
    """A nut 24 mm thick and 20 mm over the tip passes 12 mm beside a clamp 30 mm high, from y 60 on."""
    high = replace(CLAMP, height_mm=30)
    bit = mill(3.0, length_mm=10)

    assert heights((20, y_mm), (80, y_mm), cutter=bit, keep_outs=(high,)) == [None, expected]


def test_the_cutout_is_always_left_high() -> None:
    """What is cut loose may rise."""
    assert heights((10, 10), (20, 10), kind=OperationKind.CUTOUT, cutter=mill()) == [None, None]


def test_a_machine_that_crosses_low_anyway_needs_no_word() -> None:
    """Its clearance is no higher."""
    assert heights((10, 10), (20, 10), clearance_mm=LOW_MM) == [None, None]
