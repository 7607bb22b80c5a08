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
        (
            {"preview": {"views": ["from below"]}},
            ("preview", "views", 0),
            "'oblique', 'close-up' or 'section'",
        ),
        ({"preview": {"grain": "uphill"}}, ("preview", "grain"), "angle"),
        ({"viewing_distance": 8}, ("viewing_distance",), "200"),  # metres were meant, millimetres are said
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


@pytest.mark.parametrize("asked", [[], ["oblique"], ["section", "close-up"]])
def test_views_are_in_the_bundle_where_they_were_asked_for(asked: list[str]) -> None:
    """And the proof is told of paint and views; else no file is looked for that nobody drew."""
    order = SignOrder.model_validate(ORDER | {"preview": {"paint": "#1f4e79", "views": asked}})
    inputs = {step.id: step.inputs for step in steps_of("sign", order)}
    assert inputs["verification"]["preview"] == {"paint": "#1f4e79", "views": asked}
    drawn = {name for name in inputs["bundle"]["files"] if name.startswith("preview-")}
    assert drawn == {f"preview-{view}.png" for view in asked}
    assert "depth-key.png" in inputs["bundle"]["files"]


@pytest.mark.parametrize(
    ("said", "seen"),
    [
        ({"clear": {"bit": "flat-1/8in", "pattern": "lines", "grain": 30}}, 30),
        ({"clear": {"bit": "flat-1/8in", "grain": 30}}, None),
        ({"clear": {"bit": "flat-1/8in", "pattern": "lines"}, "preview": {"grain": "90 deg"}}, 90),
    ],
)
def test_the_pictures_grain_is_that_along_which_floors_are_cleared(
    said: dict[str, object], seen: float | None
) -> None:
    """Rings have no grain; what the order says of the pictures comes first."""
    steps = steps_of("sign", SignOrder.model_validate(ORDER | said))
    inputs = next(step.inputs for step in steps if step.id == "verification")
    assert inputs["preview"].get("grain") == seen
