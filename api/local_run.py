"""One process in this very process: the same steps as the queue walks, files in memory."""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from api.linked_files import with_files
from api.near_names import near_names
from api.offer_checks import check_offers
from api.problem_responses import refused, request_problem
from api.request_checks import Capabilities, validated_inputs
from schemas.links import artifact_href
from schemas.problems import FieldError, Problem, ProblemCode, Refusal
from schemas.processes import OFFERED
from schemas.steps import Outputs, hrefs_in, in_request, job_outputs, resolved_inputs, steps_of

Report = Callable[[float, str], None]


class Outcome(Protocol):
    """What a step left; ``workers.pipeline.outcome.StepOutcome``."""

    @property
    def files(self) -> Mapping[str, bytes]: ...
    @property
    def problem(self) -> Problem | None: ...


RunStep = Callable[[str, dict[str, Any], Callable[[str], bytes], Report], Outcome]
"""``workers.pipeline.run_step.run_step``, which only the command line may import."""


@dataclass(frozen=True, slots=True)
class LocalResult:
    """The files by output name, and the problem if there was one; then no program is among them."""

    files: dict[str, bytes]
    problem: Problem | None


class FileShelf:
    """Files of one run by their content."""

    def __init__(self) -> None:
        self._files: dict[str, bytes] = {}

    def put(self, content: bytes) -> str:
        """Keep a file; return its digest."""
        digest = "sha256:" + hashlib.sha256(content).hexdigest()
        self._files[digest] = content
        return digest

    def put_file(self, path: Path) -> str:
        """Keep a copy of a file on disk; return its href."""
        return artifact_href(self.put(path.read_bytes()))

    def read(self, href: str) -> bytes:
        """Return the bytes behind an href or digest."""
        return self._files[href.rpartition("/")[2]]

    def __contains__(self, href: str) -> bool:
        return href.rpartition("/")[2] in self._files


def run_here(
    process: str,
    inputs: Any,
    folder: Path,
    run_step: RunStep,
    report: Report,
    offered: Callable[[], Capabilities],
) -> LocalResult:
    """Run one process, step by step.

    Args:
        process: Its id.
        inputs: The JSON of its inputs; links lead to files.
        folder: What relative links start from.
        run_step: Runs one step.
        report: Told the share done of the whole, and what is being done.
        offered: Returns what can be named; asked only when the form of the request is right.

    Raises:
        Refusal: The request is refused before anything runs.
    """
    described = OFFERED.get(process)
    if described is None:
        near = near_names(process, OFFERED, 1)
        raise refused(
            ProblemCode.NO_SUCH_PROCESS,
            f"no process '{process}' is offered",
            (f"Did you mean '{near[0]}'? " if near else "") + f"The processes are: {', '.join(OFFERED)}.",
        )
    validated_inputs(described.inputs, inputs)
    shelf = FileShelf()
    given = with_files(inputs, folder, shelf.put_file)
    _check_links(given, shelf)
    validated = validated_inputs(described.inputs, given)
    check_offers(validated.model_dump(mode="json", exclude_none=True), offered())
    return _walk(process, validated, shelf, run_step, report)


def _check_links(inputs: Any, shelf: FileShelf) -> None:
    """Refuse links to files of a service, which are not here."""
    errors = [
        FieldError(pointer=pointer, detail="this file lies at a service", remedy="Give the name of a file.")
        for pointer, href in hrefs_in(inputs, "/inputs")
        if href not in shelf
    ]
    if errors:
        raise Refusal(request_problem(errors, ProblemCode.MISSING_FILE))


def _walk(process: str, inputs: Any, shelf: FileShelf, run_step: RunStep, report: Report) -> LocalResult:
    steps = steps_of(process, inputs)
    left: dict[str, Outputs] = {}
    problem: Problem | None = None
    for number, step in enumerate(steps):

        def report_step(fraction: float, message: str, number: int = number, name: str = step.id) -> None:
            report((number + fraction) / len(steps), f"{name}: {message}" if message else name)

        report_step(0.0, "")
        outcome = run_step(step.process, resolved_inputs(step, left), shelf.read, report_step)
        left[step.id] = {name: shelf.put(content) for name, content in outcome.files.items()}
        if outcome.problem is not None:
            problem = in_request(process, step, outcome.problem)
            break
    if problem is None:
        report(1.0, "done")
    outputs = job_outputs(process, steps, left)
    return LocalResult({name: shelf.read(digest) for name, digest in outputs.items()}, problem)
