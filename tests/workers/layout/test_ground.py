"""Raised art: the ground around it is cut, to the volume that geometry says."""

import math

import numpy as np
import pytest
from shapely.geometry import box

from tests.support.specimens import BASSWOOD, MACHINE, clearing, design, disc, incise, mill, region
from workers.contracts.dialect import Dialect
from workers.dialects.inch_lines import INCH_LINES
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.errors import ParameterOutOfRangeError
from workers.layout.ground import raised
from workers.toolpaths.plan import plan
from workers.verification.verify import verify

RADIUS_MM, MARGIN_MM = 15.0, 8.0
SIGN = design(region(disc(60, 40, RADIUS_MM)), 120, 80, 12, corner_radius_mm=0)
WIDTH_MM, HEIGHT_MM = 120 - 2 * MARGIN_MM, 80 - 2 * MARGIN_MM


def test_the_ground_is_the_panel_without_the_art() -> None:
    """A frame of the margin's width and the art stand; nothing else does."""
    ground = raised(SIGN, MARGIN_MM).ink.polygons

    assert ground.area == pytest.approx(WIDTH_MM * HEIGHT_MM - math.pi * RADIUS_MM**2, rel=1e-4)
    assert ground.bounds == (8, 8, 112, 72)
    assert len(ground.geoms[0].interiors) == 1


@pytest.mark.parametrize("dialect", [METRIC_LINES, INCH_LINES], ids=lambda dialect: dialect.name)
def test_volume_and_floor_of_raised_art(dialect: Dialect) -> None:
    """V-20's law for a panel with a round island, out of the proven programs within 0.5 %.

    Area inset by r: (W - 2r)(H - 2r) - pi (R + r)^2; volume its integral to k D over k, elementary.
    """
    depth_mm, slope = 3.0, math.tan(math.radians(30))
    foot_mm = slope * depth_mm
    sign, grooves = raised(SIGN, MARGIN_MM), incise(60, depth_mm)
    planned = plan(sign, grooves, clearing(mill(6.35), mill(2.0)), None, None, BASSWOOD, MACHINE)
    verified = verify(write_programs(planned.plan, MACHINE, dialect), sign.board, MACHINE, sign, grooves)
    volume_mm3 = (
        WIDTH_MM * HEIGHT_MM * foot_mm
        - (WIDTH_MM + HEIGHT_MM) * foot_mm**2
        + 4 * foot_mm**3 / 3
        - math.pi * ((RADIUS_MM + foot_mm) ** 3 - RADIUS_MM**3) / 3
    ) / slope
    floor_mm2 = (WIDTH_MM - 2 * foot_mm) * (HEIGHT_MM - 2 * foot_mm) - math.pi * (RADIUS_MM + foot_mm) ** 2
    flat_mm2 = np.count_nonzero(verified.field.depth_mm >= depth_mm - 0.02) * verified.field.cell_mm**2

    assert verified.proof.passed, verified.proof.findings
    assert verified.proof.carved_volume_mm3 == pytest.approx(volume_mm3, rel=0.005)
    assert flat_mm2 == pytest.approx(floor_mm2, rel=0.005)


def test_a_margin_that_leaves_no_ground_is_refused() -> None:
    """40 mm from each edge of 80 mm."""
    with pytest.raises(ParameterOutOfRangeError, match="leaves no ground") as refused:
        raised(SIGN, 40.0)
    assert refused.value.field == "/inputs/raised/margin"


def test_art_that_covers_the_ground_is_refused() -> None:
    """Nothing would be left to cut."""
    covered = design(region(box(5, 5, 115, 75)), 120, 80, 12, corner_radius_mm=0)

    with pytest.raises(ParameterOutOfRangeError, match="covers all of the ground"):
        raised(covered, MARGIN_MM)
