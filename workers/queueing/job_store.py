"""The truth about jobs, as the front desk sees it. Celery carries ids and may lose or repeat them."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Sequence
from typing import Any

import redis
from pydantic import TypeAdapter

from schemas.job_records import Accepted, Backlog, JobFilter, JobPage, JobRecord, JobRequest
from schemas.jobs import JobStatus
from schemas.problems import Problem, ProblemCode, Refusal, problem
from schemas.steps import Outputs
from workers.queueing.connection import in_reach, server_is_full
from workers.queueing.job_fields import plan_of, queue_of, record_of
from workers.queueing.job_list import list_jobs
from workers.queueing.scripts import QUEUES, Scripts
from workers.queueing.settings import Settings

Send = Callable[[Sequence[str]], None]
"""Takes messages as the scripts return them: queue, job id, queue, job id ..."""

_OUTPUTS = TypeAdapter(Outputs)


class RedisJobStore:
    """Jobs on a Redis or Valkey server; the port ``api.ports.JobStore``."""

    def __init__(self, server: redis.Redis, settings: Settings, scripts: Scripts, send: Send) -> None:
        self._server: Any = server  # redis-py types every answer as "now or later"
        self._prefix = settings.key_prefix
        self._scripts = scripts
        self._send = send

    def submit(self, request: JobRequest) -> Accepted:
        idem = request.idempotency_key
        answer, about, *messages = self._scripts.run(
            "submit",
            id=request.id,
            owner=request.owner,
            process=request.process,
            queue=queue_of(request.steps[0], request.job_class),
            plan=plan_of(request.steps),
            steps="[" + ",".join(step.model_dump_json() for step in request.steps) + "]",
            idem=f"{self._prefix}idem:{request.owner}:{request.process}:{idem}" if idem else "",
            fingerprint=request.fingerprint,
            subscriber=request.subscriber.model_dump_json() if request.subscriber else "",
            queued_limit=-1 if request.queued_limit is None else request.queued_limit,
            **{"class": request.job_class},
        )
        if answer == "conflict":
            raise Refusal(_conflict())
        if answer == "quota":
            raise Refusal(_quota(int(about)), retry_after_s=10)
        if answer == "full":
            raise server_is_full()
        self._send(messages)
        replayed = answer == "replayed"
        return Accepted(job=self.job(about if replayed else request.id), replayed=replayed)

    def job(self, job_id: str, owner: str | None = None) -> JobRecord:
        with in_reach():
            known = self._server.hgetall(f"{self._prefix}job:{job_id}")
        if not known:
            raise Refusal(self._gone_or_none(job_id, owner))
        if owner is not None and known["owner"] != owner:
            raise Refusal(_no_such_job())
        return record_of(job_id, known)

    def jobs(self, wanted: JobFilter) -> JobPage:
        with in_reach():
            return list_jobs(self._server, self._prefix, wanted)

    def outputs(self, job_id: str, owner: str | None = None) -> Outputs:
        with in_reach():
            of, text = self._server.hmget(f"{self._prefix}job:{job_id}", "owner", "results")
        if of is None:
            raise Refusal(self._gone_or_none(job_id, owner))
        if owner is not None and of != owner:
            raise Refusal(_no_such_job())
        return _OUTPUTS.validate_json(text) if text else {}

    def dismiss(self, job_id: str, owner: str | None = None) -> JobRecord:
        before = self.job(job_id, owner)
        answer = self._scripts.run("dismiss", id=job_id, owner=owner or "", by=secrets.token_hex(8))
        if answer == "none":
            raise Refusal(_no_such_job())
        if answer == "gone":
            raise Refusal(_dismissed())
        if answer == "erased":
            status = before.status.model_copy(update={"status": JobStatus.DISMISSED, "message": "erased"})
            return before.model_copy(update={"status": status})
        return self.job(job_id, owner)

    def backlog(self) -> Backlog:
        waiting = {}
        with in_reach():
            for queue in QUEUES:
                owners = self._server.lrange(f"{self._prefix}turns:{queue}", 0, -1)
                lines = [self._server.llen(f"{self._prefix}wait:{queue}:{owner}") for owner in owners]
                waiting[queue] = sum(lines) + self._server.zcard(f"{self._prefix}sent:{queue}")
            return Backlog(waiting=waiting, running=self._server.zcard(f"{self._prefix}leases"))

    def ping(self) -> None:
        with in_reach():
            self._server.ping()

    def _gone_or_none(self, job_id: str, owner: str | None) -> Problem:
        with in_reach():
            gone = self._server.get(f"{self._prefix}gone:{job_id}")
        of = gone.partition("\n")[0] if gone else None
        return _dismissed() if gone and owner in (None, of) else _no_such_job()


def _no_such_job() -> Problem:
    return problem(
        ProblemCode.NO_SUCH_JOB, "no job has this id", remedy="look at the job list for the ids there are"
    )


def _dismissed() -> Problem:
    return problem(
        ProblemCode.JOB_DISMISSED, "this job was dismissed", remedy="send the request again as a new job"
    )


def _conflict() -> Problem:
    return problem(
        ProblemCode.IDEMPOTENCY_CONFLICT,
        "this idempotency key came before with another request",
        remedy="take a new key for a new request, or send the first request unchanged",
    )


def _quota(underway: int) -> Problem:
    return problem(
        ProblemCode.QUOTA_EXCEEDED,
        f"{underway} jobs of this key are under way, and no more are allowed at once",
        remedy="wait until some have ended, or dismiss some",
    )
