"""Slots with a head under wood, cut in simulation: volumes, depths and lips by closed forms.

Source: the slot of a head of radius R and height h on a neck of radius r, run at depth D over a length L from
an entry of the head's own size, is (pi R^2 + 2 R L) h of head, and over it (D - h) times the union of the
entry's disc and the neck's way: pi R^2 + 2 r L - r sqrt(R^2 - r^2) - R^2 asin(r / R) + pi r^2 / 2 (plane
trigonometry: a strip's area beyond a circle). 1 in = 25.4 mm exactly.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.support.specimens import MACHINE, keyhole, mill, motions
from workers.dialects.inch_lines import INCH_LINES
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.rs274_writer import Rs274Dialect
from workers.interpretation.interpreter import read_program
from workers.simulation.undercut import Effects, UndercutStock
from workers.values.cutter import Cutter, KeyholeCutter
from workers.values.cutting_plan import CutPath, CuttingPlan, Operation, OperationKind
from workers.values.design import Board
from workers.values.program import Motion, Trace

BOX = (0.0, 0.0, 40.0, 40.0)
DEPTH_MM, LENGTH_MM = 9.525, 14.0
ENTRY, END = (20.0, 12.0), (20.0, 12.0 + LENGTH_MM)


def cut(
    trace: Trace, cutter: Cutter | None = None, cell_mm: float = 0.05, stock: UndercutStock | None = None
) -> tuple[UndercutStock, Effects]:
    """A back after a bit went along a trace, and what each motion did."""
    stock = stock or UndercutStock(*BOX, cell_mm)
    watched = trace.motions == Motion.TRAVERSE
    effects = stock.cut(
        trace, cutter or keyhole(), watched, [], lambda: np.zeros_like(stock.deepest_mm, np.bool_)
    )
    return stock, effects


def slot(*depths_mm: float) -> Trace:
    """Down at the entry, along, back and up."""
    ways = []
    for depth_mm in depths_mm or (DEPTH_MM,):
        ways += [(*ENTRY, 1), (*ENTRY, -depth_mm), (*END, -depth_mm), (*ENTRY, -depth_mm), (*ENTRY, 1)]
    return motions(*ways)


def slot_mm3(cutter: KeyholeCutter, depth_mm: float, length_mm: float) -> float:
    """The closed form."""
    head, neck, high = cutter.diameter_mm / 2, cutter.neck_mm / 2, cutter.head_mm
    strip = 2 * neck * length_mm - neck * math.sqrt(head**2 - neck**2) - head**2 * math.asin(neck / head)
    open_mm2 = math.pi * head**2 + strip + math.pi * neck**2 / 2
    return (math.pi * head**2 + 2 * head * length_mm) * high + open_mm2 * (depth_mm - high)


def at(stock: UndercutStock, values: np.ndarray, x_mm: float, y_mm: float) -> float:
    """A map's value at a place."""
    return float(values[int(y_mm / stock.cell_mm), int(x_mm / stock.cell_mm)])


@pytest.mark.parametrize("dialect", [METRIC_LINES, INCH_LINES], ids=lambda dialect: dialect.name)
@pytest.mark.parametrize(("depth_mm", "length_mm"), [(9.525, 14.0), (8.0, 20.0), (12.0, 9.0)])
def test_a_slots_volume_is_the_closed_form(dialect: Rs274Dialect, depth_mm: float, length_mm: float) -> None:
    """Within 0.5 %, through a program's text in mm and in inches."""
    points_mm = np.array(
        [(20.0, 10.0, -depth_mm), (20.0, 10.0 + length_mm, -depth_mm), (20.0, 10.0, -depth_mm)]
    )
    path = CutPath(points_mm, np.array([300.0, 600.0, 600.0]))
    operation = Operation(kind=OperationKind.BACK, cutter=keyhole(), spindle_rpm=18000, paths=(path,))
    board = Board(width_mm=40, height_mm=40, thickness_mm=19, material="basswood")
    plan = CuttingPlan(board=board, clearance_mm=5, spin_up_s=1, operations=(operation,))
    text = "\n".join(dialect.write(operation, plan, MACHINE))

    stock, effects = cut(read_program(text, "slot"))

    assert stock.volume_mm3() == pytest.approx(slot_mm3(keyhole(), depth_mm, length_mm), rel=0.005)
    assert effects.lifted_mm.max() == effects.removed_mm.max() == 0


def test_entry_slot_and_lip_are_where_they_belong() -> None:
    """Open to the bottom at the entry and over the neck; in the rest of the head's way 4.7625 mm of lip."""
    stock, _ = cut(slot())
    opened_mm, cover_mm = stock.opened_mm(), stock.cover_mm()

    for x_mm, y_mm in ((20, 12), (16, 12), (20, 24), (22, 24)):
        assert at(stock, opened_mm, x_mm, y_mm) == pytest.approx(9.525, abs=1e-5)
        assert at(stock, cover_mm, x_mm, y_mm) == 0
    for x_mm, y_mm in ((16, 24), (24, 24), (20, 30)):
        assert at(stock, opened_mm, x_mm, y_mm) == 0
        assert at(stock, stock.deepest_mm, x_mm, y_mm) == pytest.approx(9.525, abs=1e-5)
        assert at(stock, cover_mm, x_mm, y_mm) == pytest.approx(4.7625, abs=1e-5)
    assert at(stock, stock.deepest_mm, 14, 24) == 0


def test_lifted_anywhere_but_at_the_entry_the_head_breaks_the_lip() -> None:
    """At the end of the slot and half a millimetre from the entry by all of it; at the entry not at all."""
    for end, lifted_mm in ((END, 4.7625), ((20.0, 12.5), 4.7625), (ENTRY, 0.0)):
        trace = motions((*ENTRY, 1), (*ENTRY, -DEPTH_MM), (*END, -DEPTH_MM), (*end, -DEPTH_MM), (*end, 1))
        _, effects = cut(trace, cell_mm=0.1)

        assert effects.lifted_mm[:-1].max() == 0
        assert effects.lifted_mm[-1] == pytest.approx(lifted_mm, abs=1e-4)


def test_a_slope_upwards_under_wood_is_a_lift_and_one_downwards_is_none() -> None:
    """From 9 to 8 mm deep along the slot, and from 8 to 9 mm."""
    for first_mm, last_mm, lifts in ((9.0, 8.0, True), (8.0, 9.0, False)):
        trace = motions((*ENTRY, 1), (*ENTRY, -first_mm), (*END, -last_mm))
        stock, effects = cut(trace, cell_mm=0.1)

        assert bool(effects.lifted_mm[-1] > 0.5) is lifts
        assert at(stock, stock.cover_mm(), 20 + 4, 24) == pytest.approx(
            min(
                np.interp(24 + np.array([-1, 1]) * math.sqrt(4.7625**2 - 4**2), [12, 26], [first_mm, last_mm])
            )
            - 4.7625,
            abs=0.01,
        )


def test_a_head_that_stands_out_of_the_face_is_a_flat_end() -> None:
    """3 mm deep, less than its height: nothing is under wood, and it may be lifted anywhere."""
    trace = motions((*ENTRY, 1), (*ENTRY, -3), (*END, -3), (*END, 1))
    stock, effects = cut(trace)

    assert effects.lifted_mm.max() == 0
    assert stock.cover_mm().max() == 0
    assert stock.volume_mm3() == pytest.approx(3 * (math.pi * 4.7625**2 + 9.525 * LENGTH_MM), rel=0.005)


def test_two_depths_of_a_slot_are_one_hollow() -> None:
    """At 6 and at 9 mm: from the upper edge of the higher to the bottom of the lower."""
    stock, _ = cut(slot(9.0, 6.0), cell_mm=0.1)

    assert at(stock, stock.cover_mm(), 24, 24) == pytest.approx(6 - 4.7625, abs=1e-5)
    assert at(stock, stock.deepest_mm, 24, 24) == pytest.approx(9, abs=1e-5)


def test_another_bit_opens_what_it_cuts() -> None:
    """A pocket of 2 mm over the slot makes its lip so much thinner."""
    stock, _ = cut(slot(), cell_mm=0.1)
    pocket = motions((10, 24, 1), (10, 24, -2), (30, 24, -2), (30, 24, 1))
    cut(pocket, mill(6.0), stock=stock)

    assert at(stock, stock.opened_mm(), 24, 24) == pytest.approx(2, abs=1e-5)
    assert at(stock, stock.cover_mm(), 24, 24) == pytest.approx(4.7625 - 2, abs=1e-5)
    assert at(stock, stock.opened_mm(), 20, 24) == pytest.approx(9.525, abs=1e-5)


def test_a_traverse_that_drags_the_head_along_is_watched() -> None:
    """Back along the slot it takes nothing off; on beyond its end all that the head is high and deep."""
    along = slot()
    beyond = motions((*END, -DEPTH_MM), (20, 36, -DEPTH_MM), feed_mm_per_min=0.0)
    back = replace(along, motions=np.array([1, 1, 1, 0, 0], np.uint8))

    assert cut(back, cell_mm=0.1)[1].removed_mm.max() == 0
    assert cut(beyond, cell_mm=0.1)[1].removed_mm.max() == pytest.approx(DEPTH_MM, abs=1e-5)
