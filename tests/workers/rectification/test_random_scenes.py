"""A few of the random photos of tests.benchmarks.sheet_campaign, by the camera that took them."""

from __future__ import annotations

import dataclasses

import pytest

from tests.benchmarks.sheet_campaign import outcome
from tests.support.photographed_scenes import recipe, scene, workshop_recipe


@pytest.mark.parametrize(
    "number",
    [
        pytest.param(2, id="stripes along the sides, barrel lens"),
        pytest.param(30, id="ruled paper on tiles"),
        pytest.param(73, id="squared paper on planks, turned by 142 degrees"),
        pytest.param(112, id="a corner out of the picture, a hand over another"),
        pytest.param(169, id="squared paper on stripes along its sides"),
        pytest.param(35, id="light tiles, coins, 33 degrees of tilt"),
    ],
)
def test_the_sheet_is_where_the_camera_saw_it(number: int) -> None:
    """No place that the picture shows is off by more than 0.6 mm, and no length by more than 0.5 %."""
    small = dataclasses.replace(recipe(number), megapixels=0.8)

    found = outcome(scene(small))

    assert found.verdict == "right"
    assert found.worst_mm < 0.6


@pytest.mark.parametrize(
    "number",
    [
        pytest.param(1015, id="squared paper with its upper side and a corner out of the picture"),
        pytest.param(1027, id="one corner of a framed sheet on stripes"),
    ],
)
def test_what_runs_out_of_the_picture_is_paper_or_refused(number: int) -> None:
    """Lines of the paper and stripes of the table make no sheet of a part of one."""
    small = dataclasses.replace(recipe(number), megapixels=0.8)

    found = outcome(scene(small))

    assert found.verdict == "fair"
    assert found.refusal.startswith("sheet-not-found")


def test_a_frame_drawn_near_the_edge_is_not_the_edge() -> None:
    """On a table nearly as light as the paper, the frame's inner border is the clearer edge."""
    framed = dataclasses.replace(workshop_recipe(2125), megapixels=1.0)

    found = outcome(scene(framed))

    assert found.verdict == "right"
    assert found.worst_mm < 0.6
