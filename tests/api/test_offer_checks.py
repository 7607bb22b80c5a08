"""What an order names is held against what is offered before a job is made, as the work itself would."""

from collections.abc import Callable
from typing import Any

import pytest

from api.offer_checks import check_offers
from api.request_checks import validated_inputs
from schemas import cuts
from schemas.boards import Hanger
from schemas.problems import FieldError, ProblemCode, Refusal
from schemas.requests import ResolvabilityInputs, SignOrder
from tests.support.front_desk import sign_inputs
from workers.errors import ParameterOutOfRangeError
from workers.pipeline import cut_words, design_words
from workers.pipeline.capabilities import capabilities

Work = Callable[[dict[str, Any]], object]
OFFERED = capabilities()
ONE_OF_EACH_KIND = ["vee-60", "flat-1/8in", "ball-1/8in", "drill-5mm", "keyhole-1/4in"]


def refused(**changes: Any) -> list[FieldError]:
    """Return what is refused of a small order with changes; nothing if it is accepted."""
    order = validated_inputs(SignOrder, sign_inputs() | changes)
    try:
        check_offers(order.model_dump(mode="json", exclude_none=True), OFFERED)
    except Refusal as refusal:
        return refusal.document.errors
    return []


def place_refused_by(work: Work, words: dict[str, Any]) -> list[str | None]:
    """Return the field at which a stage refuses, in a list; an empty one if it takes the words."""
    try:
        work(words)
    except ParameterOutOfRangeError as error:
        return [error.field]
    return []


@pytest.mark.parametrize("bit", ONE_OF_EACH_KIND)
@pytest.mark.parametrize(
    ("field", "said", "of_the_work"),
    [
        ("incise", {"depth_limit": 2}, lambda words: cut_words.incise_cuts(cuts.Incise(**words))),
        ("clear", {}, lambda words: cut_words.clear_cut(cuts.Clear(**words))),
        ("cutout", {}, lambda words: cut_words.cutout_cut(cuts.Cutout(**words))),
    ],
)
def test_the_door_and_the_work_agree_on_kinds(
    bit: str, field: str, said: dict[str, Any], of_the_work: Work
) -> None:
    """Each kind of bit at each place is taken by both or refused by both."""
    words = {"bit": bit, **said}

    at_the_door = [told.pointer for told in refused(**{field: words})]

    assert at_the_door == place_refused_by(of_the_work, words)


def test_a_bit_of_another_kind_is_told_with_those_that_fit() -> None:
    """One of the names proposed is accepted in its place."""
    (told,) = refused(clear={"bit": "vee-90"})

    assert told.pointer == "/inputs/clear/bit"
    assert told.detail == "'vee-90' is a V-bit, and floors are cleared with an end mill"
    assert "flat-1/4in" in told.remedy
    assert refused(clear={"bit": "flat-1/4in"}) == []


def test_bits_in_full_and_in_lists_are_looked_at_too() -> None:
    """Each at its own place."""
    ball = {"kind": "ball", "diameter": 3, "cutting_length": 12}
    told = refused(
        incise={"bit": ["vee-90", "flat-3mm"], "depth_limit": 2}, clear={"bit": "flat-6mm", "finer": [ball]}
    )

    assert [each.pointer for each in told] == ["/inputs/incise/bit/1", "/inputs/clear/finer/0"]
    assert told[1].detail == "this is a ball nose, and floors are cleared with an end mill"


def test_the_bit_of_resolvability_is_a_v_bit() -> None:
    """It stands at the top of its inputs."""
    inputs = {"art": {"href": "tern.svg"}, "bit": "drill-3mm", "depth_limit": 2}
    validated = validated_inputs(ResolvabilityInputs, inputs)

    with pytest.raises(Refusal, match="grooves are cut with a V-bit") as refusal:
        check_offers(validated.model_dump(mode="json", exclude_none=True), OFFERED)

    assert refusal.value.document.code is ProblemCode.PARAMETER_OUT_OF_RANGE


def test_a_board_the_machine_cannot_go_round_is_refused_by_its_side() -> None:
    """600 mm of travel less a bit of 3.175 mm is 596.825 mm of board; what the remedy says is accepted."""
    board = sign_inputs()["board"] | {"width": 598}

    (told,) = refused(board=board)

    assert told.pointer == "/inputs/board/width"
    assert told.detail == "cutting out 598 mm takes 601.175 mm of travel, and bench-600 has 600 mm"
    assert told.remedy == "Take machine shop-1200, or make the width at most 596.825 mm."
    assert refused(board=board | {"width": 596.825}) == []
    assert refused(board=board, machine="shop-1200") == []
    assert refused(board=board, cutout={"bit": "flat-1/8in", "side": "on"}) == []


def test_a_board_that_is_not_cut_out_or_waived_goes_to_the_proof() -> None:
    """Only what is cut has to be reached, and an order may waive the machine's limits."""
    board = sign_inputs()["board"] | {"width": 700}

    assert refused(board=board, cutout=None) == []
    assert refused(board=board, waivers=[{"gate": "outside-envelope", "reason": "travel was measured"}]) == []


@pytest.mark.parametrize("bit", ONE_OF_EACH_KIND)
def test_the_door_and_the_work_agree_on_the_bits_of_hangers(bit: str) -> None:
    """Of the second of two: only a keyhole bit is taken."""
    hangers = [{"x": 30, "y": 40}, {"x": 90, "y": 40, "bit": bit}]

    at_the_door = [told.pointer for told in refused(hangers=hangers)]

    def work(words: dict[str, Any]) -> object:
        return design_words.hanger(Hanger.model_validate(words), "/inputs/hangers/1")

    assert at_the_door == place_refused_by(work, hangers[1])
