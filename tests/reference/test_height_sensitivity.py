"""What 0.1 mm of height does to a stroke's width.

Source: geometry of a cone, dw = 2 tan(A/2) dz (trade's facts V-02: the width at depth z is t + 2 k z),
with k = tan(A/2) as the table of V-04 has it.
"""

from dataclasses import replace

import numpy as np
import pytest

from tests.support.specimens import BASSWOOD, incise, motions, vee
from workers.resolvability.sensitivity import sensitivity_of
from workers.simulation.removal import carve
from workers.values.examination import Verdict

WOOD = replace(BASSWOOD, shows_depth_mm=0.5)
K = [(30, 0.267949192), (45, 0.414213562), (60, 0.577350269), (90, 1.0), (120, 1.732050808)]


@pytest.mark.parametrize(("angle_deg", "k"), K)
def test_a_tenth_of_a_millimetre_changes_the_width_by_two_k_tenths(angle_deg: float, k: float) -> None:
    """0.05 mm at 30 degrees, 0.20 at 90, 0.35 at 120."""
    assert sensitivity_of(incise(angle_deg, 3, 0.2), WOOD).width_change_mm == pytest.approx(0.2 * k, abs=1e-9)


@pytest.mark.parametrize(("angle_deg", "k"), K)
def test_a_stroke_shows_on_low_stock_where_its_groove_is_as_much_deeper(angle_deg: float, k: float) -> None:
    """It must be t + 2 k (z + 0.1) wide; a hundredth less and it is faint, at t + 2 k 0.1 the tip touches."""
    error = sensitivity_of(incise(angle_deg, 3, 0.2), WOOD)
    shows_mm, cut_mm = 0.2 + 2 * k * 0.6, 0.2 + 2 * k * 0.1

    verdicts = [error.verdict_when_low(width) for width in (shows_mm + 0.01, shows_mm - 0.01, cut_mm - 0.01)]

    assert verdicts == [Verdict.SHOWS, Verdict.FAINT, Verdict.LOST]
    assert error.width_when_low_mm(3.0) == pytest.approx(3.0 - 0.2 * k)


def test_a_limit_that_only_just_lets_strokes_show_lets_none_show_on_low_stock() -> None:
    """With a limit of 0.55 mm a groove on stock 0.1 mm low is 0.45 mm deep, less than the 0.5 that show."""
    error = sensitivity_of(incise(90, 0.55, 0.2), WOOD)

    assert error.verdict_when_low(10.0) is Verdict.FAINT


def test_walls_must_be_as_much_thicker_on_high_stock() -> None:
    """Where the stock is 0.1 mm high a 90 degree bit takes 0.1 mm off either side of a wall."""
    assert sensitivity_of(incise(90, 3, 0.2), WOOD).high.stands_from_mm == pytest.approx(0.8 + 0.2)


@pytest.mark.parametrize(("angle_deg", "k"), K)
def test_a_groove_cut_in_simulation_is_as_much_narrower(angle_deg: float, k: float) -> None:
    """One straight groove 2 mm deep, and again with zero 0.1 mm too high; widths measured cell by cell."""
    cell_mm = 0.005
    widths_mm = []
    for z_mm in (-2.0, -1.9):
        groove = motions((-20.0, 0.0, 5.0), (-20.0, 0.0, z_mm), (20.0, 0.0, z_mm))
        field = carve([(groove, vee(angle_deg))], -0.05, -5.0, 0.05, 5.0, cell_mm)
        middle = field.depth_mm[:, field.depth_mm.shape[1] // 2]
        widths_mm.append(cell_mm * np.count_nonzero(middle > 1e-6))

    change_mm = sensitivity_of(incise(angle_deg, 3), WOOD).width_change_mm
    assert widths_mm[0] - widths_mm[1] == pytest.approx(change_mm, abs=2 * cell_mm)
