"""Requests for tests of the queue, and waiting for what becomes of them."""

from __future__ import annotations

import time
import uuid
from collections.abc import Callable
from typing import Any

from schemas.job_records import JobRecord, JobRequest
from schemas.requests import EchoInputs
from schemas.steps import Step, steps_of
from workers.queueing.leases import Claim, Leases
from workers.queueing.service import Service

PATIENCE_S = 60.0  # a guard against hanging, not a measure: on a busy machine a worker needs 20 s to begin


def request(message: str = "hello", **changes: Any) -> JobRequest:
    """Return a request for one echo step."""
    plain: dict[str, Any] = {
        "id": str(uuid.uuid4()),
        "process": "echo",
        "owner": "ada",
        "steps": steps_of("echo", EchoInputs(message=message)),
    }
    return JobRequest(**plain | changes)


def two_steps(first: str = "one", second: str = "two", **changes: Any) -> JobRequest:
    """Return a request whose job has two steps, in different pools."""
    steps = [
        Step(id="first", process="echo", inputs={"message": first}),
        Step(id="second", process="tracing", inputs={"message": second}),
    ]
    return request(steps=steps, **changes)


def claimed(
    leases: Leases, job_id: str, delivery: str = "delivery", queue: str = "coding.interactive"
) -> Claim:
    """Return a claim on a job's next step, which must be there to be had."""
    claim = leases.claim(job_id, delivery, queue)
    assert claim is not None
    return claim


def until(holds: Callable[[], Any], timeout_s: float = PATIENCE_S) -> Any:
    """Return the first answer that is true; fail when there is none in time."""
    give_up = time.monotonic() + timeout_s
    while True:
        answer = holds()
        if answer:
            return answer
        assert time.monotonic() < give_up, f"did not come about in {timeout_s} s"
        time.sleep(0.01)


def ended(service: Service, job_id: str, timeout_s: float = PATIENCE_S) -> JobRecord:
    """Return a job when it has ended."""
    until(lambda: service.jobs.job(job_id).status.status.is_final, timeout_s)
    return service.jobs.job(job_id)
