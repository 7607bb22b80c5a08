"""Jobs and files in memory, behind the ports of the front desk. Tests move the jobs themselves."""

import asyncio
import hashlib
import io
import itertools
import tempfile
import threading
from collections.abc import AsyncIterator, Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import BinaryIO

from schemas.artifacts import ArtifactRecord
from schemas.job_records import Accepted, Backlog, JobEvent, JobFilter, JobPage, JobRecord, JobRequest
from schemas.jobs import JobStatus, StatusInfo, StepProgress
from schemas.problems import Problem, ProblemCode, Refusal, problem
from schemas.steps import Outputs

DAWN = datetime(2026, 11, 25, 7, tzinfo=UTC)


class MemoryJobs:
    """A job store whose clock ticks one second a change; serves as job feed too."""

    def __init__(self) -> None:
        self.records: dict[str, JobRecord] = {}
        self.requests: dict[str, JobRequest] = {}
        self.results: dict[str, Outputs] = {}
        self.happened: dict[str, list[JobEvent]] = {}
        self.keys: dict[tuple[str, str, str], JobRequest] = {}
        self.gone: set[str] = set()
        self.reachable = True
        self.accepted = threading.Event()  # there has been a job
        self.cut = threading.Event()  # set it, and the next event stream breaks off
        self.was_cut = threading.Event()
        self._ticks = itertools.count()

    def submit(self, request: JobRequest) -> Accepted:
        key = (request.owner, request.process, request.idempotency_key or request.id)
        before = self.keys.setdefault(key, request)
        if before is not request:
            if before.fingerprint != request.fingerprint:
                raise _refusal(ProblemCode.IDEMPOTENCY_CONFLICT)
            return Accepted(job=self.records[before.id], replayed=True)
        open_jobs = [
            r for r in self.records.values() if r.owner == request.owner and not r.status.status.is_final
        ]
        if request.queued_limit is not None and len(open_jobs) >= request.queued_limit:
            raise _refusal(ProblemCode.QUOTA_EXCEEDED, retry_after_s=3)
        now = self._now()
        status = StatusInfo(
            jobID=request.id,
            id=request.id,
            processID=request.process,
            status=JobStatus.ACCEPTED,
            created=now,
            updated=now,
            steps=[StepProgress(id=step.id, process=step.process, state="waiting") for step in request.steps],
        )
        self.requests[request.id] = request
        self.records[request.id] = JobRecord(
            owner=request.owner,
            job_class=request.job_class,
            revision=1,
            status=status,
            subscriber=request.subscriber,
        )
        self._tell(request.id, "accepted")
        self.accepted.set()
        return Accepted(job=self.records[request.id], replayed=False)

    def job(self, job_id: str, owner: str | None = None) -> JobRecord:
        if job_id in self.gone:
            raise _refusal(ProblemCode.JOB_DISMISSED)
        record = self.records.get(job_id)
        if record is None or owner not in (None, record.owner):
            raise _refusal(ProblemCode.NO_SUCH_JOB)
        return record

    def jobs(self, wanted: JobFilter) -> JobPage:
        found = [record for record in reversed(self.records.values()) if self._matches(record, wanted)]
        start = int(wanted.after or 0)
        more = start + wanted.limit < len(found)
        return JobPage(
            jobs=found[start : start + wanted.limit], next=str(start + wanted.limit) if more else None
        )

    def outputs(self, job_id: str, owner: str | None = None) -> Outputs:
        self.job(job_id, owner)
        return self.results.get(job_id, {})

    def dismiss(self, job_id: str, owner: str | None = None) -> JobRecord:
        record = self.job(job_id, owner)
        if record.status.status is JobStatus.DISMISSED:
            raise _refusal(ProblemCode.JOB_DISMISSED)
        if record.status.status.is_final:
            self.gone.add(job_id)
            del self.records[job_id]
            status = record.status.model_copy(update={"status": JobStatus.DISMISSED})
            return record.model_copy(update={"status": status})
        self._change(job_id, "dismissed", status=JobStatus.DISMISSED, finished=self._now())
        return self.records[job_id]

    def backlog(self) -> Backlog:
        running = [r for r in self.records.values() if r.status.status is JobStatus.RUNNING]
        return Backlog(waiting={"coding.interactive": 0}, running=len(running))

    def ping(self) -> None:
        if not self.reachable:
            raise _refusal(ProblemCode.QUEUE_UNAVAILABLE, retry_after_s=2)

    # -------------------------------------------------------------------------------- the feed

    async def events(self, job_id: str, after: str | None = None) -> AsyncIterator[JobEvent]:
        position = 0
        while True:
            known = self.happened.get(job_id, [])
            for event in known[position:]:
                position += 1
                if after is None or _order(event.id) > _order(after):
                    yield event
                if event.is_last:
                    return
            if self.cut.is_set():
                self.cut.clear()
                self.was_cut.set()
                return
            await asyncio.sleep(0.005)

    async def wait(self, job_id: str, timeout_s: float) -> None:
        for _ in range(int(timeout_s / 0.01) + 1):
            if job_id not in self.records or self.records[job_id].status.status.is_final:
                return
            await asyncio.sleep(0.01)

    # ------------------------------------------------------------------------- what tests move

    def start(self, job_id: str, progress: int = 0, message: str = "") -> None:
        now = self.records[job_id].status.started or self._now()
        self._change(
            job_id, "running", status=JobStatus.RUNNING, started=now, progress=progress, message=message
        )

    def finish(self, job_id: str, outputs: Outputs) -> None:
        self.results[job_id] = outputs
        self._change(job_id, "successful", status=JobStatus.SUCCESSFUL, finished=self._now(), progress=100)

    def fail(self, job_id: str, why: Problem, outputs: Outputs | None = None) -> None:
        self.results[job_id] = outputs or {}
        self._change(job_id, "failed", status=JobStatus.FAILED, finished=self._now(), exception=why)

    def _change(self, job_id: str, kind: str, **changes: object) -> None:
        record = self.records[job_id]
        status = record.status.model_copy(update=changes | {"updated": self._now()})
        self.records[job_id] = record.model_copy(update={"status": status, "revision": record.revision + 1})
        self._tell(job_id, kind)

    def _tell(self, job_id: str, kind: str) -> None:
        status = self.records[job_id].status
        events = self.happened.setdefault(job_id, [])
        events.append(
            JobEvent.model_validate(
                {
                    "id": f"{len(events) + 1}-0",
                    "job_id": job_id,
                    "kind": kind,
                    "time": status.updated,
                    "status": status.status,
                    "progress": status.progress,
                    "message": status.message,
                }
            )
        )

    def _now(self) -> datetime:
        return DAWN + timedelta(seconds=next(self._ticks))

    def _matches(self, record: JobRecord, wanted: JobFilter) -> bool:
        status = record.status
        end = status.finished or status.updated
        duration_s = (end - status.started).total_seconds() if status.started else None
        return all(
            (
                wanted.owner in (None, record.owner),
                not wanted.processes or status.processID in wanted.processes,
                not wanted.statuses or status.status in wanted.statuses,
                wanted.created_from is None or status.created >= wanted.created_from,
                wanted.created_to is None or status.created <= wanted.created_to,
                wanted.min_duration_s is None
                or (duration_s is not None and duration_s >= wanted.min_duration_s),
                wanted.max_duration_s is None
                or (duration_s is not None and duration_s <= wanted.max_duration_s),
            )
        )


class MemoryFiles:
    """A file store; the bytes lie in a folder of the test, as routes send files from disk."""

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = folder or Path(tempfile.mkdtemp(prefix="triglyph-test-"))
        self.records: dict[tuple[str, str], ArtifactRecord] = {}

    def begin(self, max_bytes: int) -> "MemoryWriter":
        return MemoryWriter(self, max_bytes)

    def put(
        self,
        chunks: Iterable[bytes],
        *,
        owner: str,
        media_type: str,
        title: str = "",
        max_bytes: int | None = None,
    ) -> ArtifactRecord:
        with self.begin(max_bytes or 2**40) as writer:
            for chunk in chunks:
                writer.write(chunk)
            return writer.commit(owner=owner, media_type=media_type, title=title)

    def stat(self, digest: str, owner: str) -> ArtifactRecord:
        record = self.records.get((digest, owner))
        if record is None:
            raise _refusal(ProblemCode.NO_SUCH_ARTIFACT)
        return record

    def path(self, digest: str, owner: str) -> Path:
        self.stat(digest, owner)
        return self.folder / digest.removeprefix("sha256:")

    def open(self, digest: str, owner: str) -> BinaryIO:
        return self.path(digest, owner).open("rb")

    def delete(self, digest: str, owner: str) -> None:
        self.stat(digest, owner)
        del self.records[digest, owner]

    def stored_bytes(self, owner: str) -> int:
        return sum(record.size_bytes for (_, whose), record in self.records.items() if whose == owner)


class MemoryWriter:
    """An upload under way."""

    def __init__(self, files: MemoryFiles, max_bytes: int) -> None:
        self._files = files
        self._max_bytes = max_bytes
        self._written = io.BytesIO()

    @property
    def size_bytes(self) -> int:
        return self._written.tell()

    def write(self, chunk: bytes) -> None:
        if self.size_bytes + len(chunk) > self._max_bytes:
            raise _refusal(ProblemCode.BODY_TOO_LARGE)
        self._written.write(chunk)

    def commit(
        self, *, owner: str, media_type: str, title: str = "", expected_digest: str | None = None
    ) -> ArtifactRecord:
        content = self._written.getvalue()
        digest = "sha256:" + hashlib.sha256(content).hexdigest()
        if expected_digest not in (None, digest):
            raise _refusal(ProblemCode.DIGEST_MISMATCH)
        (self._files.folder / digest.removeprefix("sha256:")).write_bytes(content)
        record = ArtifactRecord(
            digest=digest,
            size_bytes=len(content),
            media_type=media_type,
            title=title,
            created=DAWN,
            until=DAWN + timedelta(days=7),
        )
        self._files.records[digest, owner] = record
        return record

    def abort(self) -> None:
        self._written = io.BytesIO()

    def __enter__(self) -> "MemoryWriter":
        return self

    def __exit__(self, *exception: object) -> None:
        self.abort()


def _refusal(code: ProblemCode, retry_after_s: int | None = None) -> Refusal:
    words = code.value.replace("-", " ")
    return Refusal(problem(code, words, remedy=f"about {words}: ask again"), retry_after_s=retry_after_s)


def _order(event_id: str) -> tuple[int, ...]:
    return tuple(int(part) for part in event_id.split("-"))
