"""What the command line says at the end: people's text on one stream, one JSON document on the other."""

import hashlib
import json
import sys
from collections.abc import Iterable, Mapping, Sequence
from enum import IntEnum
from pathlib import Path
from typing import Any

from api.remarks import remarks
from schemas.problems import FieldError, Problem, ProblemCode


class Exit(IntEnum):
    """How a command ends."""

    DONE = 0
    FAULT = 1
    REFUSED = 2
    NOT_PROVEN = 3


_ENDED_WITHOUT_PROOF = {ProblemCode.PROOF_FAILED, ProblemCode.NOT_CUTTABLE, ProblemCode.JOB_DISMISSED}


def say(text: object) -> None:
    """Write a line of what was asked for: standard output."""
    sys.stdout.write(f"{text}\n")


def note(text: object) -> None:
    """Write a line about how it goes: standard error."""
    sys.stderr.write(f"{text}\n")


def exit_code(problem: Problem | None) -> Exit:
    """Return the exit code that a problem, or its absence, comes to."""
    if problem is None:
        return Exit.DONE
    if problem.code in _ENDED_WITHOUT_PROOF:
        return Exit.NOT_PROVEN
    return Exit.FAULT if problem.status >= 500 else Exit.REFUSED


def tell_problem(problem: Problem, as_json: bool, files: Mapping[str, Path] | None = None) -> Exit:
    """Say what went wrong, where, and what to do; return the exit code."""
    reports = file_list(files) if files else None
    if as_json:
        document = problem.model_dump(mode="json", exclude_none=True)
        tell_json(document | ({"reports": reports} if reports else {}))
        return exit_code(problem)
    lines = [f"{_HEADING[exit_code(problem)]}: {_headline(problem)}"]
    for error in problem.errors:
        if len(problem.errors) > 1:
            lines.append(f"  {_place(error)}: {error.detail}")
        lines += _indented(error.remedy)
    for finding in problem.findings:
        if finding.message == problem.detail:
            continue  # it is the headline
        place = f" at {finding.at[0]:.1f}, {finding.at[1]:.1f} mm" if finding.at else ""
        lines.append(f"  {finding.code}{place}: {finding.message}")
        lines += [line for line in _indented(finding.remedy) if line not in lines]
    if problem.remedy and not any(problem.remedy in line for line in lines):
        lines += _indented(problem.remedy)
    note("\n".join(lines))
    for name, path in (files or {}).items():
        note(f"report '{name}': {path}")
    return exit_code(problem)


def tell_files(summary: Mapping[str, Any], files: Mapping[str, Path], as_json: bool) -> None:
    """Say what was made."""
    if as_json:
        tell_json({**summary, "files": file_list(files)})
        return
    for path in files.values():
        say(path)
    for remark in remarks(files):
        note(remark)


def tell_made(
    made_by: Mapping[str, str], out: Path, files: Mapping[str, Path], why: Problem | None, as_json: bool
) -> Exit:
    """Say what a process or job came to, good or bad; return the exit code.

    Args:
        made_by: What it was, as it stands in the JSON document: its process, or its job.
        out: The folder of the files.
        files: What was made, by output name; the reports where nothing else was.
        why: What went wrong, if something did.
        as_json: Say it as one JSON document.
    """
    if why is not None:
        return tell_problem(why, as_json, files)
    tell_files({**made_by, "status": "successful", "out": str(out)}, files, as_json)
    return Exit.DONE


def tell_json(document: Any) -> None:
    """Print the one JSON document on standard output."""
    say(json.dumps(document, indent=1, ensure_ascii=True))


def tell_rows(rows: Sequence[Mapping[str, Any]], columns: Iterable[str]) -> None:
    """Print a listing as a table."""
    columns = list(columns)
    cells = [[_cell(row.get(column)) for column in columns] for row in rows]
    widths = [max([len(line[number]) for line in cells] or [0]) for number in range(len(columns))]
    for line in cells:
        say("  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip())


def file_list(files: Mapping[str, Path]) -> dict[str, dict[str, Any]]:
    """Return the files by output name: where each one lies, its size and its digest."""
    return {
        name: {
            "path": str(path),
            "size": path.stat().st_size,
            "digest": "sha256:" + hashlib.sha256(path.read_bytes()).hexdigest(),
        }
        for name, path in files.items()
    }


_HEADING = {
    Exit.REFUSED: "refused",
    Exit.NOT_PROVEN: "no program was made",
    Exit.FAULT: "fault",
    Exit.DONE: "done",
}


def _headline(problem: Problem) -> str:
    if len(problem.errors) > 1:
        return f"{len(problem.errors)} fields cannot be used"
    if len(problem.errors) == 1:
        return f"{_place(problem.errors[0])}: {problem.errors[0].detail}"
    return problem.detail


def _place(error: FieldError) -> str:
    return error.pointer.removeprefix("/inputs").removeprefix("/") or "the request"


def _indented(remedy: str) -> list[str]:
    return [f"      {remedy}"] if remedy else []


def _cell(value: Any) -> str:
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
