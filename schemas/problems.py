"""What is said when something cannot be done: RFC 9457 problem documents, and findings."""

from enum import StrEnum
from typing import Annotated

from pydantic import ConfigDict, Field

from schemas.base import WireModel

PROBLEM_TYPES = "https://triglyph.invalid/problems/"  # an address for names, reserved by RFC 2606
OGC_EXCEPTIONS = "http://www.opengis.net/def/exceptions/ogcapi-processes-1/1.0/"


class ProblemCode(StrEnum):
    """Every way in which a request or a job can go wrong."""

    # the request
    REQUEST_REFUSED = "request-refused"
    NOT_FOUND = "not-found"
    NO_SUCH_PROCESS = "no-such-process"
    NO_SUCH_JOB = "no-such-job"
    NO_SUCH_ARTIFACT = "no-such-artifact"
    NO_SUCH_OUTPUT = "no-such-output"
    RESULT_NOT_READY = "result-not-ready"
    JOB_DISMISSED = "job-dismissed"
    METHOD_NOT_ALLOWED = "method-not-allowed"
    NOT_ACCEPTABLE = "not-acceptable"
    BODY_TOO_LARGE = "body-too-large"
    UNSUPPORTED_MEDIA_TYPE = "unsupported-media-type"
    DIGEST_MISMATCH = "digest-mismatch"
    LINK_REFUSED = "link-refused"
    IDEMPOTENCY_CONFLICT = "idempotency-conflict"
    NOT_AUTHENTICATED = "not-authenticated"
    NOT_ALLOWED = "not-allowed"
    QUOTA_EXCEEDED = "quota-exceeded"
    QUEUE_UNAVAILABLE = "queue-unavailable"
    # the work (workers.errors, one code a leaf)
    INPUT_REJECTED = "input-rejected"
    UNREADABLE_IMAGE = "unreadable-image"
    IMAGE_TOO_LARGE = "image-too-large"
    UNSAFE_SVG = "unsafe-svg"
    SHEET_NOT_FOUND = "sheet-not-found"
    NO_DRAWING_FOUND = "no-drawing-found"
    PARAMETER_OUT_OF_RANGE = "parameter-out-of-range"
    UNKNOWN_NAME = "unknown-name"
    UNREADABLE_PROGRAM = "unreadable-program"
    MISSING_FILE = "missing-file"
    NOT_CUTTABLE = "not-cuttable"
    PROOF_FAILED = "proof-failed"
    DEVIATION_NOT_MET = "deviation-not-met"
    LIMIT_EXCEEDED = "limit-exceeded"
    ATTEMPTS_EXHAUSTED = "attempts-exhausted"
    INTERNAL_FAULT = "internal-fault"


STATUS: dict[ProblemCode, int] = {
    ProblemCode.REQUEST_REFUSED: 422,
    ProblemCode.NOT_FOUND: 404,
    ProblemCode.NO_SUCH_PROCESS: 404,
    ProblemCode.NO_SUCH_JOB: 404,
    ProblemCode.NO_SUCH_ARTIFACT: 404,
    ProblemCode.NO_SUCH_OUTPUT: 404,
    ProblemCode.RESULT_NOT_READY: 404,  # the job standard says so
    ProblemCode.JOB_DISMISSED: 410,
    ProblemCode.METHOD_NOT_ALLOWED: 405,
    ProblemCode.NOT_ACCEPTABLE: 406,
    ProblemCode.BODY_TOO_LARGE: 413,
    ProblemCode.UNSUPPORTED_MEDIA_TYPE: 415,
    ProblemCode.DIGEST_MISMATCH: 400,
    ProblemCode.LINK_REFUSED: 400,
    ProblemCode.IDEMPOTENCY_CONFLICT: 422,
    ProblemCode.NOT_AUTHENTICATED: 401,
    ProblemCode.NOT_ALLOWED: 403,
    ProblemCode.QUOTA_EXCEEDED: 429,
    ProblemCode.QUEUE_UNAVAILABLE: 503,
    ProblemCode.INPUT_REJECTED: 422,
    ProblemCode.UNREADABLE_IMAGE: 422,
    ProblemCode.IMAGE_TOO_LARGE: 422,
    ProblemCode.UNSAFE_SVG: 422,
    ProblemCode.SHEET_NOT_FOUND: 422,
    ProblemCode.NO_DRAWING_FOUND: 422,
    ProblemCode.PARAMETER_OUT_OF_RANGE: 422,
    ProblemCode.UNKNOWN_NAME: 422,
    ProblemCode.UNREADABLE_PROGRAM: 422,
    ProblemCode.MISSING_FILE: 422,
    ProblemCode.NOT_CUTTABLE: 422,
    ProblemCode.PROOF_FAILED: 422,
    ProblemCode.DEVIATION_NOT_MET: 500,
    ProblemCode.LIMIT_EXCEEDED: 422,
    ProblemCode.ATTEMPTS_EXHAUSTED: 500,
    ProblemCode.INTERNAL_FAULT: 500,
}

_OGC_NAMES = {ProblemCode.NO_SUCH_PROCESS, ProblemCode.NO_SUCH_JOB, ProblemCode.RESULT_NOT_READY}


class FieldError(WireModel):
    """One field at fault."""

    pointer: Annotated[
        str,
        Field(description="RFC 6901 pointer into the request", examples=["/inputs/board/width"]),
    ]
    detail: str
    remedy: str


class FindingReport(WireModel):
    """A coded fact about a drawing, a design or a program."""

    code: str
    severity: str
    message: str
    remedy: str
    at: tuple[float, float] | None = None
    waived: str | None = None


class Problem(WireModel):
    """RFC 9457 problem details, with what to do."""

    model_config = ConfigDict(extra="allow")  # RFC 9457, 3.2: readers ignore what they do not know

    type: str
    title: str
    status: int
    detail: str
    remedy: str = ""
    code: ProblemCode
    stage: str | None = None
    errors: list[FieldError] = []
    findings: list[FindingReport] = []
    instance: str | None = None


def problem(
    code: ProblemCode,
    detail: str,
    *,
    remedy: str = "",
    stage: str | None = None,
    errors: list[FieldError] | None = None,
    findings: list[FindingReport] | None = None,
) -> Problem:
    """Return the problem document of a code.

    >>> problem(ProblemCode.NO_SUCH_JOB, "no job has this id").status
    404
    """
    return Problem(
        type=(OGC_EXCEPTIONS if code in _OGC_NAMES else PROBLEM_TYPES) + code.value,
        title=code.value.replace("-", " ").capitalize(),
        status=STATUS[code],
        detail=detail,
        remedy=remedy,
        code=code,
        stage=stage,
        errors=errors or [],
        findings=findings or [],
    )


class Refusal(Exception):  # noqa: N818 - an answer rather than a fault
    """What was asked cannot be done; carries the document that says why.

    Stores and routes raise it; one handler turns it into an answer.

    Args:
        document: The problem to be answered.
        retry_after_s: When asking again may help, seconds from now.
    """

    def __init__(self, document: Problem, *, retry_after_s: int | None = None) -> None:
        super().__init__(document.detail)
        self.document = document
        self.retry_after_s = retry_after_s
