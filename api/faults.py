"""Where pydantic found something wrong: its location, led back to what was sent."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

_WRONG_KIND = {
    *("model_type", "model_attributes_type", "string_type", "dict_type", "list_type", "tuple_type"),
    "bool_type",
}
_TO_BE_CHANGED = re.compile(r"lower '([a-z_/]+)'")


@dataclass(frozen=True, slots=True)
class Fault:
    """One error of pydantic's, with its place found in what was sent."""

    kind: str
    place: tuple[str | int, ...]  # keys and indices that lead into the request
    union: tuple[str | int, ...] | None  # where a choice of kinds stood, if one did
    branch: str  # which of the kinds this error speaks about
    value: Any
    limits: Mapping[str, Any]
    message: str


def located(error: Mapping[str, Any], request: Any) -> Fault:
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
    return Fault(
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


def nearest_kinds(faults: Sequence[Fault]) -> list[Fault]:
    """Keep, of each choice of kinds, only the errors of the kind that was most likely meant."""
    choices: dict[tuple[str | int, ...], dict[str, list[Fault]]] = {}
    for fault in faults:
        if fault.union is not None:
            choices.setdefault(fault.union, {}).setdefault(fault.branch, []).append(fault)
    meant = {
        place: min(branches, key=lambda branch: sum(map(_distance, branches[branch])))
        for place, branches in choices.items()
    }
    return [fault for fault in faults if fault.union is None or meant[fault.union] == fault.branch]


def _distance(fault: Fault) -> int:
    """Return how far off a kind is that finds this fault in what was sent."""
    if fault.kind in _WRONG_KIND and fault.place == fault.union:
        return 1000
    if fault.kind == "literal_error":
        return 1 if isinstance(fault.value, str) else 1000
    return {"extra_forbidden": 100, "missing": 10}.get(fault.kind, 1)


def sharper_place(fault: Fault, request: Any) -> tuple[str | int, ...]:
    """Return the place of the field that is to be changed: what tells kinds apart, or what a rule names."""
    if fault.kind == "union_tag_invalid":
        return (*fault.place, discriminator(fault))
    if fault.kind != "value_error" or not (named := _TO_BE_CHANGED.search(fault.message)):
        return fault.place
    place = (*fault.place, *named[1].split("/"))
    value = request
    for part in place:
        if not _leads_on(value, part):
            return fault.place
        value = value[part]
    return place


def discriminator(fault: Fault) -> str:
    """Return the field that tells which kind a group of fields is."""
    return str(fault.limits.get("discriminator", "'kind'")).strip("'")


def is_unwrapped(faults: Sequence[Fault]) -> bool:
    """Return whether a process's inputs were sent without the ``inputs`` around them."""
    return len(faults) > 1 and all(
        (fault.kind, fault.place) == ("missing", ("inputs",))
        or (fault.kind == "extra_forbidden" and len(fault.place) == 1)
        for fault in faults
    )
