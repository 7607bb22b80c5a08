"""What the front desk needs of a queue and of a file store, and nothing of how they are made.

``workers.queueing`` has both; ``api.main`` and ``api.cli`` plug them in. All refusals are raised as
``schemas.problems.Refusal``: no-such-job, no-such-artifact, quota-exceeded, idempotency-conflict,
job-dismissed, body-too-large, digest-mismatch, and queue-unavailable when the server is out of reach or full.

Plain methods block for a few milliseconds: call them from ``def`` routes (FastAPI runs those in threads)
or through ``run_in_threadpool``. ``JobFeed`` is asynchronous.

Plugging in: ``workers.queueing.settings.Settings.from_environment()``;
``workers.queueing.service.connect(settings)`` has ``jobs``, ``feed``, ``artifacts``, ``callbacks`` and
``close()``;
``workers.queueing.stack.EmbeddedStack(settings)`` is a context manager around broker, workers and keeper,
whose ``settings`` are those to connect with.
"""

from collections.abc import AsyncIterator, Iterable
from pathlib import Path
from typing import BinaryIO, Protocol

from schemas.artifacts import ArtifactRecord
from schemas.job_records import (
    Accepted,
    Backlog,
    CallbackDue,
    JobEvent,
    JobFilter,
    JobPage,
    JobRecord,
    JobRequest,
)
from schemas.steps import Outputs


class JobStore(Protocol):
    """Jobs: the truth about them. With ``owner`` given, jobs of others do not exist."""

    def submit(self, request: JobRequest) -> Accepted:
        """Accept a job in one step (key, quota, record), and send it on its way.

        Raises:
            Refusal: quota-exceeded, idempotency-conflict (same key, other fingerprint).
        """

    def job(self, job_id: str, owner: str | None = None) -> JobRecord:
        """Return a job as it stands.

        Raises:
            Refusal: no-such-job; job-dismissed if it was erased a short while ago.
        """

    def jobs(self, wanted: JobFilter) -> JobPage:
        """Return a page of jobs, newest first.

        Raises:
            ValueError: ``after`` is not from the page before.
        """

    def outputs(self, job_id: str, owner: str | None = None) -> Outputs:
        """Return the digests of a job's results by name.

        Empty before the end; a failed job has the reports it could still write.

        Raises:
            Refusal: As ``job``.
        """

    def dismiss(self, job_id: str, owner: str | None = None) -> JobRecord:
        """Stop a job that waits or runs, or erase one that has ended; the answer says ``dismissed``.

        Raises:
            Refusal: no-such-job; job-dismissed (410) when it was dismissed before.
        """

    def backlog(self) -> Backlog:
        """Return how much waits and runs."""

    def ping(self) -> None:
        """Return if the store answers.

        Raises:
            Refusal: queue-unavailable.
        """


class JobFeed(Protocol):
    """What happens to jobs, as it happens."""

    def events(self, job_id: str, after: str | None = None) -> AsyncIterator[JobEvent]:
        """Yield the changes of a job from the first kept, or after an event id, until its end.

        Closed by the last event, also when that lies in the past. Ids that are no longer kept are skipped
        over: send a snapshot first. Ends at once if the job is gone.
        """

    async def wait(self, job_id: str, timeout_s: float) -> None:
        """Return when the job has ended, or is gone, or the time is over."""


class ArtifactWriter(Protocol):
    """An upload under way. Leave it by ``commit`` or ``abort``; it also serves as a context manager."""

    @property
    def size_bytes(self) -> int:
        """How much was written so far."""

    def write(self, chunk: bytes) -> None:
        """Append; quick enough for an event loop.

        Raises:
            Refusal: body-too-large, beyond the limit given to ``begin``.
        """

    def commit(
        self, *, owner: str, media_type: str, title: str = "", expected_digest: str | None = None
    ) -> ArtifactRecord:
        """Make the file durable and the owner's. Repeating it with the same content is harmless.

        Raises:
            Refusal: digest-mismatch, if ``expected_digest`` ("sha256:…") is not that of the content.
        """

    def abort(self) -> None:
        """Forget what was written."""

    def __enter__(self) -> "ArtifactWriter":
        """Return itself."""

    def __exit__(self, *exception: object) -> None:
        """Abort, unless committed."""


class ArtifactStore(Protocol):
    """Files by their content. Knowing a digest opens nothing: an owner needs a record of it."""

    def begin(self, max_bytes: int) -> ArtifactWriter:
        """Return a writer that takes at most so many bytes."""

    def put(
        self,
        chunks: Iterable[bytes],
        *,
        owner: str,
        media_type: str,
        title: str = "",
        max_bytes: int | None = None,
    ) -> ArtifactRecord:
        """Store a file in one go."""

    def stat(self, digest: str, owner: str) -> ArtifactRecord:
        """Return what is known about an owner's file.

        Raises:
            Refusal: no-such-artifact.
        """

    def open(self, digest: str, owner: str) -> BinaryIO:
        """Open an owner's file for reading; it can be sought in."""

    def path(self, digest: str, owner: str) -> Path:
        """Return where the file lies, for sending it with ranges. Never write there."""

    def delete(self, digest: str, owner: str) -> None:
        """Give up an owner's record; the content goes when nobody has one."""

    def stored_bytes(self, owner: str) -> int:
        """Return how much an owner keeps here."""


class Callbacks(Protocol):
    """Subscribers still to be told: taken, tried, then settled or put off. Each is taken by one caller."""

    def take(self, limit: int, hold_s: float) -> list[CallbackDue]:
        """Return what is due, and keep it from others for so long."""

    def settle(self, callback_id: str) -> None:
        """Done, or given up."""

    def put_off(self, callback_id: str, delay_s: float) -> None:
        """Try again later."""
