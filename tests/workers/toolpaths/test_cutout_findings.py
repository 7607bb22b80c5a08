"""What is said of tabs and the bed before anything is cut (trade.md P-03, P-04, P-07)."""

from dataclasses import replace

import pytest
from shapely.geometry import Polygon, box

from tests.support.specimens import BASSWOOD, MACHINE, board, cutout, disc, region
from workers.errors import NotCuttableError
from workers.toolpaths.cutout import cutout_of
from workers.toolpaths.cutout_findings import cutout_findings
from workers.toolpaths.cutout_leads import lead_beside
from workers.values.cuts import CutoutCut, CutoutSide
from workers.values.design import Design, Hole
from workers.values.finding import Finding
from workers.values.material import Material

BOARD = box(0, 0, 300, 200)


def found(cut: CutoutCut, outline: Polygon = BOARD, material: Material = BASSWOOD) -> tuple[Finding, ...]:
    """What is said of a cutout."""
    sign = Design(board=board(300, 200, 12.0), outline=outline, ink=region())
    made = cutout_of(sign, cut)
    return cutout_findings(made, cut, lead_beside(made, outline, cut, MACHINE), sign, material)


def test_usual_tabs_and_a_usual_depth_need_no_word() -> None:
    """Five tabs of 6 x 2 mm, 0.3 mm past the board."""
    assert found(cutout(5)) == ()


@pytest.mark.parametrize(
    ("outline_mm", "width_mm", "height_mm", "count"),
    [(628.3, 6, 2, 4), (1000, 6, 2, 5), (300, 12, 3, 3), (300, 3, 1.5, 10)],
)
def test_tabs_are_counted_by_length_and_by_what_they_hold(
    outline_mm: float, width_mm: float, height_mm: float, count: int
) -> None:
    """max(3, ceil(length / 200)), P-03's worked figures at 200; small tabs until they come to 45 mm2."""
    cut = replace(cutout(0, width_mm, height_mm), tabs_count=None)

    assert cut.tabs_on(outline_mm) == count


def test_counted_tabs_are_placed() -> None:
    """1000 mm of outline: five."""
    plan = cutout_of(
        Design(board=board(300, 200, 12.0), outline=BOARD, ink=region()), replace(cutout(0), tabs_count=None)
    )

    assert len(plan.rough.tabs.centres_mm) == 5


@pytest.mark.parametrize(
    ("cut", "says"),
    [
        (cutout(4, height_mm=0.2), "0.20 mm high may break"),
        (cutout(3, width_mm=3, height_mm=2), "18 mm2 in all"),
    ],
)
def test_weak_tabs_are_a_warning(cut: CutoutCut, says: str) -> None:
    """Too low, or too little of them: never silent."""
    [finding] = found(cut)

    assert (finding.code, finding.severity.value) == ("weak-tabs", "warning")
    assert says in finding.message


def test_foam_wants_higher_tabs() -> None:
    """P-03: more in foam than in wood."""
    foam = replace(BASSWOOD, family="foam", title="Foam board")

    assert [finding.code for finding in found(cutout(5), material=foam)] == ["weak-tabs"]


def test_a_tab_round_a_corner_is_told_with_its_place() -> None:
    """A triangle with sides of 12 mm has no straight run for a bridge of 8 mm and the bit."""
    small = Polygon([(0, 0), (12, 0), (6, 10.4)])
    codes = {finding.code: finding for finding in found(cutout(1, width_mm=8, height_mm=2), small)}

    assert "tab-in-corner" in codes
    assert codes["tab-in-corner"].at_mm is not None


def test_a_tab_on_a_gentle_curve_is_no_corner() -> None:
    """Round a disc of 60 mm radius a lifted stretch of 9.2 mm turns by 9 degrees."""
    assert found(cutout(4), disc(100, 100, 60)) == ()


def test_far_into_the_bed_is_a_warning() -> None:
    """0.1 to 0.5 mm are usual (P-07)."""
    [finding] = found(cutout(5, past_mm=1.5))

    assert finding.code == "deep-into-bed"
    assert "1.50 mm past the board" in finding.message


def test_a_sliver_left_by_a_cut_on_the_line_is_told_with_its_place() -> None:
    """A groove 2 mm from the edge; half a bit of 3.175 mm leaves 0.41 mm of basswood, that stands at 0.8."""
    sign = Design(board=board(300, 200, 12.0), outline=BOARD, ink=region(box(2, 50, 60, 56)))
    cut = replace(cutout(5), side=CutoutSide.ON)
    made = cutout_of(sign, cut)
    [finding] = cutout_findings(made, cut, lead_beside(made, BOARD, cut, MACHINE), sign, BASSWOOD)

    assert finding.code == "sliver-at-edge"
    assert "0.41 mm of board" in finding.message
    assert finding.at_mm is not None
    assert finding.at_mm[0] == pytest.approx(2, abs=1e-6)
    made = cutout_of(sign, cutout(5))
    assert (
        cutout_findings(made, cutout(5), lead_beside(made, BOARD, cutout(5), MACHINE), sign, BASSWOOD) == ()
    )


def test_a_hole_in_the_cutouts_way_is_refused() -> None:
    """Its bit would break out of the board's edge."""
    hole = Hole(x_mm=4, y_mm=100, diameter_mm=5)
    sign = Design(board=board(300, 200, 12.0), outline=BOARD, ink=region(), holes=(hole,))

    with pytest.raises(NotCuttableError, match="carved or cut through"):
        cutout_of(sign, replace(cutout(5), side=CutoutSide.INSIDE))
