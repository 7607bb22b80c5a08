"""Art in several tones, carved: volumes and depths against closed forms.

Source: the volume of a frustum, pi h (a^2 + a b + b^2) / 3, and of a trapezoidal prism: elementary geometry.
A groove of a 90 degree bit in a disc is a frustum as deep as its limit; of a darker disc in it only what lies
deeper than the paler one's floor counts, a frustum too. Expected figures come from these forms alone.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from shapely.geometry import box

from tests.support.specimens import BASSWOOD, MACHINE, clearing, design, disc, incise, mill, region
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.toolpaths.plan import plan
from workers.values.cuts import ClearCut, InciseCut
from workers.values.cutter import EndMill
from workers.values.design import Design
from workers.verification.designed_depth import designed_depth
from workers.verification.grid import Grid
from workers.verification.verified import Verified
from workers.verification.verify import verify

RADII_MM = (30.0, 20.0, 10.0)
DISCS = [region(disc(60, 40, radius_mm, sides=2880)) for radius_mm in RADII_MM]
TARGET = replace(design(DISCS[0], 120, 80, 19, 0), darker=tuple(DISCS[1:]))


def frustum_mm3(top_mm: float, foot_mm: float, height_mm: float) -> float:
    """The volume of a frustum by the radii of its ends."""
    return math.pi * height_mm * (top_mm**2 + top_mm * foot_mm + foot_mm**2) / 3


def target_mm3(limits_mm: tuple[float, float, float], slope: float) -> float:
    """What is cut of three discs, each within the one before."""
    return sum(
        frustum_mm3(radius_mm - slope * upper_mm, radius_mm - slope * lower_mm, lower_mm - upper_mm)
        for radius_mm, (upper_mm, lower_mm) in zip(RADII_MM, pairwise((0.0, *limits_mm)), strict=True)
    )


def carved(sign: Design, cut: InciseCut, clear: ClearCut | None) -> Verified:
    """The proof of a sign's programs."""
    planned = plan(sign, cut, clear, None, None, BASSWOOD, MACHINE)
    return verify(write_programs(planned.plan, MACHINE, METRIC_LINES), sign.board, MACHINE, sign, cut)


@pytest.mark.parametrize("angle_deg", [60.0, 90.0])
@pytest.mark.parametrize("limits_mm", [(1.0, 2.0, 3.0), (0.4, 2.2, 2.9)])
@pytest.mark.parametrize("mills", [(mill(),), (mill(6.35, name="flat-1/4in"), mill(1.5, name="thin"))])
def test_discs_in_three_tones_have_the_volume_of_their_frusta(
    angle_deg: float, limits_mm: tuple[float, float, float], mills: tuple[EndMill, ...]
) -> None:
    """Carved, read back and cut in simulation: the closed form within 0.5 %, and the proof passes."""
    cut = replace(incise(angle_deg, limits_mm[2]), paler_limits_mm=limits_mm[:2])

    verified = carved(TARGET, cut, clearing(*mills))

    assert verified.proof.passed, verified.proof.findings
    expected_mm3 = target_mm3(limits_mm, math.tan(math.radians(angle_deg / 2)))
    assert verified.proof.carved_volume_mm3 == pytest.approx(expected_mm3, rel=0.005)


def test_the_v_bit_alone_makes_three_tones() -> None:
    """Without an end mill it clears the floors line by line, each place once and the deepest first."""
    discs = [region(disc(25, 25, radius_mm)) for radius_mm in (12.0, 8.0, 4.0)]
    sign = replace(design(discs[0], 50, 50, 19, 0), darker=tuple(discs[1:]))

    verified = carved(sign, incise(90, 1.5, tip_mm=0.4), None)

    assert verified.proof.passed, verified.proof.findings


def test_the_design_of_a_bar_in_two_tones_is_two_trapezoids() -> None:
    """A bar 12 mm wide, its right half dark, down to 1 and 2 mm at 90 degrees: depths by hand."""
    bar = region(box(10, 10, 70, 22))
    sign = replace(design(bar, 80, 32, 19, 0), darker=(region(box(40, 10, 70, 22)),))
    cell_mm = 0.1
    grid = Grid(left_mm=0, bottom_mm=0, right_mm=80, top_mm=32, cell_mm=cell_mm)

    depth_mm = designed_depth(sign, replace(incise(90, 2.0), paler_limits_mm=(1.0,)), grid)

    def at(x_mm: float, y_mm: float) -> float:
        return float(depth_mm[int(y_mm / cell_mm), int(x_mm / cell_mm)])

    assert at(25.05, 16.05) == pytest.approx(1.0)
    assert at(55.05, 16.05) == pytest.approx(2.0)
    assert at(40.55, 16.05) == pytest.approx(1.0)  # the step to the dark half begins where it is as deep
    assert at(41.55, 16.05) == pytest.approx(1.55, abs=1e-5)
    for x_mm in (25.05, 55.05):  # the walls along both halves are one
        assert at(x_mm, 10.75) == pytest.approx(0.75, abs=1e-5)
    assert at(25.05, 11.55) == pytest.approx(1.0)
    assert at(55.05, 11.55) == pytest.approx(1.55, abs=1e-5)
    assert np.nanmax(depth_mm) == pytest.approx(2.0)
