"""Tones of art and their depth limits: what may be ordered, and how it becomes steps."""

from typing import Any

import pytest
from pydantic import ValidationError

from schemas.problems import FieldError, ProblemCode, problem
from schemas.processes import PROCESSES
from schemas.requests import ResolvabilityInputs, SignOrder
from schemas.steps import in_request, job_outputs, output_of, resolved_inputs, steps_of

PHOTOS = {"photos": [{"href": "p"}], "tones": 4}
DRAWN = {"svg": {"href": "a"}, "darker": [{"href": "b"}, {"href": "c"}]}
INCISE: dict[str, Any] = {"bit": "vee-90", "depth_limit": "3 mm"}


def order(*art: dict[str, Any], **changes: Any) -> SignOrder:
    """A sign of some art."""
    said = {
        "board": {"width": 300, "height": 200, "thickness": 19, "material": "basswood"},
        "art": art,
        "incise": INCISE,
    }
    return SignOrder.model_validate(said | changes)


def test_each_tone_is_traced_and_laid_out_together() -> None:
    """Photos give a picture a tone, which intake must find; drawings are given one by one."""
    steps = {step.id: step for step in steps_of("sign", order(PHOTOS, DRAWN))}

    assert steps["art1-intake"].inputs["tones"] == 4
    assert steps["art1-intake"].inputs["fewer_tones"] == "refuse"
    assert [steps[f"art1-tracing{tone}"].inputs["image"]["href"] for tone in ("", "_2", "_3")] == [
        "step:art1-intake/image",
        "step:art1-intake/image_2",
        "step:art1-intake/image_3",
    ]
    assert [steps[f"art2-tracing{tone}"].inputs["image"]["href"] for tone in ("", "_2", "_3")] == list("abc")
    assert [link["href"] for link in steps["layout"].inputs["art"][0]["darker"]] == [
        "step:art1-tracing_2/art",
        "step:art1-tracing_3/art",
    ]
    assert {"art.svg", "art-tone-2.svg", "art2-tone-3.svg", "art1-tone-2-tracing.json"} <= set(
        steps["bundle"].inputs["files"]
    )


def test_every_step_of_several_tones_is_valid_input() -> None:
    """What planning writes, the stage's own model accepts once its links are artifacts."""
    done: dict[str, dict[str, str]] = {}
    for step in steps_of("sign", order(PHOTOS, DRAWN, incise=INCISE | {"paler_limits": [1, "2 mm"]})):
        PROCESSES[step.process].inputs.model_validate(resolved_inputs(step, done))
        done[step.id] = dict.fromkeys(PROCESSES[step.process].outputs, "sha256:" + "c" * 64)


def test_results_of_each_tone_have_names_and_files_of_their_own() -> None:
    """No two results of a job are one file."""
    steps = steps_of("sign", order(PHOTOS, DRAWN))
    left = {step.id: dict.fromkeys(PROCESSES[step.process].outputs, "digest") for step in steps}

    names = job_outputs("sign", steps, left)

    assert {"art", "art1-art_2", "art1-tracing_3", "art1-image_2", "art2-art", "art2-art_3"} <= set(names)
    files = [output_of("sign", name).file for name in names]
    assert len(files) == len(set(files))
    assert output_of("sign", "art1-art_2").file == "art1-art-2.svg"


@pytest.mark.parametrize(
    ("step_id", "pointer", "leads_to"),
    [
        ("art1-tracing_2", "/inputs/image", "/inputs/art/0"),
        ("art2-tracing_2", "/inputs/image", "/inputs/art/1/darker/0"),
        ("art2-tracing_3", "/inputs/touch_up/0", "/inputs/art/1/touch_up/0"),
        ("art1-intake", "/inputs/tones", "/inputs/art/0/tones"),
        ("resolvability", "/inputs/paler_limits", "/inputs/incise/paler_limits"),
    ],
)
def test_a_fault_in_a_tone_leads_to_its_field(step_id: str, pointer: str, leads_to: str) -> None:
    """Into the request as it was sent."""
    step = next(step for step in steps_of("sign", order(PHOTOS, DRAWN)) if step.id == step_id)
    fault = FieldError(pointer=pointer, detail="", remedy="")

    found = in_request("sign", step, problem(ProblemCode.INPUT_REJECTED, "", errors=[fault]))

    assert found.errors[0].pointer == leads_to


@pytest.mark.parametrize(
    ("art", "changes", "said"),
    [
        ([{"svg": {"href": "a"}, "tones": 3}], {}, "give the darker tones"),
        ([PHOTOS | {"darker": [{"href": "b"}]}], {}, "leave 'darker' out"),
        ([PHOTOS | {"touch_up": [{"do": "invert"}]}], {}, "'invert' under 'touch_up' makes paper ink"),
        ([DRAWN | {"touch_up": [{"do": "flip", "x": 1, "y": 1}]}], {}, "'flip' under 'touch_up'"),
        ([PHOTOS, PHOTOS | {"tones": 3}], {}, "art in 3 tones and art in 4 on one board"),
        ([PHOTOS], {"raised": {"margin": 5}}, "leave out 'raised'"),
        ([PHOTOS], {"incise": INCISE | {"paler_limits": [1]}}, "has 1 depth limits, and the art has 2 tones"),
        ([{"svg": {"href": "a"}}], {"incise": INCISE | {"paler_limits": [1]}}, "the art has 0 tones"),
        (
            [PHOTOS],
            {"incise": INCISE | {"paler_limits": [2, 1]}},
            "number 1 of 2 mm is no less than number 2",
        ),
        (
            [PHOTOS],
            {"incise": INCISE | {"paler_limits": [1, 3]}},
            "number 2 of 3 mm is no less than 'depth_l",
        ),
        ([PHOTOS], {"incise": INCISE | {"paler_limits": [0, 1]}}, "greater than 0"),
    ],
)
def test_tones_that_make_no_sense_are_refused(
    art: list[dict[str, Any]], changes: dict[str, Any], said: str
) -> None:
    """Each with the field at fault and what to do."""
    with pytest.raises(ValidationError, match=said):
        order(*art, **changes)


def test_two_tones_go_with_several() -> None:
    """Art in ink alone counts as the darkest, beside art in three tones."""
    assert order(PHOTOS, {"svg": {"href": "a"}}).tones_count == 4


def test_limits_of_a_design_that_is_examined_grow_too() -> None:
    """The step alone holds its limits to the same rule."""
    with pytest.raises(ValidationError, match="no less than 'depth_limit'"):
        ResolvabilityInputs.model_validate(
            {"design": {"href": "d"}, "bit": "vee-90", "depth_limit": 2, "paler_limits": [2.5]}
        )
