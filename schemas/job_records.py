"""What the job store takes and gives: requests, records, events, pages."""

from datetime import datetime
from typing import Annotated, Literal

from pydantic import Field

from schemas.base import WireModel
from schemas.jobs import JobClass, JobStatus, StatusInfo
from schemas.steps import Step


class Subscriber(WireModel):
    """Where the end of a job is called out (OGC API - Processes, callback)."""

    successUri: str | None = None  # noqa: N815 - the standard's names
    inProgressUri: str | None = None  # noqa: N815
    failedUri: str | None = None  # noqa: N815


class JobRequest(WireModel):
    """A validated execution, ready to be accepted."""

    id: Annotated[str, Field(description="not guessable: a random UUID")]
    process: str
    owner: str
    job_class: JobClass = JobClass.INTERACTIVE
    steps: Annotated[list[Step], Field(min_length=1)]
    idempotency_key: str | None = None  # scope: the owner and the process
    fingerprint: str = ""  # digest of the canonical validated body
    subscriber: Subscriber | None = None
    queued_limit: int | None = None  # how many jobs of this owner may be under way; None: any number


class JobRecord(WireModel):
    """A job as it stands. ``status`` is what clients see, still without links."""

    owner: str
    job_class: JobClass
    revision: int  # grows with every change of the record
    status: StatusInfo
    subscriber: Subscriber | None = None


class Accepted(WireModel):
    """The answer to a request: a new job, or the one its idempotency key made before."""

    job: JobRecord
    replayed: bool


class JobFilter(WireModel):
    """The job-list parameters of the standard; every member narrows the list."""

    owner: str | None = None
    processes: list[str] = []
    statuses: list[JobStatus] = []
    created_from: datetime | None = None
    created_to: datetime | None = None
    min_duration_s: float | None = None
    max_duration_s: float | None = None
    limit: Annotated[int, Field(ge=1, le=1000)] = 10
    after: str | None = None  # ``next`` of the page before


class JobPage(WireModel):
    """Newest first."""

    jobs: list[JobRecord]
    next: str | None = None


class JobEvent(WireModel):
    """One change of a job. ``id`` sorts by time and serves as Last-Event-ID."""

    id: str
    job_id: str
    kind: Literal["accepted", "running", "progress", "step", "successful", "failed", "dismissed"]
    time: datetime
    status: JobStatus
    progress: int
    message: str = ""
    step: str = ""  # id of the step this is about, if any

    @property
    def is_last(self) -> bool:
        return self.status.is_final


class Backlog(WireModel):
    """How much waits, by queue (``tracing.interactive`` ...), and how much runs."""

    waiting: dict[str, int]
    running: int


class CallbackDue(WireModel):
    """An ended job whose subscriber is still to be told."""

    id: str  # the same over all tries: the receiver's idempotency key
    job_id: str
    tries: int  # before this one
