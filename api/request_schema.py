"""Questions to a JSON Schema: which fields stand at a place, and in which unit."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import Any

from pydantic import BaseModel

Schema = Mapping[str, Any]


@cache
def schema_of(model: type[BaseModel]) -> dict[str, Any]:
    """Return the JSON Schema of a model; made once, as it takes longer than all else of a refusal."""
    return model.model_json_schema()


def schemas_at(root: Schema, place: Sequence[str | int]) -> list[Schema]:
    """Return every schema that may describe the value at a place, references followed.

    Args:
        root: A JSON Schema with its definitions under ``$defs``.
        place: Keys and indices from the root of the described value.
    """
    here = list(_choices(root, root))
    for part in place:
        here = [choice for schema in here for choice in _step(root, schema, part)]
    return here


def field_names(schemas: Sequence[Schema]) -> list[str]:
    """Return the names of the fields that may stand here, in their order."""
    return list(dict.fromkeys(name for schema in schemas for name in schema.get("properties", ())))


def unit_of(schemas: Sequence[Schema]) -> str:
    """Return what to write after a number here: ``" mm"``, ``"°"`` or nothing."""
    units = {"millimetres": " mm", "degrees": "°"}
    return next((units[text] for s in schemas if (text := s.get("description")) in units), "")


def description_of(schemas: Sequence[Schema]) -> str:
    """Return what is said of the value here, or nothing."""
    return next((str(schema["description"]) for schema in schemas if schema.get("description")), "")


def is_link(schemas: Sequence[Schema]) -> bool:
    """Return whether a link to a file stands here, and nothing else may."""
    objects = [schema["properties"] for schema in schemas if "properties" in schema]
    return bool(objects) and all("href" in fields for fields in objects)


def _step(root: Schema, schema: Schema, part: str | int) -> Iterator[Schema]:
    if isinstance(part, int):
        items = schema.get("prefixItems", [])
        if part < len(items):
            yield from _choices(root, items[part])
        elif isinstance(schema.get("items"), Mapping):
            yield from _choices(root, schema["items"])
    elif part in schema.get("properties", {}):
        yield from _choices(root, schema["properties"][part])


def _choices(root: Schema, schema: Schema) -> Iterator[Schema]:
    if "$ref" in schema:
        yield from _choices(root, root["$defs"][schema["$ref"].rpartition("/")[2]])
        return
    yield schema
    for key in ("anyOf", "oneOf", "allOf"):
        for choice in schema.get(key, ()):
            yield from _choices(root, choice)
