"""What pydantic found wrong with a request, told in plain words, one error a field."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from api.fault_words import words_of
from api.faults import is_unwrapped, located, nearest_kinds, sharper_place
from schemas.problems import FieldError

_UNWRAPPED = FieldError(
    pointer="/inputs",
    detail="'inputs' is missing: the fields of the process stand at the top",
    remedy="Put all of them under 'inputs': {\"inputs\": {...}}.",
)


def field_errors(
    errors: Iterable[Mapping[str, Any]], request: Any, schema: Mapping[str, Any]
) -> list[FieldError]:
    """Return one plain error for each field at fault, in the order of the request's fields.

    Args:
        errors: ``errors()`` of a pydantic validation, locations counted from the request's root.
        request: What was sent: the JSON value.
        schema: JSON Schema of what was expected.
    """
    faults = nearest_kinds([located(error, request) for error in errors])
    if is_unwrapped(faults):
        return [_UNWRAPPED]
    found: dict[str, FieldError] = {}
    for fault in faults:
        place = sharper_place(fault, request)
        detail, remedy = words_of(fault, schema, faults)
        pointer = json_pointer(place)
        found.setdefault(pointer, FieldError(pointer=pointer, detail=detail, remedy=remedy))
    return list(found.values())


def json_pointer(place: Sequence[str | int]) -> str:
    """Return the RFC 6901 pointer of a place.

    >>> json_pointer(["inputs", "a/b", 0])
    '/inputs/a~1b/0'
    """
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in place)
