"""The thinnest stroke that shows.

Source: trade's facts V-05: w_min = t + 2 k z_min; the table for t = 0.127 mm (0.005 in), z_min = 0.5 mm.
"""

import pytest
from shapely.geometry import MultiPolygon, box

from workers.resolvability.examine import examine
from workers.resolvability.limits import limits_of
from workers.values.cuts import InciseCut
from workers.values.cutter import VeeCutter
from workers.values.examination import Verdict
from workers.values.material import Material
from workers.values.region import Region

BOARD = Material(
    name="board",
    title="Board",
    family="softwood",
    shows_depth_mm=0.5,
    thinnest_wall_mm=0.8,
    colour=(220, 200, 160),
    has_grain=True,
    cautions=(),
)
TABLE = [(30, 0.394949), (60, 0.704350), (90, 1.127000), (120, 1.859051)]


def cut(angle_deg: float) -> InciseCut:
    """Return a cut with a bit of this angle and a tip of 0.005 in."""
    vee = VeeCutter(
        name="v",
        diameter_mm=12.7,
        cutting_length_mm=12,
        flutes_count=2,
        included_angle_deg=angle_deg,
        tip_mm=0.127,
    )
    return InciseCut(cutter=vee, depth_limit_mm=3)


@pytest.mark.parametrize(("angle_deg", "width_mm"), TABLE)
def test_the_limit_is_the_table_s(angle_deg: float, width_mm: float) -> None:
    """The width from which a stroke shows is the published one."""
    assert limits_of(cut(angle_deg), BOARD).shows_from_mm == pytest.approx(width_mm, abs=1e-6)


@pytest.mark.parametrize(("angle_deg", "width_mm"), TABLE)
def test_a_stroke_either_side_of_it_is_judged_so(angle_deg: float, width_mm: float) -> None:
    """A hundredth of a millimetre more shows; a hundredth less is faint; less than the tip is lost."""
    verdicts = []
    for stroke_mm in (width_mm + 0.01, width_mm - 0.01, 0.12):
        region = Region(MultiPolygon([box(0, 0, 40, stroke_mm)]))
        (stroke,) = examine(region, cut(angle_deg), BOARD).strokes
        assert stroke.width_mm == pytest.approx(stroke_mm, abs=1e-6)
        verdicts.append(stroke.verdict)

    assert verdicts == [Verdict.SHOWS, Verdict.FAINT, Verdict.LOST]
