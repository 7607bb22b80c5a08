"""What pydantic found wrong with a request, told in plain words, one error a field."""

import difflib
import json
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from api.request_schema import field_names, schemas_at, unit_of
from schemas.problems import FieldError

Words = tuple[str, str]  # what is wrong, what to do
_WRONG_KIND = {
    *("model_type", "model_attributes_type", "string_type", "dict_type", "list_type", "tuple_type"),
    "bool_type",
}
_TO_BE_CHANGED = re.compile(r"lower '([a-z_/]+)'")


@dataclass(frozen=True, slots=True)
class _Fault:
    """One error of pydantic's, with its place found in what was sent."""

    kind: str
    place: tuple[str | int, ...]  # keys and indices that lead into the request
    union: tuple[str | int, ...] | None  # where a choice of kinds stood, if one did
    branch: str  # which of the kinds this error speaks about
    value: Any
    limits: Mapping[str, Any]
    message: str


def field_errors(
    errors: Iterable[Mapping[str, Any]], request: Any, schema: Mapping[str, Any]
) -> list[FieldError]:
    """Return one plain error for each field at fault, in the order of the request's fields.

    Args:
        errors: ``errors()`` of a pydantic validation, locations counted from the request's root.
        request: What was sent: the JSON value.
        schema: JSON Schema of what was expected.
    """
    faults = _nearest_kinds([_located(error, request) for error in errors])
    found: dict[str, FieldError] = {}
    for fault in faults:
        place = _sharper_place(fault, request)
        detail, remedy = _words(fault, schema)
        pointer = json_pointer(place)
        found.setdefault(pointer, FieldError(pointer=pointer, detail=detail, remedy=remedy))
    return list(found.values())


def json_pointer(place: Sequence[str | int]) -> str:
    """Return the RFC 6901 pointer of a place.

    >>> json_pointer(["inputs", "a/b", 0])
    '/inputs/a~1b/0'
    """
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in place)


def shown(value: Any, longest: int = 48) -> str:
    """Return a value as it may stand in a message: JSON, cut short, no line breaks."""
    text = value if isinstance(value, str) else json.dumps(value, default=str)
    text = "".join(letter if letter.isprintable() else "?" for letter in text)
    return text if len(text) <= longest else text[: longest - 1] + "…"


# ------------------------------------------------------------------------------------ places


def _located(error: Mapping[str, Any], request: Any) -> _Fault:
    """Tell the parts of pydantic's location that lead into the request from names of union branches."""
    place: list[str | int] = []
    union: tuple[str | int, ...] | None = None
    branch = ""
    value = request
    location = error["loc"]
    for number, part in enumerate(location):
        last = number == len(location) - 1
        if _leads_on(value, part):
            value = value[part]
        elif not (last and error["type"] == "missing"):
            union, branch = (tuple(place), str(part)) if union is None else (union, branch)
            continue
        place.append(part)
    return _Fault(
        kind=error["type"],
        place=tuple(place),
        union=union,
        branch=branch,
        value=value,
        limits=error.get("ctx") or {},
        message=error["msg"],
    )


def _leads_on(value: Any, part: str | int) -> bool:
    if isinstance(value, dict):
        return part in value
    return isinstance(value, list) and isinstance(part, int) and part < len(value)


def _nearest_kinds(faults: Sequence[_Fault]) -> list[_Fault]:
    """Keep, of each choice of kinds, only the errors of the kind that was most likely meant."""
    choices: dict[tuple[str | int, ...], dict[str, list[_Fault]]] = {}
    for fault in faults:
        if fault.union is not None:
            choices.setdefault(fault.union, {}).setdefault(fault.branch, []).append(fault)
    meant = {
        place: min(branches, key=lambda branch: sum(map(_distance, branches[branch])))
        for place, branches in choices.items()
    }
    return [fault for fault in faults if fault.union is None or meant[fault.union] == fault.branch]


def _distance(fault: _Fault) -> int:
    """Return how far off a kind is that finds this fault in what was sent."""
    if fault.kind in _WRONG_KIND and fault.place == fault.union:
        return 1000
    if fault.kind == "literal_error":
        return 1 if isinstance(fault.value, str) else 1000
    return {"extra_forbidden": 100, "missing": 10}.get(fault.kind, 1)


def _sharper_place(fault: _Fault, request: Any) -> tuple[str | int, ...]:
    """Return the place of the field that a rule over several fields names to be changed, if it was sent."""
    if fault.kind != "value_error" or not (named := _TO_BE_CHANGED.search(fault.message)):
        return fault.place
    place = (*fault.place, *named[1].split("/"))
    value = request
    for part in place:
        if not _leads_on(value, part):
            return fault.place
        value = value[part]
    return place


# ------------------------------------------------------------------------------------- words


def _words(fault: _Fault, schema: Mapping[str, Any]) -> Words:
    if fault.kind == "extra_forbidden":
        return _unknown_field(fault, field_names(schemas_at(schema, fault.place[:-1])))
    here = schemas_at(schema, fault.place)
    if fault.kind in _BOUNDS:
        return _out_of_bounds(fault, unit_of(here))
    if fault.kind == "missing":
        return _missing(fault, unit_of(here))
    if fault.kind == "value_error":
        return _rule(fault)
    told = _PLAIN.get(fault.kind)
    return told(fault) if told else (fault.message[0].lower() + fault.message[1:], "Change this value.")


_BOUNDS = {
    "greater_than": ("gt", "more than"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "less than"),
    "less_than_equal": ("le", "at most"),
}


def _out_of_bounds(fault: _Fault, unit: str) -> Words:
    key, words = _BOUNDS[fault.kind]
    limit = f"{fault.limits[key]:g}{unit}"
    return f"{shown(fault.value)} is out of range: it must be {words} {limit}", f"Give {words} {limit}."


def _missing(fault: _Fault, unit: str) -> Words:
    if not fault.place:
        return "the body is missing", "Send a body of JSON with the 'inputs' of the process."
    name = fault.place[-1]
    if isinstance(name, int):
        return f"number {name + 1} of the list is missing", "Add it to the list."
    example = {" mm": ', for example "19 mm" or "3/4 in"', "°": ', for example "90 deg"'}.get(unit, "")
    return f"'{name}' is missing", f"Add '{name}'{example}."


def _unknown_field(fault: _Fault, known: Sequence[str]) -> Words:
    name = str(fault.place[-1])
    near = difflib.get_close_matches(name, known, n=1, cutoff=0.6)
    listing = ", ".join(known)
    remedy = f"Did you mean '{near[0]}'?" if near else "Leave it out."
    return (
        f"there is no field '{shown(name)}' here",
        remedy + (f" The fields here are: {listing}." if known else ""),
    )


def _rule(fault: _Fault) -> Words:
    """Part one of our own messages into what is wrong and what helps."""
    text = fault.message.removeprefix("Value error, ")
    wrong, colon, helps = text.partition(": ")
    if wrong.startswith("give "):
        wrong, helps = text, wrong
    elif wrong.startswith(("a length is ", "an angle is ")):
        wrong, helps = f"'{shown(fault.value)}' cannot be read", "write it as " + wrong.partition(" is ")[2]
    elif not colon:
        helps = "change this value"
    return wrong, helps[0].upper() + helps[1:] + "."


def _one_of(fault: _Fault) -> Words:
    allowed = str(fault.limits.get("expected") or fault.limits.get("expected_tags"))
    near = difflib.get_close_matches(
        shown(fault.limits.get("tag", fault.value)), re.findall(r"'([^']*)'", allowed), n=1
    )
    wrong = shown(fault.limits.get("tag", fault.value))
    return f"'{wrong}' is not offered here", f"Give one of {allowed}." + (
        f" Did you mean '{near[0]}'?" if near else ""
    )


def _no_kind(fault: _Fault) -> Words:
    key = str(fault.limits.get("discriminator", "'kind'")).strip("'")
    return f"'{key}' is missing", f"Add '{key}': it tells which fields belong here."


def _kind(wanted: str, remedy: str) -> Callable[[_Fault], Words]:
    return lambda fault: (f"{shown(fault.value)} is no {wanted}", remedy)


def _count(words: str, remedy: str) -> Callable[[_Fault], Words]:
    return lambda fault: (words.format(**fault.limits), remedy.format(**fault.limits))


_OBJECT = _kind("group of fields", 'Write a group of named fields, like {"width": "40 mm"}.')
_TEXT = _kind("text", "Write text in quotes.")
_NUMBER = _kind("number", "Write a plain number, without quotes.")
_WHOLE = _kind("whole number", "Write a whole number, like 4.")
_YES_NO = _kind("yes or no", "Write true or false.")
_LIST = _kind("list", "Write a list in square brackets.")
_PLAIN: dict[str, Callable[[_Fault], Words]] = {
    "model_type": _OBJECT,
    "model_attributes_type": _OBJECT,
    "dict_type": _OBJECT,
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
    "string_pattern_mismatch": lambda fault: (
        f"'{shown(fault.value)}' has characters that do not belong here",
        "Use letters, digits, spaces and . / _ - only, and begin with a letter or digit.",
    ),
    "string_too_short": _count("the text is too short", "Write at least {min_length} character(s)."),
    "string_too_long": _count("the text is too long", "Write at most {max_length} characters."),
    "too_short": _count("the list has {actual_length} entries", "Give at least {min_length}."),
    "too_long": _count("the list is too long", "Give at most {max_length}."),
}
