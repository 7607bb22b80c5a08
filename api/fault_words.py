"""What is wrong with a request, and what to do about it, in plain words."""

import json
import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from api.faults import Fault, discriminator
from api.near_names import near_names
from api.near_quantities import meant_angle, meant_length
from api.request_schema import description_of, field_names, is_link, schemas_at, unit_of
from schemas.base import NAME_PATTERN
from schemas.quantities import length_in_mm

Words = tuple[str, str]  # what is wrong, what to do


def shown(value: Any, longest: int = 48) -> str:
    """Return a value as it may stand in a message: JSON, cut short, no line breaks."""
    text = value if isinstance(value, str) else json.dumps(value, default=str)
    text = "".join(letter if letter.isprintable() else "?" for letter in text)
    return text if len(text) <= longest else text[: longest - 1] + "…"


def words_of(fault: Fault, schema: Mapping[str, Any], others: Sequence[Fault]) -> Words:
    """Return what is wrong and what helps.

    Args:
        fault: What is told.
        schema: JSON Schema of what was expected.
        others: All faults of the request: a missing field and an unknown one beside it may be the same.
    """
    if fault.kind == "extra_forbidden":
        return _unknown_field(fault, field_names(schemas_at(schema, fault.place[:-1])), others)
    here = schemas_at(schema, fault.place)
    if fault.kind in _BOUNDS:
        return _out_of_bounds(fault, unit_of(here))
    if fault.kind == "missing":
        return _missing(fault, unit_of(here))
    if fault.kind == "value_error":
        return _rule(fault)
    if fault.kind in _NO_OBJECT:
        return _no_object(fault, here)
    if fault.kind == "string_pattern_mismatch":
        return _wrong_letters(fault, description_of(here))
    told = _PLAIN.get(fault.kind)
    return told(fault) if told else (fault.message[0].lower() + fault.message[1:], "Change this value.")


_BOUNDS = {
    "greater_than": ("gt", "more than"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "less than"),
    "less_than_equal": ("le", "at most"),
}


def _out_of_bounds(fault: Fault, unit: str) -> Words:
    key, words = _BOUNDS[fault.kind]
    limit = f"{fault.limits[key]:g}{unit}"
    return (
        f"{shown(fault.value)} is out of range: it must be {words} {limit}",
        f"Give {words} {limit}." + (_larger_unit(fault.value, fault.limits[key]) if unit == " mm" else ""),
    )


def _larger_unit(value: Any, least_mm: float) -> str:
    """Return the unit in which a plain number would be long enough, as what was likely meant."""
    if not isinstance(value, int | float) or not 0 < value < least_mm:
        return ""
    ways = (f"{value:g} {unit}" for unit in ("in", "cm", "m"))
    meant = next((way for way in ways if length_in_mm(way) >= least_mm), None)
    return f" A plain number is millimetres: did you mean '{meant}'?" if meant else ""


def _missing(fault: Fault, unit: str) -> Words:
    if not fault.place:
        return "the body is missing", "Send a body of JSON with the 'inputs' of the process."
    name = fault.place[-1]
    if isinstance(name, int):
        return f"number {name + 1} of the list is missing", "Add it to the list."
    example = {" mm": ', for example "19 mm" or "3/4 in"', "°": ', for example "90 deg"'}.get(unit, "")
    return f"'{name}' is missing", f"Add '{name}'{example}."


def _unknown_field(fault: Fault, known: Sequence[str], others: Sequence[Fault]) -> Words:
    name = str(fault.place[-1])
    lacking = [
        str(other.place[-1])
        for other in others
        if other.kind == "missing" and other.place[:-1] == fault.place[:-1]
    ]
    near = near_names(name, known, 1) or (lacking if len(lacking) == 1 else [])
    listing = ", ".join(known)
    remedy = f"Did you mean '{near[0]}'?" if near else "Leave it out."
    return (
        f"there is no field '{shown(name)}' here",
        remedy + (f" The fields here are: {listing}." if known else ""),
    )


def _rule(fault: Fault) -> Words:
    """Part one of our own messages into what is wrong and what helps."""
    text = fault.message.removeprefix("Value error, ")
    wrong, colon, helps = text.partition(": ")
    if wrong.startswith("give "):
        wrong, helps = text, wrong
    elif wrong.startswith(("a length is ", "an angle is ")):
        wrong, helps = f"'{shown(fault.value)}' cannot be read", _how_to_write(wrong, fault.value)
    elif not colon:
        helps = "change this value"
    return wrong, helps[0].upper() + helps[1:] + "."


def _how_to_write(rule: str, value: Any) -> str:
    """Return how a length or an angle is written, after what was likely meant."""
    meant = meant_length if rule.startswith("a length") else meant_angle
    near = meant(value) if isinstance(value, str) else None
    return (f"did you mean '{near}'? Write it as " if near else "write it as ") + rule.partition(" is ")[2]


def _no_object(fault: Fault, here: Sequence[Mapping[str, Any]]) -> Words:
    """Show the fields that belong here; a file is the commonest of what is sent without them."""
    names = field_names(here)
    if is_link(here):
        name = fault.value if isinstance(fault.value, str) and fault.value.isprintable() else "tern.svg"
        remedy = f"Write a link to the file: {json.dumps({'href': shown(name)}, ensure_ascii=False)}."
    elif names:
        remedy = f"Write a group of named fields in curly brackets. The fields here are: {', '.join(names)}."
    else:
        remedy = 'Write a group of named fields, like {"width": "40 mm"}.'
    return f"{shown(fault.value)} is no group of fields", remedy


def _wrong_letters(fault: Fault, description: str) -> Words:
    if fault.limits.get("pattern") == NAME_PATTERN or not description:
        return (
            f"'{shown(fault.value)}' has characters that do not belong here",
            "Use letters, digits, spaces and . / _ - only, and begin with a letter or digit.",
        )
    return f"'{shown(fault.value)}' is not of the form that belongs here", f"Give this: {description}."


def _one_of(fault: Fault) -> Words:
    allowed = str(fault.limits.get("expected") or fault.limits.get("expected_tags"))
    near = near_names(shown(fault.limits.get("tag", fault.value)), re.findall(r"'([^']*)'", allowed), 1)
    wrong = shown(fault.limits.get("tag", fault.value))
    return f"'{wrong}' is not offered here", f"Give one of {allowed}." + (
        f" Did you mean '{near[0]}'?" if near else ""
    )


def _no_kind(fault: Fault) -> Words:
    key = discriminator(fault)
    return f"'{key}' is missing", f"Add '{key}': it tells which fields belong here."


def _kind(wanted: str, remedy: str) -> Callable[[Fault], Words]:
    return lambda fault: (f"{shown(fault.value)} is no {wanted}", remedy)


def _count(words: str, remedy: str) -> Callable[[Fault], Words]:
    return lambda fault: (words.format(**fault.limits), remedy.format(**fault.limits))


_NO_OBJECT = {"model_type", "model_attributes_type", "dict_type"}
_TEXT = _kind("text", "Write text in quotes.")
_NUMBER = _kind("number", "Write a plain number, without quotes.")
_WHOLE = _kind("whole number", "Write a whole number, like 4.")
_YES_NO = _kind("yes or no", "Write true or false.")
_LIST = _kind("list", "Write a list in square brackets.")
_PLAIN: dict[str, Callable[[Fault], Words]] = {
    "string_type": _TEXT,
    "string_unicode": _kind("readable text", "Write the text in UTF-8 without broken characters."),
    "float_type": _NUMBER,
    "float_parsing": _NUMBER,
    "finite_number": _kind("finite number", "Write an ordinary number."),
    "int_type": _WHOLE,
    "int_parsing": _WHOLE,
    "int_from_float": _WHOLE,
    "int_parsing_size": _WHOLE,
    "bool_type": _YES_NO,
    "bool_parsing": _YES_NO,
    "list_type": _LIST,
    "tuple_type": _LIST,
    "literal_error": _one_of,
    "enum": _one_of,
    "union_tag_invalid": _one_of,
    "union_tag_not_found": _no_kind,
    "string_too_short": _count("the text is too short", "Write at least {min_length} character(s)."),
    "string_too_long": _count("the text is too long", "Write at most {max_length} characters."),
    "too_short": _count("the list has {actual_length} entries", "Give at least {min_length}."),
    "too_long": _count("the list is too long", "Give at most {max_length}."),
}
