"""A request becomes steps, and steps hand on files."""

from typing import Any

import pytest
from pydantic import ValidationError

from schemas.jobs import JobStatus
from schemas.problems import FieldError, ProblemCode, problem
from schemas.processes import PROCESSES, Pool
from schemas.requests import LayoutInputs, SignOrder, TracingInputs
from schemas.steps import (
    Step,
    cache_key,
    hrefs_in,
    in_request,
    job_outputs,
    output_of,
    resolved_inputs,
    steps_of,
)

ORDER: dict[str, Any] = {
    "board": {"width": "400 mm", "height": "180 mm", "thickness": "3/4 in", "material": "basswood"},
    "art": [
        {"photos": [{"href": "/artifacts/sha256:" + "a" * 64}]},
        {"svg": {"href": "/artifacts/sha256:" + "b" * 64}},
    ],
    "incise": {"bit": "vee-90", "depth_limit": "2.5 mm"},
}
SIGN = SignOrder.model_validate(ORDER)


def test_a_sign_is_all_stages_in_order() -> None:
    """Photos are taken in and traced, SVG is traced, then the whole board goes through the later stages."""
    assert [step.id for step in steps_of("sign", SIGN)] == [
        "art1-intake",
        "art1-tracing",
        "art2-tracing",
        "layout",
        "resolvability",
        "toolpaths",
        "machine-code",
        "verification",
        "bundle",
    ]


def test_every_step_is_valid_input_of_its_process() -> None:
    """What planning writes, the stage's own model accepts once its links are artifacts."""
    steps = steps_of("sign", SIGN)
    done: dict[str, dict[str, str]] = {}
    for step in steps:
        PROCESSES[step.process].inputs.model_validate(resolved_inputs(step, done))
        done[step.id] = dict.fromkeys(PROCESSES[step.process].outputs, "sha256:" + "c" * 64)


def test_photos_to_be_merged_are_merged_by_intake() -> None:
    """The art's wish reaches the step that can grant it; of a picture or an SVG it cannot be asked."""
    order = ORDER | {"art": [ORDER["art"][0] | {"merge": True}]}
    first = steps_of("sign", SignOrder.model_validate(order))[0]
    assert first.inputs["merge"] is True
    with pytest.raises(ValidationError, match="give 'photos'"):
        SignOrder.model_validate(ORDER | {"art": [ORDER["art"][1] | {"merge": True}]})


def test_layout_alone_takes_photos_too() -> None:
    """A layout order may hold photos; they are traced first."""
    order = LayoutInputs.model_validate({key: ORDER[key] for key in ("board", "art")})
    assert [step.process for step in steps_of("layout", order)] == ["intake", "tracing", "tracing", "layout"]


def test_a_stage_alone_is_one_step_on_its_pool() -> None:
    """Single processes run as they are asked."""
    inputs = TracingInputs.model_validate({"image": {"href": "x"}})
    (step,) = steps_of("tracing", inputs)
    assert (step.process, step.pool) == ("tracing", Pool.TRACING)


def test_links_between_steps_become_artifacts() -> None:
    """The layout step names the artifact that tracing left."""
    layout = next(step for step in steps_of("sign", SIGN) if step.id == "layout")
    outputs = {"art1-tracing": {"art": "sha256:1"}, "art2-tracing": {"art": "sha256:2"}}
    art = resolved_inputs(layout, outputs)["art"]
    assert [item["svg"]["href"] for item in art] == ["/artifacts/sha256:1", "/artifacts/sha256:2"]


def test_a_link_to_nothing_is_an_error() -> None:
    """No step runs on an output that is not there."""
    layout = next(step for step in steps_of("sign", SIGN) if step.id == "layout")
    with pytest.raises(KeyError):
        resolved_inputs(layout, {})


def test_programs_enter_the_bundle_under_their_names() -> None:
    """They are known only when they have been written."""
    step = Step(id="bundle", process="bundle", inputs={"order": {}, "files": {}})
    outputs = {"machine-code": {"programs/01-incise-vee-90.ngc": "sha256:1", "programs": "sha256:2"}}
    assert list(resolved_inputs(step, outputs)["files"]) == ["programs/01-incise-vee-90.ngc"]


def test_no_program_leaves_without_a_bundle() -> None:
    """A job that ends at verification has reports among its results, and no programs."""
    steps = steps_of("sign", SIGN)
    outputs = {
        "machine-code": {"programs/01-incise-vee-90.ngc": "sha256:1", "programs": "sha256:2"},
        "verification": {"proof": "sha256:3", "preview": "sha256:4"},
    }
    assert set(job_outputs("sign", steps, outputs)) == {"proof", "preview"}
    proven = outputs | {"bundle": {"bundle": "sha256:5"}}
    assert "programs/01-incise-vee-90.ngc" in job_outputs("sign", steps, proven)


def test_results_of_a_sign_are_all_described() -> None:
    """Every name that steps can leave has a file name and a media type."""
    steps = steps_of("sign", SIGN)
    outputs = {step.id: dict.fromkeys(PROCESSES[step.process].outputs, "sha256:1") for step in steps}
    files = {output_of("sign", name).file for name in job_outputs("sign", steps, outputs)}
    assert {
        "bundle.zip",
        "proof.json",
        "art.svg",
        "art1-intake.json",
        "art1-found.png",
        "art2-tracing.json",
        "design.svg",
    } <= files


def test_results_of_a_layout_with_art_are_all_described() -> None:
    """The art traced on the way is among them, under the names it has in a sign."""
    order = LayoutInputs.model_validate({key: ORDER[key] for key in ("board", "art")})
    steps = steps_of("layout", order)
    outputs = {step.id: dict.fromkeys(PROCESSES[step.process].outputs, "sha256:1") for step in steps}
    files = {output_of("layout", name).file for name in job_outputs("layout", steps, outputs)}
    assert {"design.json", "design.svg", "art.svg", "art2-art.svg", "art1-tracing.json"} <= files


def test_the_cache_key_follows_inputs_and_versions() -> None:
    """Another depth limit, another key; the same words, the same key."""
    step = Step(id="a", process="tracing", inputs={})
    keys = {
        cache_key(step, {"tolerance": 0.02}, "1"),
        cache_key(step, {"tolerance": 0.03}, "1"),
        cache_key(step, {"tolerance": 0.02}, "2"),
    }
    assert len(keys) == 3
    assert cache_key(step, {"b": 1, "a": 2}, "1") == cache_key(step, {"a": 2, "b": 1}, "1")


@pytest.mark.parametrize(
    ("step_id", "process", "pointer", "in_order"),
    [
        ("art1-intake", "intake", "/inputs/photos/1", "/inputs/art/0/photos/1"),
        ("art2-tracing", "tracing", "/inputs/image", "/inputs/art/1"),
        ("layout", "layout", "/inputs/lettering/0/text", "/inputs/lettering/0/text"),
        ("resolvability", "resolvability", "/inputs/bit", "/inputs/incise/bit"),
    ],
)
def test_a_steps_error_points_into_the_order(step_id: str, process: str, pointer: str, in_order: str) -> None:
    """The client knows its own request, not how it was cut into steps."""
    told = problem(
        ProblemCode.INPUT_REJECTED, "no", errors=[FieldError(pointer=pointer, detail="no", remedy="yes")]
    )
    step = Step(id=step_id, process=process, inputs={})
    assert in_request("sign", step, told).errors[0].pointer == in_order
    assert in_request(process, step, told).errors[0].pointer == pointer


def test_hrefs_are_found_with_their_pointers() -> None:
    """Each link is known by its place in the request."""
    assert next(hrefs_in(ORDER, "/inputs")) == (
        "/inputs/art/0/photos/0/href",
        "/artifacts/sha256:" + "a" * 64,
    )


def test_final_states_are_the_three_ends() -> None:
    """A job is over when it is successful, failed or dismissed."""
    assert [status for status in JobStatus if status.is_final] == ["successful", "failed", "dismissed"]
