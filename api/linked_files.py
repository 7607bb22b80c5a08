"""Requests in files: read from JSON or YAML, with links to files beside them replaced by uploads."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import yaml

from api.fault_words import shown
from api.problem_responses import refused, request_problem
from schemas.links import ARTIFACT_HREF
from schemas.problems import FieldError, ProblemCode, Refusal
from schemas.steps import hrefs_in, replace_hrefs

_ENVELOPE = {"inputs", "outputs", "response", "subscriber"}


def read_request(path: Path) -> Any:
    """Return the inputs that a JSON or YAML file holds, with or without the ``inputs`` around them.

    A proof holds the inputs that it answers among its other members, so it can be asked again.

    Raises:
        Refusal: missing-file; request-refused, with the line that cannot be read.
    """
    try:
        text = path.read_text("utf-8-sig")
    except OSError as error:
        raise refused(
            ProblemCode.MISSING_FILE,
            f"the request '{path.name}' cannot be read: {(error.strerror or 'unknown').lower()}",
            "Give the name of a JSON or YAML file.",
        ) from None
    except UnicodeDecodeError:
        raise refused(
            ProblemCode.REQUEST_REFUSED,
            f"'{path.name}' is no text",
            "Give a request: a JSON or YAML file in UTF-8. Pictures are named inside it.",
        ) from None
    document = _parsed(text, path)
    if (
        isinstance(document, dict)
        and "inputs" in document
        and (set(document) <= _ENVELOPE or "passed" in document)
    ):
        return document["inputs"]
    return document


def with_files(inputs: Any, folder: Path, store: Callable[[Path], str]) -> Any:
    """Return the inputs with each link to a local file replaced by what ``store`` answers for it.

    Args:
        inputs: The JSON of a process's inputs. Links that are uploads already stay.
        folder: What relative links start from.
        store: Takes a file, returns its href; called once for each file.

    Raises:
        Refusal: missing-file or link-refused, with a pointer to each link at fault.
    """
    links = [
        (pointer, href) for pointer, href in hrefs_in(inputs, "/inputs") if not ARTIFACT_HREF.fullmatch(href)
    ]
    foreign = [
        FieldError(
            pointer=pointer,
            detail=f"'{shown(href)}' is an address, not a file",
            remedy="Download the file and give its name.",
        )
        for pointer, href in links
        if "://" in href
    ]
    if foreign:
        raise Refusal(request_problem(foreign, ProblemCode.LINK_REFUSED))
    missing = [
        FieldError(
            pointer=pointer,
            detail=f"there is no file '{shown(href)}'",
            remedy="Links start from the folder of the request file; look at the spelling.",
        )
        for pointer, href in links
        if not _is_file(folder / href)
    ]
    if missing:
        raise Refusal(request_problem(missing, ProblemCode.MISSING_FILE))
    stored = {href: store(folder / href) for href in dict.fromkeys(href for _, href in links)}
    return replace_hrefs(inputs, lambda href: stored.get(href, href))


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):  # a name too long, or with a zero byte
        return False


def _parsed(text: str, path: Path) -> Any:
    try:
        return json.loads(text) if path.suffix.lower() == ".json" else yaml.load(text, _StrictLoader)  # noqa: S506
    except json.JSONDecodeError as error:
        where, why = f"line {error.lineno}, column {error.colno}", error.msg
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark
        where = f"line {mark.line + 1}, column {mark.column + 1}" if mark else "the start"
        why = error.problem or "not YAML"
    except (yaml.YAMLError, ValueError, RecursionError):
        where, why = "the start", "it cannot be read as text of this kind"
    raise refused(
        ProblemCode.REQUEST_REFUSED,
        f"'{path.name}' cannot be read at {where}: {why}",
        "Look at that line and the one before for a missing quote, comma, colon or indent.",
    )


class _StrictLoader(yaml.SafeLoader):
    """Plain data only, and no field twice."""

    def construct_mapping(self, node: yaml.MappingNode, deep: bool = False) -> dict[Any, Any]:
        """Build a mapping, refusing repeated keys: the second would silently win."""
        seen: set[str] = set()
        for key, _ in node.value:
            if key.value in seen and isinstance(key, yaml.ScalarNode) and key.value != "<<":
                raise yaml.constructor.ConstructorError(
                    None, None, f"'{key.value}' is given twice", key.start_mark
                )
            seen.add(str(key.value))
        return super().construct_mapping(node, deep)
