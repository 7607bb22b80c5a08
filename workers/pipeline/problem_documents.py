"""What ended a step, as RFC 9457 problems."""

from __future__ import annotations

from schemas.problems import FieldError, Problem, ProblemCode, problem
from workers.errors import ConversionError, InputRejectedError, NotCuttableError
from workers.pipeline.outcome import finding_report

_LOOK_AT_STAGE = "this is a fault of ours: send the order and the job's id to whoever runs this service"


def problem_of(error: BaseException, stage: str) -> Problem:
    """Return the problem of whatever ended a stage.

    Of exceptions that nobody foresaw it tells the kind, never the text, which may hold a path.
    """
    if isinstance(error, ConversionError):
        return _foreseen(error, stage)
    if isinstance(error, MemoryError):
        return problem(
            ProblemCode.LIMIT_EXCEEDED,
            f"{stage} needs more memory than a worker of this installation has",
            remedy="send a smaller picture or board",
            stage=stage,
        )
    return problem(
        ProblemCode.INTERNAL_FAULT,
        f"{stage} stopped on an unforeseen {type(error).__name__}",
        remedy=_LOOK_AT_STAGE,
        stage=stage,
    )


def _foreseen(error: ConversionError, stage: str) -> Problem:
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
