"""What is checked of a request against what is offered: names, kinds of bits, the machine's travel."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from api.field_errors import json_pointer
from api.problem_responses import request_problem
from api.request_checks import Capabilities, check_names
from schemas.problems import FieldError, ProblemCode, Refusal

_KINDS = {  # by where a bit stands in a request: what it must be, and why
    ("bit",): (("vee",), "grooves are cut with a V-bit"),
    ("incise", "bit"): (("vee",), "grooves are cut with a V-bit"),
    ("clear", "bit"): (("flat",), "floors are cleared with an end mill"),
    ("clear", "finer"): (("flat",), "floors are cleared with an end mill"),
    ("cutout", "bit"): (("flat",), "a board is cut out with an end mill"),
    ("hangers", "bit"): (("keyhole",), "slots that hold a screw's head are cut with a keyhole bit"),
    ("drill", "bit"): (("drill", "flat"), "holes are made with a drill or an end mill"),
}
_CALLED = {
    "vee": "a V-bit",
    "flat": "an end mill",
    "ball": "a ball nose",
    "drill": "a drill",
    "keyhole": "a keyhole bit",
}
_BESIDE = {"outside": 1.0, "on": 0.0, "inside": -1.0}  # of the bit's diameter, over the board's two sides
_SIDES = (("width", "travel_x_mm"), ("height", "travel_y_mm"))


def check_offers(inputs: Mapping[str, Any], capabilities: Capabilities) -> None:
    """Return if all named is offered, each bit is of its kind, and the machine reaches round the board.

    The work would find the same, but only when its stage's turn comes.

    Args:
        inputs: The inputs of a process: validated, as JSON; lengths in mm.
        capabilities: What this installation offers.

    Raises:
        Refusal: unknown-name or parameter-out-of-range, with each field and what would do.
    """
    check_names(inputs, capabilities)
    bits = {str(row["name"]): row.get("in_full", {}) for row in capabilities.get("bits", ())}
    errors = [*_wrong_kinds(inputs, bits), *_beyond_travel(inputs, bits, capabilities)]
    if errors:
        raise Refusal(request_problem(errors, ProblemCode.PARAMETER_OUT_OF_RANGE))


def _wrong_kinds(inputs: Mapping[str, Any], bits: Mapping[str, Any]) -> Iterator[FieldError]:
    for place, (kinds, why) in _KINDS.items():
        for where, bit in _bits_at(inputs, place, ("inputs",)):
            kind = _in_full(bit, bits).get("kind")
            if kind is None or kind in kinds:
                continue
            name = f"'{bit}' is" if isinstance(bit, str) else "this is"
            fitting = [each for each, words in bits.items() if words.get("kind") in kinds]
            yield FieldError(
                pointer=json_pointer(where),
                detail=f"{name} {_CALLED[kind]}, and {why}",
                remedy=f"Name one of {', '.join(fitting)}; or describe one with kind '{kinds[0]}'.",
            )


def _beyond_travel(
    inputs: Mapping[str, Any], bits: Mapping[str, Any], capabilities: Capabilities
) -> Iterator[FieldError]:
    """Tell a board that the machine cannot go round: one that is cut out has the bit beside it."""
    board, cutout = _at(inputs, ("board",)), _at(inputs, ("cutout",))
    waived = [waiver["gate"] for waiver in inputs.get("waivers", ())]
    if not board or not cutout or "outside-envelope" in waived:
        return
    machines = {str(row["name"]): row for row in capabilities.get("machines", ())}
    machine = machines.get(inputs.get("machine", ""), {})
    beside_mm = _BESIDE[cutout["side"]] * _in_full(cutout["bit"], bits).get("diameter", 0.0)
    for side, travel in _SIDES:
        wanted_mm = board[side] + beside_mm
        if wanted_mm <= machine.get(travel, wanted_mm):
            continue
        larger = [name for name, row in machines.items() if _reaches(row, board, beside_mm)]
        other = f"Take machine {' or '.join(larger)}, or m" if larger else "M"
        yield FieldError(
            pointer=f"/inputs/board/{side}",
            detail=f"cutting out {board[side]:g} mm takes {wanted_mm:g} mm of travel, and {machine['name']} "
            f"has {machine[travel]:g} mm",
            remedy=f"{other}ake the {side} at most {machine[travel] - beside_mm:g} mm.",
        )


def _reaches(machine: Mapping[str, Any], board: Mapping[str, Any], beside_mm: float) -> bool:
    return all(board[side] + beside_mm <= machine.get(travel, 0.0) for side, travel in _SIDES)


def _at(inputs: Mapping[str, Any], place: Sequence[str]) -> Any:
    value: Any = inputs
    for part in place:
        value = value.get(part) if isinstance(value, dict) else None
    return value


def _bits_at(
    value: Any, place: Sequence[str], where: tuple[str | int, ...]
) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    """Yield each bit that a place leads to, through lists as well, with where it stands."""
    if isinstance(value, list):
        for number, item in enumerate(value):
            yield from _bits_at(item, place, (*where, number))
    elif not place:
        if value is not None:
            yield where, value
    elif isinstance(value, Mapping):
        yield from _bits_at(value.get(place[0]), place[1:], (*where, place[0]))


def _in_full(bit: Any, bits: Mapping[str, Any]) -> Mapping[str, Any]:
    described: Mapping[str, Any] = bits.get(bit, {}) if isinstance(bit, str) else bit
    return described
