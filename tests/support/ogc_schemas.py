"""The schemas of OGC API - Processes 1.0, read from beside the project, mended in memory where they err.

Source: opengeospatial/ogcapi-processes, core/openapi/schemas, commit c8a534e (the published 1.0 text).
"""

from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from referencing import Registry, Resource
from referencing.jsonschema import DRAFT202012

FOLDER = Path(__file__).parents[3] / "shared" / "reference" / "ogc-schemas"
_BASE = "http://ogc.invalid/"

needs_ogc_schemas = pytest.mark.skipif(
    not FOLDER.is_dir(), reason="the standard's schemas are not beside this checkout"
)


def check(document: Any, name: str, *, literal: bool = False) -> None:
    """Raise unless the document is valid.

    Args:
        document: JSON.
        name: ``statusInfo``, ``processList`` ...
        literal: Take the schemas as they stand; else with two defects mended (``oneOf`` that no plain
            string or whole number can meet; a required member that its own properties do not have).
    """
    registry, schemas = _loaded(literal)
    jsonschema.Draft202012Validator(
        schemas[f"{name}.yaml"], registry=registry, format_checker=jsonschema.FormatChecker()
    ).validate(document)


@cache
def _loaded(literal: bool) -> tuple[Registry[Any], dict[str, Any]]:
    schemas = {path.name: _modern(yaml.safe_load(path.read_text("utf-8"))) for path in FOLDER.glob("*.yaml")}
    if not literal:
        schemas["subscriber.yaml"]["required"] = ["successUri"]
        plain = schemas["inputValueNoObject.yaml"]
        plain["anyOf"] = plain.pop("oneOf")
    for name, schema in schemas.items():
        schema["$id"] = _BASE + name
    resources = [
        (schema["$id"], Resource.from_contents(schema, default_specification=DRAFT202012))
        for schema in schemas.values()
    ]
    return Registry().with_resources(resources), schemas


def _modern(schema: Any) -> Any:
    """Return an OpenAPI 3.0 schema as JSON Schema: nullable, exclusive limits, examples."""
    if isinstance(schema, list):
        return [_modern(each) for each in schema]
    if not isinstance(schema, dict):
        return schema
    new = {key: _modern(value) for key, value in schema.items() if key not in ("example", "nullable")}
    if schema.get("nullable") is True and isinstance(new.get("type"), str):
        new["type"] = [new["type"], "null"]
    for flag, limit in (("exclusiveMinimum", "minimum"), ("exclusiveMaximum", "maximum")):
        if isinstance(new.get(flag), bool) and new.pop(flag) and limit in new:
            new[flag] = new.pop(limit)
    return new
