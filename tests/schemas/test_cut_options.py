"""What an order may say about cutting: limits, and errors that name the field."""

from typing import Any, get_args

import pytest
from pydantic import ValidationError

from schemas.cuts import Cutout, KeepOut
from schemas.requests import SignOrder
from schemas.steps import steps_of
from schemas.waivers import Gate
from tests.schemas.test_steps import ORDER
from workers.verification.waivers import WAIVABLE


@pytest.mark.parametrize(
    ("said", "where", "words"),
    [
        ({"past": "6 mm"}, ("past",), "less than or equal to 5"),
        ({"past": "3 mm", "bed": "3 mm"}, (), "goes through a bed of 3 mm"),
        ({"side": "beside"}, ("side",), "'outside', 'on' or 'inside'"),
        ({"direction": "up"}, ("direction",), "'climb' or 'conventional'"),
        ({"tabs": {"shape": "round"}}, ("tabs", "shape"), "'square' or 'sloped'"),
        ({"pass_depth": 0}, ("pass_depth",), "greater than 0"),
        ({"last_layer": -1}, ("last_layer",), "greater than or equal to 0"),
        ({"wall_allowance": 5}, ("wall_allowance",), "less than or equal to 3"),
    ],
)
def test_a_cutout_out_of_its_limits_is_refused_by_field(
    said: dict[str, Any], where: tuple[str, ...], words: str
) -> None:
    """Each limit has its own field and a sentence that says it."""
    with pytest.raises(ValidationError, match=words) as refused:
        Cutout.model_validate({"bit": "flat-1/8in"} | said)
    assert refused.value.errors()[0]["loc"] == where


def test_waivers_reach_the_proof_with_their_reasons() -> None:
    """What the order lets pass is said where it is judged."""
    waivers = [{"gate": "tabs-too-weak", "reason": "held by a vacuum bed"}]
    order = SignOrder.model_validate(ORDER | {"waivers": waivers})
    inputs = {step.id: step.inputs for step in steps_of("sign", order)}
    assert inputs["verification"]["waivers"] == waivers


@pytest.mark.parametrize(
    ("waivers", "words"),
    [
        ([{"gate": "spindle-off", "reason": "no fear"}], "Input should be"),
        ([{"gate": "overcut", "reason": ""}], "at least 3 characters"),
        ([{"gate": "overcut", "reason": "old wood"}] * 2, "overcut is waived twice"),
    ],
)
def test_waivers_of_what_can_hurt_or_without_a_reason_are_refused(
    waivers: list[dict[str, str]], words: str
) -> None:
    """A spindle that stands, an empty reason, and one gate twice."""
    with pytest.raises(ValidationError, match=words):
        SignOrder.model_validate(ORDER | {"waivers": waivers})


def test_the_wire_and_the_proof_know_the_same_gates() -> None:
    """One list is for the wire and one for the gates; neither may import the other."""
    assert set(get_args(Gate)) == WAIVABLE


def test_a_zone_without_a_size_is_refused() -> None:
    """'right' left of 'left'."""
    with pytest.raises(ValidationError, match="'right' must be more than 'left'"):
        KeepOut.model_validate({"left": 5, "bottom": 0, "right": 1, "top": 4})


def test_clamps_reach_both_the_planner_and_the_proof() -> None:
    """Zones of the order are in the inputs of the two stages."""
    zone = {"left": "-2 in", "bottom": 0, "right": -10, "top": "1 in", "height": "1/2 in"}
    order = SignOrder.model_validate(ORDER | {"keep_out": [zone]})
    inputs = {step.id: step.inputs for step in steps_of("sign", order)}
    in_mm = [{"left": -50.8, "bottom": 0.0, "right": -10.0, "top": 25.4, "height": 12.7}]

    assert inputs["toolpaths"]["keep_out"] == in_mm
    assert inputs["verification"]["keep_out"] == in_mm


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"shape": "star", "x": 1, "y": 1}, "'rectangle', 'slot', 'keyhole'"),
        ({"shape": "slot", "x": 1, "y": 1, "length": 5, "width": 5}, "longer than it is wide"),
        ({"shape": "keyhole", "x": 1, "y": 1, "head": 8, "neck": 8, "length": 20}, "narrower than its head"),
        ({"shape": "keyhole", "x": 1, "y": 1, "head": 8, "neck": 4, "length": 6}, "ends within the head"),
        (
            {"shape": "rectangle", "x": 1, "y": 1, "width": 9, "height": 5, "corner_radius": 3},
            "more than half of the shorter side",
        ),
    ],
)
def test_an_opening_that_is_none_is_refused(said: dict[str, Any], words: str) -> None:
    """Each shape has its own sizes and says what is wrong with them."""
    with pytest.raises(ValidationError, match=words):
        SignOrder.model_validate(ORDER | {"openings": [said], "cutout": {"bit": "flat-1/8in"}})


def test_openings_need_an_end_mill() -> None:
    """Neither a V-bit nor a drill cuts them."""
    slot = {"shape": "slot", "x": 30, "y": 30, "length": "1 in", "width": "1/4 in"}

    with pytest.raises(ValidationError, match="openings need an end mill"):
        SignOrder.model_validate(ORDER | {"openings": [slot]})


def test_the_orders_drill_reaches_the_proof() -> None:
    """How deep a drill may go in one stroke is said where it is judged."""
    order = SignOrder.model_validate(ORDER | {"drill": {"bit": "drill-5mm", "peck": 2.5}})
    inputs = {step.id: step.inputs for step in steps_of("sign", order)}
    assert inputs["verification"]["drill"] == inputs["toolpaths"]["drill"]
    assert inputs["verification"]["drill"]["peck"] == 2.5
