"""What is wrong with a request is said in plain words, at its place, with what to do."""

from typing import Any

import pytest
from pydantic import ValidationError

from api.fault_words import shown
from api.field_errors import field_errors, json_pointer
from api.request_checks import validated_inputs
from api.request_schema import schema_of
from api.routes.execution import BODY_MODELS
from schemas.problems import FieldError, Refusal
from schemas.requests import SignOrder
from tests.support.front_desk import sign_inputs


def faults(**changes: Any) -> list[FieldError]:
    """Return what is said about a sign order with changes; ``board__width`` is the width of the board."""
    inputs: Any = sign_inputs()
    for path, value in changes.items():
        *parents, name = path.split("__")
        place = inputs
        for parent in parents:
            place = place[parent]
        place[name] = value
    with pytest.raises(Refusal) as refused:
        validated_inputs(SignOrder, inputs)
    return refused.value.document.errors


def fault(**changes: Any) -> FieldError:
    """Return the one fault there is."""
    (only,) = faults(**changes)
    return only


def test_an_unknown_field_names_the_nearest() -> None:
    """'widht' is answered with 'width', and with all fields that may stand there."""
    told = fault(board__widht=3)

    assert told.pointer == "/inputs/board/widht"
    assert "Did you mean 'width'?" in told.remedy
    assert "corner_radius" in told.remedy


def test_an_unknown_field_like_no_other_is_to_be_left_out() -> None:
    """Nothing is guessed where nothing is near."""
    assert fault(zebra=1).remedy.startswith("Leave it out.")


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ("-5 mm", "-5 mm is out of range: it must be at least 10 mm"),
        (4, "4 is out of range: it must be at least 10 mm"),
        ("4 m", "4 m is out of range: it must be at most 3000 mm"),
    ],
)
def test_a_length_out_of_range_is_told_with_its_unit(value: Any, says: str) -> None:
    """The limit is told in millimetres, the value as it was written."""
    assert fault(board__width=value).detail == says


@pytest.mark.parametrize("value", ["5 furlongs", "wide", "mm", "1/0 in", True, None, float("nan")])
def test_what_is_no_length_is_one_fault_at_its_place(value: Any) -> None:
    """Whatever stands for a length, one error says so, and how to write it."""
    told = fault(board__width=value)

    assert told.pointer == "/inputs/board/width"
    assert told.remedy


def test_a_missing_length_is_asked_for_with_an_example() -> None:
    """The example shows text with a unit."""
    told = fault(board={"height": 180, "thickness": 19, "material": "basswood"})

    assert told.pointer == "/inputs/board/width"
    assert told.remedy == 'Add \'width\', for example "19 mm" or "3/4 in".'


@pytest.mark.parametrize(
    ("bit", "place", "says"),
    [
        ({"kind": "vee", "diameter": 6}, "/included_angle", "'included_angle' is missing"),
        ({"kind": "saw", "diameter": 6}, "/kind", "'saw' is not offered here"),
        ({"diameter": 6}, "", "'kind' is missing"),
        (5, "", "5 is no text"),
        ("", "", "the text is too short"),
        ("a\nb", "", "'a?b' has characters that do not belong here"),
    ],
)
def test_a_choice_of_kinds_is_told_as_the_kind_that_was_meant(bit: Any, place: str, says: str) -> None:
    """A bit is a name or a description: only the faults of the likelier one are told."""
    told = fault(incise__bit=bit)

    assert told.pointer == "/inputs/incise/bit" + place
    assert told.detail == says


@pytest.mark.parametrize(
    ("sheet", "place"),
    [
        ("a7", ""),
        (4, ""),
        ({"width": 200}, "/height"),
        ({"length": 5, "between": [[1, 2], [3]]}, "/between/1/1"),
    ],
)
def test_a_sheet_of_three_kinds_is_one_fault(sheet: Any, place: str) -> None:
    """A sheet is a name, a size or a known length; eleven errors of pydantic's become one."""
    told = fault(art=[{"svg": {"href": "tern.svg"}, "sheet": sheet}])

    assert told.pointer == "/inputs/art/0/sheet" + place


def test_a_board_thinner_than_the_depth_limit_points_at_the_limit() -> None:
    """A rule over two fields points at the one to be changed."""
    told = fault(incise__depth_limit="30 mm")

    assert told.pointer == "/inputs/incise/depth_limit"
    assert told.detail == "the depth limit of 30 mm would go through a board of 19.05 mm"
    assert told.remedy == "Lower 'incise/depth_limit' or take a thicker board."


def test_a_corner_radius_too_large_points_at_itself() -> None:
    """A rule inside the board points there too."""
    assert fault(board__corner_radius=120).pointer == "/inputs/board/corner_radius"


def test_several_faults_are_all_told() -> None:
    """One answer is enough to mend the whole request."""
    pointers = [told.pointer for told in faults(repair="maybe", unresolved="refus", holes=[{"x": 1}])]

    assert pointers == [
        "/inputs/holes/0/y",
        "/inputs/holes/0/diameter",
        "/inputs/repair",
        "/inputs/unresolved",
    ]


@pytest.mark.parametrize("inputs", [None, [], "board", 3])
def test_inputs_that_are_no_group_of_fields_are_one_fault(inputs: Any) -> None:
    """The pointer is that of the inputs themselves."""
    with pytest.raises(Refusal) as refused:
        validated_inputs(SignOrder, inputs)

    assert [told.pointer for told in refused.value.document.errors] == ["/inputs"]


def test_every_fault_has_a_remedy() -> None:
    """A person is never left without what to do."""
    told = faults(
        board={"width": [], "height": {}, "thickness": "x", "material": 3, "corner_radius": -1},
        art="none",
        lettering=[{"text": "", "cap_height": 1, "x": "a", "y": None, "align": "middle", "turn": "90"}],
        holes=[{"x": 1, "y": 1, "diameter": 0}] * 2,
        cutout={"bit": "a", "tabs": {"count": 1.5}},
    )

    assert len(told) >= 14
    assert all(each.remedy.endswith((".", "?")) and each.detail for each in told)


def test_pointers_are_those_of_rfc_6901() -> None:
    """RFC 6901, section 5: '/' is written '~1', '~' is written '~0'."""
    assert json_pointer(["a/b"]) == "/a~1b"
    assert json_pointer(["m~n"]) == "/m~0n"
    assert json_pointer([]) == ""


def test_values_in_messages_are_short_and_plain() -> None:
    """Nothing that a client sends can break a line or fill a log."""
    assert shown("a\r\nb\x1b[31m") == "a??b?[31m"
    assert len(shown("x" * 1000)) == 48


def test_a_choice_within_a_repair_is_told_as_that_and_not_as_no_yes_or_no() -> None:
    """Who writes an object means the object."""
    told = fault(repair={"walls": "fuze"})

    assert told.pointer == "/inputs/repair/walls"
    assert "'fuse'" in told.remedy
    assert fault(repair="perhaps").pointer == "/inputs/repair"


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("8 inchs", "8 in"),
        ("200 MM", "200 mm"),
        ("190,5 mm", "190.5 mm"),
        ("200", "200 mm"),
        ("7\N{VULGAR FRACTION THREE QUARTERS} in", "7 3/4 in"),
        ("0.2 metres", "0.2 m"),
        ("8\N{DOUBLE PRIME}", "8 in"),
    ],
)
def test_a_length_written_otherwise_is_answered_with_how_it_must_be(written: str, meant: str) -> None:
    """What is proposed can be sent as it stands."""
    told = fault(board__width=written)

    assert told.remedy.startswith(f"Did you mean '{meant}'?")
    assert validated_inputs(SignOrder, sign_inputs() | {"board": {**sign_inputs()["board"], "width": meant}})


@pytest.mark.parametrize("written", ["1,000 mm", "1.57 rad", "wide", "5 furlongs", "", "3/0 in"])
def test_no_length_is_guessed_where_two_could_be_meant_or_none(written: str) -> None:
    """A comma before three digits may part thousands."""
    assert "Did you mean" not in fault(board__width=written).remedy


def test_an_angle_without_its_unit_is_answered_with_it() -> None:
    """As for lengths."""
    assert fault(lettering=[{"text": "A", "cap_height": 9, "x": 1, "y": 1, "turn": "90"}]).remedy.startswith(
        "Did you mean '90 deg'?"
    )


@pytest.mark.parametrize(
    ("changes", "meant"),
    [
        ({"board__width": 8}, "8 in"),
        ({"board__width": 0.2}, "0.2 m"),
        ({"viewing_distance": 5}, "5 m"),
    ],
)
def test_a_plain_number_too_small_is_told_to_be_millimetres(changes: dict[str, Any], meant: str) -> None:
    """Who sends 8 for eight inches sees it; what is proposed lies within the bound."""
    told = fault(**changes)

    assert told.remedy.endswith(f" A plain number is millimetres: did you mean '{meant}'?")


def test_no_unit_is_proposed_where_none_helps() -> None:
    """Too large a number, a negative one, and text that has its unit."""
    assert fault(board__width=4000).remedy == "Give at most 3000 mm."
    assert fault(board__width=-8).remedy == fault(board__width="8 mm").remedy == "Give at least 10 mm."


def test_an_unknown_field_beside_a_missing_one_is_taken_for_it() -> None:
    """'size' is no near name of 'cap_height', but it is the only one that can be meant."""
    told = faults(lettering=[{"text": "A", "size": 9, "x": 1, "y": 1}])

    assert [each.pointer for each in told] == ["/inputs/lettering/0/cap_height", "/inputs/lettering/0/size"]
    assert told[1].remedy.startswith("Did you mean 'cap_height'?")


@pytest.mark.parametrize(
    ("changes", "remedy"),
    [
        ({"art": [{"svg": "tern.svg"}]}, 'Write a link to the file: {"href": "tern.svg"}.'),
        ({"holes": [4]}, "The fields here are: x, y, diameter."),
        ({"art": [{"svg": {"href": "a.svg"}, "sheet": "A4"}]}, "Did you mean 'a4'?"),
        ({"preview": {"paint": "blue"}}, "as '#1f4e79'"),
    ],
)
def test_the_remedy_shows_what_belongs_there(changes: dict[str, Any], remedy: str) -> None:
    """A link, the names of fields, a name in small letters, a colour by its form."""
    assert remedy in fault(**changes).remedy


def test_fields_without_inputs_around_them_are_one_fault() -> None:
    """The commonest first mistake is not told as one error for each field."""
    model = BODY_MODELS["/processes/sign/execution"]
    with pytest.raises(ValidationError) as refused:
        model.model_validate(sign_inputs())

    (told,) = field_errors(refused.value.errors(), sign_inputs(), schema_of(model))

    assert told.pointer == "/inputs"
    assert '{"inputs": {...}}' in told.remedy
