"""Touch-up on the wire."""

from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from schemas.requests import SignOrder
from schemas.steps import hrefs_in, steps_of
from schemas.touch_up import MAX_STEPS, TouchUp, TouchUpSteps

ONE: TypeAdapter[TouchUp] = TypeAdapter(TouchUp)
LIST: TypeAdapter[list[TouchUp]] = TypeAdapter(TouchUpSteps)
TRIANGLE = [[0, 0], ["1 cm", 0], [0, "1/2 in"]]
LOGO = "/artifacts/sha256:" + "d" * 64


def test_lengths_have_units() -> None:
    """Points are lengths like all others."""
    assert ONE.validate_python({"do": "keep", "polygon": TRIANGLE}).polygon == [(0, 0), (10, 0), (0, 12.7)]


@pytest.mark.parametrize(
    "step",
    [
        {"do": "smudge"},
        {"polygon": TRIANGLE},
        {"do": "erase"},
        {"do": "erase", "polygon": TRIANGLE, "line": [[0, 0]], "width": 1},
        {"do": "draw", "line": [[0, 0], [1, 1]]},
        {"do": "draw", "polygon": TRIANGLE, "width": 1},
        {"do": "keep", "polygon": TRIANGLE[:2]},
        {"do": "keep", "polygon": [[0, 0]] * 2001},
        {"do": "set_in", "drawing": {"href": LOGO}, "x": 1, "y": 1},
        {"do": "set_in", "drawing": {"href": LOGO}, "x": 1, "y": 1, "width": 1, "height": 1},
        {"do": "crop", "x": 0, "y": 0, "width": 0, "height": 1},
        {"do": "remove_specks", "below": 0},
        {"do": "thicken", "by": 6},
        {"do": "thin", "by": "-0.1 mm"},
        {"do": "mirror", "swap": "inside-out"},
        {"do": "invert", "twice": True},
    ],
)
def test_what_makes_no_step_is_refused(step: dict[str, Any]) -> None:
    """Unknown, missing, doubled and unbounded fields."""
    with pytest.raises(ValidationError):
        ONE.validate_python(step)


def test_lists_are_bounded() -> None:
    """Two hundred steps are taken, one more is not."""
    assert len(LIST.validate_python([{"do": "invert"}] * MAX_STEPS)) == MAX_STEPS
    with pytest.raises(ValidationError):
        LIST.validate_python([{"do": "invert"}] * (MAX_STEPS + 1))


def test_touch_up_of_art_goes_to_its_tracing_with_its_links() -> None:
    """In a sign order the steps are done once, before tracing, and their files are found."""
    order = SignOrder.model_validate(
        {
            "board": {"width": 400, "height": 180, "thickness": 19, "material": "basswood"},
            "art": [
                {"svg": {"href": LOGO}},
                {
                    "photos": [{"href": LOGO}],
                    "touch_up": [
                        {"do": "invert"},
                        {"do": "set_in", "drawing": {"href": LOGO}, "x": 9, "y": 9, "width": 5},
                    ],
                },
            ],
            "incise": {"bit": "vee-90", "depth_limit": 2.5},
        }
    )
    touched = {
        step.id: step.inputs["touch_up"] for step in steps_of("sign", order) if "touch_up" in step.inputs
    }
    assert list(touched) == ["art2-tracing"]
    assert [step["do"] for step in touched["art2-tracing"]] == ["invert", "set_in"]
    assert dict(hrefs_in(touched, "/inputs"))["/inputs/art2-tracing/1/drawing/href"] == LOGO


def test_the_definition_says_that_y_runs_down() -> None:
    """A screen's programmer reads it where the points are described."""
    text = str(LIST.json_schema())
    assert "y down" in text
    assert "DOWN" in text
