"""paths.svg: well-formed, in millimetres, safe."""

from dataclasses import replace
from math import hypot

import pytest
from defusedxml import ElementTree
from shapely.geometry import box

from tests.support.specimens import BASSWOOD, MACHINE, clearing, cutout, design, incise, region
from workers.toolpaths.path_drawing import draw_paths
from workers.toolpaths.plan import plan
from workers.values.cuts import DrillCut
from workers.values.cutter import Drill
from workers.values.cutting_plan import CuttingPlan
from workers.values.design import Hole

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def sign_plan() -> CuttingPlan:
    """A sign with a floor to clear and a cutout."""
    return plan(
        design(region(box(20, 20, 80, 40))), incise(), clearing(), cutout(), None, BASSWOOD, MACHINE
    ).plan


def test_one_user_unit_is_one_millimetre(sign_plan: CuttingPlan) -> None:
    """Width and height say mm and agree with the view box."""
    root = ElementTree.fromstring(draw_paths(sign_plan))
    _, _, width, height = root.get("viewBox", "").split()

    assert root.get("width") == f"{width}mm"
    assert root.get("height") == f"{height}mm"
    assert float(width) > 200


def test_each_operation_has_a_group_a_colour_and_a_line_in_the_legend(sign_plan: CuttingPlan) -> None:
    """Cuts solid, traverses dashed."""
    root = ElementTree.fromstring(draw_paths(sign_plan))
    groups = {group.get("id"): group for group in root.iter(f"{SVG}g") if group.get("id")}

    assert set(groups) == {"clear", "incise", "cutout"}
    assert len({group.get("stroke") for group in groups.values()}) == 3
    assert len({group.findall(f"{SVG}path")[1].get("stroke-width") for group in groups.values()}) == 3
    for group in groups.values():
        hops, cuts, *tabs = group.findall(f"{SVG}path")
        assert hops.get("stroke-dasharray")
        assert not cuts.get("stroke-dasharray")
        assert len(tabs) == (group.get("id") == "cutout")
    text = " ".join(entry.text or "" for entry in root.iter(f"{SVG}text"))
    assert "floors: flat-1/8in, end mill 3.175 mm" in text
    assert "grooves: vee-90, v-bit" in text


def test_tabs_are_drawn_once_each(sign_plan: CuttingPlan) -> None:
    """Four thick strokes, each as long as the bit stays lifted: bridge and bit."""
    root = ElementTree.fromstring(draw_paths(sign_plan))
    [group] = [group for group in root.iter(f"{SVG}g") if group.get("id") == "cutout"]
    strokes = group.findall(f"{SVG}path")[2].get("d", "").split("M")[1:]

    ends = [[tuple(map(float, point.split(","))) for point in stroke.split()] for stroke in strokes]
    assert [hypot(last[0] - first[0], last[1] - first[1]) for first, *_, last in ends] == pytest.approx(
        [9.175] * 4, abs=0.01
    )


def test_sloped_tabs_are_drawn_where_the_bit_is_level() -> None:
    """Six sloped tabs, six thick strokes; without tabs none, and the legend does not speak of them."""
    for count in (6, 0):
        cut = replace(cutout(), tabs_count=count, tabs_sloped=True)
        made = plan(design(region(box(20, 20, 80, 40))), incise(), None, cut, None, BASSWOOD, MACHINE).plan
        root = ElementTree.fromstring(draw_paths(made))
        [group] = [group for group in root.iter(f"{SVG}g") if group.get("id") == "cutout"]
        strokes = "".join(path.get("d", "") for path in group.findall(f"{SVG}path")[2:])
        assert strokes.count("M") == count
        text = " ".join(entry.text or "" for entry in root.iter(f"{SVG}text"))
        assert ("rises over tabs" in text) is bool(count)


def test_every_cut_begins_at_a_ring_and_every_operation_at_its_number(sign_plan: CuttingPlan) -> None:
    """Rings are counted group by group; a number's disc stands beside the first of them."""
    root = ElementTree.fromstring(draw_paths(sign_plan))
    groups = {group.get("id"): group for group in root.iter(f"{SVG}g") if group.get("id")}
    numbers = [group for group in root.iter(f"{SVG}g") if group.get("class") == "number"]
    for number, operation in enumerate(sign_plan.operations, 1):
        rings = groups[operation.kind.value].findall(f"{SVG}circle")
        assert len(rings) == len(operation.paths)
        x_mm, y_mm, _ = operation.paths[0].points_mm[0]
        assert (float(rings[0].get("cx")), -float(rings[0].get("cy"))) == pytest.approx(
            (x_mm, y_mm), abs=0.001
        )
        disc, words = numbers[number - 1]
        assert words.text == str(number)
        assert hypot(float(disc.get("cx")) - x_mm, float(disc.get("cy")) + y_mm) < 3


def test_drilled_holes_are_as_wide_as_the_drill() -> None:
    """A path that only goes down is a circle of the bit's diameter and a ring in its middle."""
    drill = DrillCut(cutter=Drill(name="drill-6mm", diameter_mm=6, cutting_length_mm=57, flutes_count=2))
    holed = design(region(box(20, 20, 80, 40)), holes=(Hole(x_mm=150, y_mm=60, diameter_mm=6),))
    made = plan(holed, incise(), None, None, drill, BASSWOOD, MACHINE).plan
    root = ElementTree.fromstring(draw_paths(made))
    [group] = [group for group in root.iter(f"{SVG}g") if group.get("id") == "drill"]
    assert [float(circle.get("r")) for circle in group.findall(f"{SVG}circle")] == [3.0, 0.5]


def test_a_second_operation_of_a_kind_has_a_name_and_a_colour_of_its_own(sign_plan: CuttingPlan) -> None:
    """Ids are unique in a document (XML 1.0, 3.3.1)."""
    first = sign_plan.operations[0]
    root = ElementTree.fromstring(draw_paths(replace(sign_plan, operations=(first, first))))
    groups = [group for group in root.iter(f"{SVG}g") if group.get("id")]
    assert {group.get("id") for group in groups} == {"clear", "clear-2"}
    assert len({group.get("stroke") for group in groups}) == 2


@pytest.mark.parametrize(("width_mm", "said"), [(400, "100 mm (3.937 in)"), (150, "20 mm (0.787 in)")])
def test_the_scale_is_a_round_length_and_as_long_as_it_says(
    sign_plan: CuttingPlan, width_mm: float, said: str
) -> None:
    """At most a quarter of the board, its two halves of equal length."""
    board = replace(sign_plan.board, width_mm=width_mm, height_mm=90)
    root = ElementTree.fromstring(draw_paths(replace(sign_plan, operations=(), board=board)))
    assert said in [text.text for text in root.iter(f"{SVG}text")]
    halves = [path.get("d") for path in root.iter(f"{SVG}path") if " v1.2 " in (path.get("d") or "")]
    assert [float(half.split(" h")[1].split()[0]) for half in halves] == [float(said.split()[0]) / 2] * 2


def test_names_cannot_break_out_of_the_drawing(sign_plan: CuttingPlan) -> None:
    """A bit's name is text, whatever is in it."""
    first = sign_plan.operations[0]
    named = replace(first, cutter=replace(first.cutter, name="<script>alert(1)</script>&"))

    root = ElementTree.fromstring(draw_paths(replace(sign_plan, operations=(named,))))

    assert not list(root.iter(f"{SVG}script"))


def test_a_plan_of_nothing_is_a_drawing_of_the_board(sign_plan: CuttingPlan) -> None:
    """No operation, no line of the key but those of rings and traverses."""
    root = ElementTree.fromstring(draw_paths(replace(sign_plan, operations=())))

    assert len(list(root.iter(f"{SVG}rect"))) == 2
