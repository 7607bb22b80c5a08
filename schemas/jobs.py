"""What is answered about jobs, in the words of OGC API - Processes 1.0."""

from datetime import datetime
from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field

from schemas.base import WireModel
from schemas.problems import Problem


class JobStatus(StrEnum):
    """The states of the standard; there are no others."""

    ACCEPTED = "accepted"
    RUNNING = "running"
    SUCCESSFUL = "successful"
    FAILED = "failed"
    DISMISSED = "dismissed"

    @property
    def is_final(self) -> bool:
        return self in (JobStatus.SUCCESSFUL, JobStatus.FAILED, JobStatus.DISMISSED)


class JobClass(StrEnum):
    """Kiosk work goes ahead of catalogue work."""

    INTERACTIVE = "interactive"
    BULK = "bulk"


class WebLink(WireModel):
    """A link of RFC 8288 in JSON."""

    href: str
    rel: str
    type: str | None = None
    title: str | None = None


class StepProgress(WireModel):
    """One step of a job: where it stands."""

    id: str
    process: str
    state: Literal["waiting", "running", "done", "reused"]


class StatusInfo(WireModel):
    """A job's state; 1.0 names with the 2.0 draft's beside them."""

    jobID: str  # noqa: N815 - the standard's name
    id: str
    type: Literal["process"] = "process"
    processingEntityType: str = "ogc-api-processes"  # noqa: N815
    processID: str  # noqa: N815
    status: JobStatus
    message: str = ""
    created: datetime
    started: datetime | None = None
    finished: datetime | None = None
    updated: datetime
    progress: Annotated[int, Field(ge=0, le=100)] = 0
    steps: list[StepProgress] = []
    attempts: int = 0
    exception: Problem | None = None
    links: list[WebLink] = []


class ResultLink(WireModel):
    """One output of a job, by reference."""

    href: str
    type: str
    title: str
    rel: str = "item"


Results = dict[str, ResultLink]
