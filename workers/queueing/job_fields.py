"""A job as the server keeps it (strings in a hash), and as the rest of the program sees it."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from schemas.job_records import JobRecord, Subscriber
from schemas.jobs import JobClass, JobStatus, StatusInfo, StepProgress
from schemas.problems import Problem
from schemas.steps import Step


def queue_of(step: Step, job_class: JobClass) -> str:
    """Return the name of the queue a step waits in."""
    return f"{step.pool}.{job_class}"


def plan_of(steps: Sequence[Step]) -> str:
    """Return what a record says of its steps, without their inputs."""
    return json.dumps([{"id": step.id, "process": step.process} for step in steps])


def record_of(job_id: str, fields: Mapping[str, str]) -> JobRecord:
    """Return the record of a job.

    Args:
        job_id: Its id.
        fields: Its hash.
    """
    problem = fields.get("problem")
    subscriber = fields.get("subscriber")
    status = StatusInfo(
        jobID=job_id,
        id=job_id,
        processID=fields["process"],
        status=JobStatus(fields["status"]),
        message=fields.get("message", ""),
        created=moment(fields["created"]),
        started=_optional_moment(fields.get("started")),
        finished=_optional_moment(fields.get("finished")),
        updated=moment(fields["updated"]),
        progress=int(fields["progress"]),
        steps=_steps(fields),
        attempts=int(fields["attempts_in_all"]),
        exception=Problem.model_validate_json(problem) if problem else None,
    )
    return JobRecord(
        owner=fields["owner"],
        job_class=JobClass(fields["class"]),
        revision=int(fields["revision"]),
        status=status,
        subscriber=Subscriber.model_validate_json(subscriber) if subscriber else None,
    )


def moment(milliseconds: str) -> datetime:
    """Return the time that the server wrote as milliseconds since 1970."""
    return datetime.fromtimestamp(int(milliseconds) / 1000, UTC)


def _optional_moment(milliseconds: str | None) -> datetime | None:
    return moment(milliseconds) if milliseconds else None


def _steps(fields: Mapping[str, str]) -> list[StepProgress]:
    plan: list[dict[str, Any]] = json.loads(fields["plan"])
    current = int(fields["step"])
    steps = []
    for place, step in enumerate(plan):
        state = fields.get(f"state:{step['id']}", "waiting")
        if place == current and fields["phase"] == "leased":
            state = "running"
        steps.append(StepProgress.model_validate(step | {"state": state}))
    return steps
