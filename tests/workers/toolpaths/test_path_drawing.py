"""paths.svg: well-formed, in millimetres, safe."""

from dataclasses import replace
from math import hypot

import pytest
from defusedxml import ElementTree
from shapely.geometry import box

from tests.support.specimens import BASSWOOD, MACHINE, clearing, cutout, design, incise, region
from workers.toolpaths.path_drawing import draw_paths
from workers.toolpaths.plan import plan
from workers.values.cutting_plan import CuttingPlan

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


def test_names_cannot_break_out_of_the_drawing(sign_plan: CuttingPlan) -> None:
    """A bit's name is text, whatever is in it."""
    first = sign_plan.operations[0]
    named = replace(first, cutter=replace(first.cutter, name="<script>alert(1)</script>&"))

    root = ElementTree.fromstring(draw_paths(replace(sign_plan, operations=(named,))))

    assert not list(root.iter(f"{SVG}script"))


def test_a_plan_of_nothing_is_a_drawing_of_the_board(sign_plan: CuttingPlan) -> None:
    """No operation, no legend line but the traverses'."""
    root = ElementTree.fromstring(draw_paths(replace(sign_plan, operations=())))

    assert len(list(root.iter(f"{SVG}rect"))) == 2
