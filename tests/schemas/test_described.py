"""Whoever reads only the schema knows what each field is, in which unit and within which bounds."""

from collections.abc import Iterator
from typing import Annotated, Any

import annotated_types
import pytest
from pydantic import TypeAdapter, ValidationError

from schemas.base import WireModel
from schemas.processes import OFFERED
from schemas.quantities import Degrees, Millimetres

SCHEMAS = {process.inputs.__name__: process.inputs.model_json_schema() for process in OFFERED.values()}


def _fields(schema: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield each field of a schema and of its definitions with its full name."""
    for title, model in {schema["title"]: schema, **schema.get("$defs", {})}.items():
        for name, field in model.get("properties", {}).items():
            yield f"{title}.{name}", field


def _parts(value: Any) -> Iterator[dict[str, Any]]:
    """Yield each object within a JSON value."""
    if isinstance(value, dict):
        yield value
    for item in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        yield from _parts(item)


def _models(base: type[WireModel]) -> Iterator[type[WireModel]]:
    for model in base.__subclasses__():
        yield model
        yield from _models(model)


@pytest.mark.parametrize("schema", SCHEMAS.values(), ids=SCHEMAS)
def test_every_field_says_what_it_is(schema: dict[str, Any]) -> None:
    """A field with one possible value speaks for itself; each other one has a description."""
    silent = [
        name for name, field in _fields(schema) if "const" not in field and not field.get("description")
    ]

    assert silent == []


@pytest.mark.parametrize("schema", SCHEMAS.values(), ids=SCHEMAS)
def test_bounds_are_told_in_the_words_of_json_schema(schema: dict[str, Any]) -> None:
    """JSON Schema Validation 2020-12, 6.2; a keyword like ``le`` would be passed over in silence."""
    foreign = [
        part for part in _parts(schema) if part.keys() & {"ge", "gt", "le", "lt"} and "properties" not in part
    ]

    assert foreign == []


def test_bounds_of_a_quantity_stand_in_its_own_mark() -> None:
    """Beside the mark they would be checked, but not told."""
    bounds = (annotated_types.Ge, annotated_types.Gt, annotated_types.Le, annotated_types.Lt)
    beside = [
        f"{model.__name__}.{name}"
        for model in _models(WireModel)
        for name, field in model.model_fields.items()
        if any(isinstance(mark, Millimetres | Degrees) for mark in field.metadata)
        and any(isinstance(mark, bounds) for mark in field.metadata)
    ]

    assert beside == []


@pytest.mark.parametrize(
    ("mark", "told", "inside", "outside"),
    [
        (Millimetres(ge=10, le=25.4), {"minimum": 10, "maximum": 25.4}, ["1 in", 10], ["1.01 in", 9.99]),
        (Millimetres(gt=0), {"exclusiveMinimum": 0}, ["0.1 mm"], [0, "-1 mm"]),
        (Degrees(ge=60, lt=180), {"minimum": 60, "exclusiveMaximum": 180}, ["60 deg"], ["180 deg", 59]),
    ],
)
def test_the_bounds_told_are_those_that_hold(
    mark: Any, told: dict[str, float], inside: list[Any], outside: list[Any]
) -> None:
    """Whatever the unit it is written in."""
    adapter: TypeAdapter[float] = TypeAdapter(Annotated[float, mark])

    number = adapter.json_schema()["anyOf"][0]

    assert {key: number[key] for key in number if "imum" in key} == told
    for value in inside:
        adapter.validate_python(value)
    for value in outside:
        with pytest.raises(ValidationError):
            adapter.validate_python(value)
