"""What cannot be done is refused where it stands in the list, with what would help."""

from collections.abc import Callable
from typing import Any

import pytest
from shapely.geometry import MultiPolygon

from tests.support.both_ways import boatyard, straight_sided
from workers.errors import InputRejectedError, NoDrawingFoundError, ParameterOutOfRangeError
from workers.touch_up.apply import apply_to_artwork, apply_to_coverage
from workers.values.progress import silent
from workers.values.region import Artwork, Region
from workers.values.touch_up import (
    Crop,
    Draw,
    Erase,
    Flip,
    Invert,
    Keep,
    Mirror,
    Patch,
    RemoveSpecks,
    SetIn,
    Stroke,
    Thicken,
    Thin,
    TouchUp,
    Turn,
)

BOW_TIE = Patch(polygon_mm=((2, -2), (12, -12), (12, -2), (2, -12)))
ON_ONE_LINE = Patch(polygon_mm=((2, -2), (4, -4), (9, -9)))
BESIDE = Patch(polygon_mm=((31, -2), (40, -2), (40, -9)))
EVERYTHING = Patch(polygon_mm=((-1, 1), (31, 1), (31, -25), (-1, -25)))
BLANK = Artwork(ink=Region(MultiPolygon()), width_mm=10, height_mm=10)

WAYS = [
    lambda steps: apply_to_coverage(boatyard()[0], steps, silent),
    lambda steps: apply_to_artwork(straight_sided(boatyard()[1]), steps, silent),
]
REFUSED: list[tuple[TouchUp, str]] = [
    (Erase(area=BOW_TIE), "/polygon"),
    (Keep(area=BOW_TIE), "/polygon"),
    (Draw(area=ON_ONE_LINE), "/polygon"),
    (Draw(area=BESIDE), "/polygon"),
    (Draw(area=Stroke(line_mm=((2, 5), (20, 5)), width_mm=1)), "/line"),
    (Thicken(by_mm=0.3, within=BESIDE), "/polygon"),
    (Thin(by_mm=0.3, within=BOW_TIE), "/polygon"),
    (Flip(x_mm=3, y_mm=0.2), ""),
    (Crop(left_mm=2, top_mm=-24.5, width_mm=5, height_mm=5), ""),
    (SetIn(drawing=straight_sided(boatyard()[1]), x_mm=90, y_mm=-10, width_mm=20), ""),
    (SetIn(drawing=straight_sided(BLANK), x_mm=10, y_mm=-10, width_mm=20), "/drawing"),
    (Erase(area=EVERYTHING), ""),
    (Thin(by_mm=4.9), ""),
    (RemoveSpecks(below_mm2=500), ""),
]


@pytest.mark.parametrize("way", WAYS, ids=["picture", "polygons"])
@pytest.mark.parametrize(("step", "place"), REFUSED)
def test_the_step_at_fault_is_named(way: Callable[[Any], Any], step: TouchUp, place: str) -> None:
    """A pointer into the list, and a remedy; the steps before it were fine."""
    with pytest.raises(InputRejectedError) as refused:
        way([Mirror(is_left_right=True), Mirror(is_left_right=True), step])
    assert refused.value.field == f"/inputs/touch_up/2{place}"
    assert refused.value.remedy


def test_a_crossing_is_told_as_the_sender_counts() -> None:
    """x to the right and y down: the bow tie crosses itself at 7, 7."""
    with pytest.raises(ParameterOutOfRangeError, match=r"x 7\.0, y 7\.0 mm"):
        WAYS[1]([Erase(area=BOW_TIE)])


def test_blank_drawings_to_be_set_in_are_no_drawings() -> None:
    """Their own error, as for any blank drawing."""
    with pytest.raises(NoDrawingFoundError):
        WAYS[0]([SetIn(drawing=straight_sided(BLANK), x_mm=10, y_mm=-10, width_mm=20)])


@pytest.mark.parametrize("way", WAYS, ids=["picture", "polygons"])
def test_a_drawing_may_be_blank_between_two_steps(way: Callable[[Any], Any]) -> None:
    """Wiping the sheet and drawing anew is no error."""
    record = way([Erase(area=EVERYTHING), Draw(area=Stroke(line_mm=((5, -5),), width_mm=2))]).record
    assert [entry["parts_after"] for entry in record] == [0, 1]
    assert record[1]["ink_mm2_changed"] == pytest.approx(3.1416, abs=0.01)  # pi r^2


@pytest.mark.parametrize("way", WAYS, ids=["picture", "polygons"])
def test_places_count_from_the_corner_that_is_seen_then(way: Callable[[Any], Any]) -> None:
    """After a quarter turn the sheet is 24 x 30: 29 mm down is on it, 29 mm to the right is not."""
    way([Turn(turn_deg=90), Flip(x_mm=1, y_mm=-29)])
    with pytest.raises(ParameterOutOfRangeError):
        way([Turn(turn_deg=90), Flip(x_mm=29, y_mm=-1)])


def test_four_quarter_turns_and_two_mirrors_change_no_pixel() -> None:
    """Exact moves are exact."""
    coverage = boatyard()[0]
    turns: list[TouchUp] = [Turn(turn_deg=90), Turn(turn_deg=-270), Turn(turn_deg=450), Turn(turn_deg=90)]
    mirrors: list[TouchUp] = [Mirror(is_left_right=False), Invert(), Mirror(is_left_right=False), Invert()]
    assert (apply_to_coverage(coverage, turns + mirrors, silent).drawing.pixels == coverage.pixels).all()
