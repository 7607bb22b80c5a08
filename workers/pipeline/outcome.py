"""What a step leaves: files by output name, and a problem if it could not do all it should."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from schemas.problems import Problem

Read = Callable[[str], bytes]
"""Returns the bytes behind an href; raises MissingFileError where there are none."""


@dataclass(frozen=True, slots=True)
class StepOutcome:
    """Files, complete and in order; a refusal or failed proof has reports *and* a problem."""

    files: dict[str, bytes] = field(default_factory=dict)
    problem: Problem | None = None


def json_file(document: dict[str, Any]) -> bytes:
    """Return a JSON document as a file: same document, same bytes."""
    return (json.dumps(document, indent=1, sort_keys=True, ensure_ascii=False) + "\n").encode()
