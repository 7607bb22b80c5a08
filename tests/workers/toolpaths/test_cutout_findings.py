"""What is said of tabs and the bed before anything is cut (trade.md P-03, P-04, P-07)."""

from dataclasses import replace

import pytest
from shapely.geometry import Polygon, box

from tests.support.specimens import BASSWOOD, MACHINE, PACE, board, cutout, design, disc, region
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.errors import NotCuttableError
from workers.toolpaths.cutout import Cutout, cutout_of
from workers.toolpaths.cutout_findings import cutout_findings, refuse_hardly_cut
from workers.toolpaths.cutout_leads import lead_beside
from workers.toolpaths.cutout_passes import cutout_paths
from workers.values.cuts import CutoutCut, CutoutSide
from workers.values.cutting_plan import CuttingPlan, Operation, OperationKind
from workers.values.design import Design, Hole
from workers.values.finding import Finding
from workers.values.material import Material
from workers.verification.verify import verify

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


SMALL = design(region(), 88, 62, 6.0, corner_radius_mm=0)


def test_more_tabs_than_leave_half_the_outline_are_refused_with_how_many_fit() -> None:
    """Sloped ones of 6 x 2 mm stand 6 + 2 (2 / tan 15 + 0.15) = 21.2 mm wide: 7 on 0.5 x 310 mm, not 8."""
    cut = replace(cutout(8), tabs_sloped=True)
    with pytest.raises(NotCuttableError) as refused:
        refuse_hardly_cut(cutout_of(SMALL, cut), cut, "the board", None)
    [finding] = refused.value.findings

    assert finding.code == "too-many-tabs"
    assert "7 such tabs fit" in finding.message
    assert "ask for 7 tabs or fewer" in finding.remedy
    refuse_hardly_cut(cutout_of(SMALL, replace(cut, tabs_count=7)), cut, "the board", None)
    refuse_hardly_cut(cutout_of(SMALL, cutout(8)), cutout(8), "the board", None)


def is_cut_free(made: Cutout, cut: CutoutCut) -> bool:
    """Whether the proof finds the small board cut free by a cutout that is run as planned."""
    paths = tuple(cutout_paths(made, 6.0, PACE, lead_beside(made, SMALL.outline, cut, MACHINE)))
    operation = Operation(kind=OperationKind.CUTOUT, cutter=cut.cutter, spindle_rpm=18000, paths=paths)
    ways = CuttingPlan(board=SMALL.board, clearance_mm=5, spin_up_s=3, operations=(operation,))
    programs = write_programs(ways, MACHINE, METRIC_LINES)
    proof = verify(programs, SMALL.board, MACHINE, SMALL, None, cut, cell_mm=0.2).proof
    return "not-cut-free" not in {finding.code for finding in proof.findings}


@pytest.mark.parametrize(
    ("sloped", "width_mm", "count", "fits"),
    [(True, 6, 7, True), (True, 6, 8, False), (False, 30, 5, True), (False, 30, 6, False)],
)
def test_plan_and_proof_agree_on_how_many_tabs_fit(
    sloped: bool, width_mm: float, count: int, fits: bool
) -> None:
    """Each by its own geometry: the tabs' widths, and the depths that the simulation finds."""
    cut = replace(cutout(count, width_mm), tabs_sloped=sloped)
    made = cutout_of(SMALL, cut)

    assert len(made.rough.tabs.centres_mm) == count
    assert is_cut_free(made, cut) == fits
    if fits:
        refuse_hardly_cut(made, cut, "the board", None)
    else:
        with pytest.raises(NotCuttableError, match=f"{count - 1} such tabs fit"):
            refuse_hardly_cut(made, cut, "the board", None)
