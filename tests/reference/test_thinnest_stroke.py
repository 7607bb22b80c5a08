"""The thinnest stroke that shows.

Source: trade's facts V-05: w_min = t + 2 k z_min; the table for t = 0.127 mm (0.005 in), z_min = 0.5 mm.
"""

from dataclasses import replace

import pytest
from shapely.geometry import box

from tests.support.specimens import BASSWOOD, incise, region
from workers.resolvability.examine import examine
from workers.resolvability.limits import limits_of
from workers.values.cuts import InciseCut
from workers.values.examination import Verdict

WOOD = replace(BASSWOOD, shows_depth_mm=0.5)
TABLE = [(30, 0.394949), (60, 0.704350), (90, 1.127000), (120, 1.859051)]


def cut(angle_deg: float) -> InciseCut:
    """Return a cut with a bit of this angle and a tip of 0.005 in."""
    return incise(angle_deg, 3, 0.127)


@pytest.mark.parametrize(("angle_deg", "width_mm"), TABLE)
def test_the_limit_is_the_table_s(angle_deg: float, width_mm: float) -> None:
    """The width from which a stroke shows is the published one."""
    assert limits_of(cut(angle_deg), WOOD).shows_from_mm == pytest.approx(width_mm, abs=1e-6)


@pytest.mark.parametrize(("angle_deg", "width_mm"), TABLE)
def test_a_stroke_either_side_of_it_is_judged_so(angle_deg: float, width_mm: float) -> None:
    """A hundredth of a millimetre more shows; a hundredth less is faint; less than the tip is lost."""
    verdicts = []
    for stroke_mm in (width_mm + 0.01, width_mm - 0.01, 0.12):
        (stroke,) = examine(region(box(0, 0, 40, stroke_mm)), cut(angle_deg), WOOD).strokes
        assert stroke.width_mm == pytest.approx(stroke_mm, abs=1e-6)
        verdicts.append(stroke.verdict)

    assert verdicts == [Verdict.SHOWS, Verdict.FAINT, Verdict.LOST]
