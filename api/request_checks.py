"""What is checked of a request before it is accepted, beyond its form: names and links."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pydantic import BaseModel, ValidationError

from api.fault_words import shown
from api.field_errors import field_errors, json_pointer
from api.near_names import near_names
from api.ports import ArtifactStore
from api.problem_responses import request_problem
from api.request_schema import schema_of
from schemas.links import ARTIFACT_HREF
from schemas.problems import FieldError, ProblemCode, Refusal
from schemas.steps import hrefs_in

Capabilities = Mapping[str, Sequence[Mapping[str, Any]]]
"""What this installation offers: ``bits``, ``materials`` ... each a list of rows with a ``name``."""

LISTED_AS = {
    "bit": "bits",
    "material": "materials",
    "machine": "machines",
    "font": "fonts",
    "dialect": "dialects",
    "pattern": "patterns",
}

_FEW = 12  # names that may all stand in a message


def validated_inputs(model: type[BaseModel], inputs: Any) -> Any:
    """Return the inputs of a process as their model.

    Raises:
        Refusal: request-refused, one error a field, with pointers from ``/inputs``.
    """
    try:
        return model.model_validate(inputs)
    except ValidationError as error:
        found = [{**each, "loc": ("inputs", *each["loc"])} for each in error.errors()]
        own = schema_of(model)
        schema = {"$defs": own.get("$defs", {}), "properties": {"inputs": own}}
        raise Refusal(request_problem(field_errors(found, {"inputs": inputs}, schema))) from None


def check_names(inputs: Any, capabilities: Capabilities) -> None:
    """Return if every bit, material, machine, font, dialect and pattern that is named is offered.

    Raises:
        Refusal: unknown-name, with the close ones.
    """
    errors = [
        error
        for place, kind, name in _names(inputs, ("inputs",))
        if (error := _unknown_name(place, kind, name, capabilities))
    ]
    if errors:
        raise Refusal(request_problem(errors, ProblemCode.UNKNOWN_NAME))


def check_links(inputs: Any, artifacts: ArtifactStore, owner: str) -> None:
    """Return if every link leads to a file that was uploaded or made here.

    Raises:
        Refusal: link-refused for an address elsewhere; missing-file for a file that is not here.
    """
    links = list(hrefs_in(inputs, "/inputs"))
    foreign = [_foreign(pointer, href) for pointer, href in links if not ARTIFACT_HREF.fullmatch(href)]
    if foreign:
        raise Refusal(request_problem(foreign, ProblemCode.LINK_REFUSED))
    missing = [
        FieldError(
            pointer=pointer,
            detail="no such file is here, or it was erased",
            remedy="Upload the file with POST /artifacts and use the href it answers.",
        )
        for pointer, href in links
        if not _is_here(href, artifacts, owner)
    ]
    if missing:
        raise Refusal(request_problem(missing, ProblemCode.MISSING_FILE))


def _names(value: Any, place: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], str, str]]:
    if isinstance(value, dict):
        for key, item in value.items():
            if key in LISTED_AS and isinstance(item, str):
                yield (*place, key), key, item
            elif key == "bits" and isinstance(item, dict):  # of a program, by number
                yield from (
                    ((*place, key, number), "bit", bit)
                    for number, bit in item.items()
                    if isinstance(bit, str)
                )
            else:
                yield from _names(item, (*place, key))
    elif isinstance(value, list):
        for index, item in enumerate(value):
            yield from _names(item, (*place, index))


def _unknown_name(
    place: Sequence[str | int], kind: str, name: str, capabilities: Capabilities
) -> FieldError | None:
    listing = LISTED_AS[kind]
    known = [str(row["name"]) for row in capabilities.get(listing, ())]
    if not known or name in known:
        return None
    near = near_names(name, known)
    hint = f"Did you mean {' or '.join(near)}? " if near else ""
    few = f"The {listing} are: {', '.join(known)}." if len(known) <= _FEW else ""
    return FieldError(
        pointer=json_pointer(place),
        detail=f"no {kind} is called '{shown(name)}' here",
        remedy=hint + (few or f"`triglyph {listing}` and GET /{listing} list them all."),
    )


def _foreign(pointer: str, href: str) -> FieldError:
    return FieldError(
        pointer=pointer,
        detail=f"'{shown(href)}' leads outside; files are not fetched from elsewhere",
        remedy="Upload the file with POST /artifacts and use the href it answers, /artifacts/sha256:….",
    )


def _is_here(href: str, artifacts: ArtifactStore, owner: str) -> bool:
    try:
        artifacts.stat(href.rpartition("/")[2], owner)
    except Refusal as refusal:
        if refusal.document.code is not ProblemCode.NO_SUCH_ARTIFACT:
            raise
        return False
    return True
