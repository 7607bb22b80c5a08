"""What a step leaves: files by output name, and a problem if it could not do all it should."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

from schemas.problems import FindingReport, Problem
from workers.values.finding import Finding

Read = Callable[[str], bytes]
"""Returns the bytes behind an href; raises MissingFileError where there are none."""

Files = dict[str, bytes]
"""Content by output name."""


@dataclass(frozen=True, slots=True)
class StepOutcome:
    """Files, complete and in order; a refusal or failed proof has reports *and* a problem."""

    files: Files = field(default_factory=dict)
    problem: Problem | None = None


class RefusedWithReports(Exception):  # noqa: N818 - not an error of ours: an answer that is not yes
    """The work was done and the answer is no: the files say why."""

    def __init__(self, refusal: Problem, files: Files) -> None:
        super().__init__(refusal.detail)
        self.problem = refusal
        self.files = files


def json_file(document: dict[str, Any]) -> bytes:
    """Return a JSON document as a file: same document, same bytes."""
    return (json.dumps(document, indent=1, sort_keys=True, ensure_ascii=False) + "\n").encode()


def records_of(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """Return findings as they stand in a report."""
    return [found.as_record() for found in findings]


def finding_report(finding: Finding) -> FindingReport:
    """Return a finding as it goes over the wire."""
    return FindingReport.model_validate(finding.as_record())
