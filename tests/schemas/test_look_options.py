"""What an order may say about the page beside the machine, and about the pictures."""

import pytest
from pydantic import ValidationError

from schemas.requests import SignOrder
from schemas.steps import steps_of
from tests.schemas.test_steps import ORDER


@pytest.mark.parametrize(
    ("said", "where", "words"),
    [
        ({"setup_sheet": {"paper": "a3"}}, ("setup_sheet", "paper"), "'a4' or 'letter'"),
        ({"setup_sheet": {"units": "cm"}}, ("setup_sheet", "units"), "'mm' or 'in'"),
        ({"setup_sheet": {"colour": "red"}}, ("setup_sheet", "colour"), "Extra inputs"),
        ({"preview": {"paint": "blue"}}, ("preview", "paint"), "#"),
        ({"preview": {"paint": "#12345"}}, ("preview", "paint"), "#"),
        ({"preview": {"oblique": "from the left"}}, ("preview", "oblique"), "valid boolean"),
    ],
)
def test_a_look_that_is_not_known_is_refused_by_field(
    said: dict[str, object], where: tuple[str, ...], words: str
) -> None:
    """Each option has its own field and names what it may be."""
    with pytest.raises(ValidationError, match=words) as refused:
        SignOrder.model_validate(ORDER | said)
    assert refused.value.errors()[0]["loc"] == where


def test_an_order_that_says_nothing_gets_a4_and_mm() -> None:
    """And the order written into the bundle says so."""
    look = SignOrder.model_validate(ORDER).model_dump()["setup_sheet"]
    assert look == {"paper": "a4", "units": "mm"}


def test_the_oblique_view_is_in_the_bundle_where_it_was_asked_for() -> None:
    """And the proof is told of paint and view; else no file is looked for that nobody drew."""
    for asked in (True, False):
        order = SignOrder.model_validate(ORDER | {"preview": {"paint": "#1f4e79", "oblique": asked}})
        inputs = {step.id: step.inputs for step in steps_of("sign", order)}
        assert inputs["verification"]["preview"] == {"paint": "#1f4e79", "oblique": asked}
        assert ("preview-oblique.png" in inputs["bundle"]["files"]) is asked
        assert "depth-key.png" in inputs["bundle"]["files"]
