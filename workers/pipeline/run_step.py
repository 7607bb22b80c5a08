"""Run one step: validated words in, files out, every error turned into a problem."""

from __future__ import annotations

import logging
from typing import Any

from pydantic import ValidationError

from schemas.problems import FieldError, Problem, ProblemCode, problem
from schemas.processes import PROCESSES
from workers.errors import ConversionError, InputRejectedError, NotCuttableError
from workers.pipeline.outcome import Read, RefusedWithReports, StepOutcome, finding_report
from workers.pipeline.stages import STAGES
from workers.values.progress import Reporter

_log = logging.getLogger(__name__)
_LOOK_AT_STAGE = "this is a fault of ours: send the order and the job's id to whoever runs this service"


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
    except ConversionError as error:
        return StepOutcome(problem=problem_of(error, process))
    except MemoryError:
        return StepOutcome(
            problem=problem(
                ProblemCode.LIMIT_EXCEEDED,
                f"{process} needs more memory than a worker of this installation has",
                remedy="send a smaller picture or board",
                stage=process,
            )
        )
    except Exception as error:  # noqa: BLE001 - the last resort: a problem for the client, the rest to the log
        _log.exception("%s stopped on an unforeseen error", process)
        return StepOutcome(problem=internal_fault(process, error))


def problem_of(error: ConversionError, stage: str) -> Problem:
    """Return the problem document of an error of ours."""
    errors = []
    if error.field is not None:
        errors = [FieldError(pointer=error.field, detail=error.message, remedy=error.remedy or "")]
    findings = error.findings if isinstance(error, NotCuttableError) else ()
    remedy = error.remedy or ("" if isinstance(error, InputRejectedError) else _LOOK_AT_STAGE)
    return problem(
        ProblemCode(error.code),
        error.message,
        remedy=remedy,
        stage=stage,
        errors=errors,
        findings=[finding_report(finding) for finding in findings],
    )


def internal_fault(stage: str, error: BaseException) -> Problem:
    """Return the problem of an exception nobody foresaw: its kind, never its text, which may hold a path."""
    return problem(
        ProblemCode.INTERNAL_FAULT,
        f"{stage} stopped on an unforeseen {type(error).__name__}",
        remedy=_LOOK_AT_STAGE,
        stage=stage,
    )


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
