"""What reports say that a person should hear at the end, beside the files themselves."""

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

_LARGEST_BYTES = 8_000_000  # a report; a larger JSON file is geometry
_MOST = 12


def remarks(files: Mapping[str, Path]) -> list[str]:
    """Return the findings of all reports, each once, then what the proof comes to.

    Args:
        files: Where each output lies, by its name.
    """
    reports = {name: document for name, path in files.items() if (document := _document(path))}
    found = list(dict.fromkeys(line for report in reports.values() for line in _findings(report)))
    more = [f"... and {len(found) - _MOST} more, in the reports"] if len(found) > _MOST else []
    return [*found[:_MOST], *more, *_outcome(reports.get("proof", {}))]


def _document(path: Path) -> dict[str, Any]:
    if path.suffix != ".json" or path.stat().st_size > _LARGEST_BYTES:
        return {}
    document = json.loads(path.read_bytes())
    return document if isinstance(document, dict) else {}


def _findings(report: Mapping[str, Any]) -> Iterator[str]:
    findings = report.get("findings")
    for finding in findings if isinstance(findings, list) else []:
        if isinstance(finding, dict) and "message" in finding:
            remedy = f" ({finding['remedy']})" if finding.get("remedy") else ""
            yield f"{finding.get('severity', 'note')}: {finding['message']}{remedy}"


def _outcome(proof: Mapping[str, Any]) -> list[str]:
    """Return the line that sums a passing proof up."""
    programs, seconds = proof.get("programs"), proof.get("seconds")
    if not proof.get("passed") or not isinstance(programs, list) or not isinstance(seconds, int | float):
        return []
    count = f"{len(programs)} program{'s' if len(programs) != 1 else ''}"
    time = f"{seconds:.0f} seconds" if seconds < 90 else f"{seconds / 60:.0f} minutes"
    return [f"proven: {count}, {time} at the machine"]
