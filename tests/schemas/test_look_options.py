"""What an order may say about the page beside the machine."""

import pytest
from pydantic import ValidationError

from schemas.requests import SignOrder
from tests.schemas.test_steps import ORDER


@pytest.mark.parametrize(
    ("said", "where", "words"),
    [
        ({"setup_sheet": {"paper": "a3"}}, ("setup_sheet", "paper"), "'a4' or 'letter'"),
        ({"setup_sheet": {"units": "cm"}}, ("setup_sheet", "units"), "'mm' or 'in'"),
        ({"setup_sheet": {"colour": "red"}}, ("setup_sheet", "colour"), "Extra inputs"),
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
