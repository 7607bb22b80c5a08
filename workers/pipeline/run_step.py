"""Run one step: validated words in, files out, every error turned into a problem."""

from __future__ import annotations

import logging
from typing import Any

from pydantic import ValidationError

from schemas.problems import FieldError, Problem, ProblemCode, problem
from schemas.processes import PROCESSES
from workers.errors import ConversionError
from workers.pipeline.outcome import Read, RefusedWithReports, StepOutcome
from workers.pipeline.problem_documents import problem_of
from workers.pipeline.stages import STAGES
from workers.values.progress import Reporter

_log = logging.getLogger(__name__)


def run_step(process: str, inputs: dict[str, Any], read: Read, report: Reporter) -> StepOutcome:
    """Run one process on inputs whose links are all artifacts.

    Args:
        process: Its id; one that computes, not one made of steps.
        inputs: The JSON of its inputs.
        read: Returns the bytes behind an href.
        report: Told how far it is; may raise JobDismissed.

    Returns:
        The files by output name. With a ``problem``, they are the reports that explain it.

    Raises:
        JobDismissed: From ``report`` only. Every other exception becomes a problem.
    """
    try:
        validated = PROCESSES[process].inputs.model_validate(inputs)
        return StepOutcome(STAGES[process](validated, read, report))
    except RefusedWithReports as refusal:
        return StepOutcome(refusal.files, refusal.problem)
    except ValidationError as error:
        return StepOutcome(problem=_refused(error, process))
    except (ConversionError, MemoryError) as error:
        return StepOutcome(problem=problem_of(error, process))
    except Exception as error:  # noqa: BLE001 - the last resort: a problem for the client, the rest to the log
        _log.exception("%s stopped on an unforeseen error", process)
        return StepOutcome(problem=problem_of(error, process))


def _refused(error: ValidationError, stage: str) -> Problem:
    errors = [
        FieldError(
            pointer="/inputs/" + "/".join(str(part) for part in entry["loc"]),
            detail=entry["msg"],
            remedy="see the process description",
        )
        for entry in error.errors(include_url=False, include_input=False)
    ]
    return problem(
        ProblemCode.REQUEST_REFUSED,
        f"{len(errors)} of the inputs of {stage} cannot be used",
        remedy=errors[0].detail,
        stage=stage,
        errors=errors,
    )
