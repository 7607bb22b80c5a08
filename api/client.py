"""The client a front end uses: upload, submit, follow, fetch. What is refused is raised with its problem."""

import time
import uuid
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import httpx
from pydantic import ValidationError

from api.event_stream import server_sent_events
from api.linked_files import with_files
from api.output_folder import OutputFolder
from schemas.job_records import JobEvent
from schemas.jobs import JobStatus, ResultLink, StatusInfo
from schemas.problems import Problem, ProblemCode, Refusal, problem
from schemas.steps import output_of

DEFAULT_ADDRESS = "http://127.0.0.1:8500"
_TRIES = 3  # of a request whose answer got lost; sound, as submissions carry an idempotency key
_POLL_S = 1.0


@dataclass(frozen=True, slots=True)
class Update:
    """How far a job is."""

    status: JobStatus
    progress: int
    message: str


class TriglyphClient:
    """Speaks to one Triglyph service.

    Args:
        address: Where it is.
        key: A key of the service, if it wants one.
        http: A client to use instead of one of our own, for tests and unusual networks.
    """

    def __init__(
        self, address: str = DEFAULT_ADDRESS, key: str | None = None, http: httpx.Client | None = None
    ) -> None:
        self.address = address.rstrip("/")
        headers = {"Authorization": f"Bearer {key}"} if key else {}
        self._http = http or httpx.Client(
            base_url=self.address, headers=headers, timeout=httpx.Timeout(30.0, read=60.0)
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the connections."""
        self._http.close()

    # ---------------------------------------------------------------------------- what is offered

    def processes(self) -> list[dict[str, Any]]:
        """Return the processes offered."""
        found: list[dict[str, Any]] = self._json("GET", "/processes")["processes"]
        return found

    def capabilities(self) -> dict[str, Any]:
        """Return everything that can be named in a request."""
        found: dict[str, Any] = self._json("GET", "/capabilities")
        return found

    # --------------------------------------------------------------------------------------- work

    def upload(self, file: Path | bytes) -> str:
        """Store a file at the service; return its href."""
        content = file if isinstance(file, bytes) else file.read_bytes()
        href: str = self._json("POST", "/artifacts", content=content)["href"]
        return href

    def submit(
        self,
        process: str,
        inputs: Any,
        *,
        folder: Path | None = None,
        bulk: bool = False,
        wait_s: int = 0,
        idempotency_key: str | None = None,
    ) -> StatusInfo:
        """Start a job.

        Args:
            process: Its id.
            inputs: The JSON of its inputs.
            folder: Where local files that are linked lie; they are uploaded. None: links are uploads already.
            bulk: Let interactive work go ahead.
            wait_s: How long the service may hold its answer until the job has ended.
            idempotency_key: Sending the same again with the same key answers the same job.

        Raises:
            Refusal: What the service, or a missing file, has against it.
        """
        body = {"inputs": inputs if folder is None else with_files(inputs, folder, self.upload)}
        headers = {"Idempotency-Key": idempotency_key or str(uuid.uuid4())}
        if wait_s:
            headers["Prefer"] = f"wait={wait_s}"
        answer = self._json(
            "POST",
            f"/processes/{process}/execution",
            params={"class": "bulk"} if bulk else None,
            json=body,
            headers=headers,
        )
        return StatusInfo.model_validate(answer)

    def status(self, job_id: str) -> StatusInfo:
        """Return how a job stands."""
        return StatusInfo.model_validate(self._json("GET", f"/jobs/{job_id}"))

    def jobs(self, *, limit: int = 10, status: JobStatus | None = None) -> list[StatusInfo]:
        """Return the latest jobs."""
        wanted = {"limit": limit} | ({"status": status.value} if status else {})
        return [StatusInfo.model_validate(job) for job in self._json("GET", "/jobs", params=wanted)["jobs"]]

    def dismiss(self, job_id: str) -> StatusInfo:
        """Stop a job, or erase one that has ended."""
        return StatusInfo.model_validate(self._json("DELETE", f"/jobs/{job_id}"))

    def follow(self, job_id: str) -> Iterator[Update]:
        """Yield how far a job is, until it has ended; reconnects, and asks again and again at worst."""
        last_id: str | None = None
        failures = 0
        while failures < _TRIES:
            try:
                for event in self._events(job_id, last_id):
                    if event.id is not None:  # a snapshot alone is no progress: it comes at every connection
                        last_id, failures = event.id, 0
                    update = _update(event.data)
                    yield update
                    if update.status.is_final:
                        return
            except (httpx.TransportError, Refusal, ValidationError) as error:
                if isinstance(error, Refusal) and error.document.status != 429:
                    raise
            failures += 1
            time.sleep(0.2 * failures)
        yield from self._poll(job_id)

    def results(self, job_id: str) -> dict[str, ResultLink]:
        """Return links to what a job made.

        Raises:
            Refusal: The job has failed (its own problem), is not ready, or is gone.
        """
        answer = self._json("GET", f"/jobs/{job_id}/results")
        return {name: ResultLink.model_validate(link) for name, link in answer.items()}

    def download_all(self, job_id: str, folder: Path) -> tuple[dict[str, Path], Problem | None]:
        """Fetch all outputs of an ended job into a folder, under the names of the contract.

        Returns:
            Where each output lies, and the problem of a failed job, whose reports these are then.

        Raises:
            Refusal: The job is not ready, or gone.
        """
        why: Problem | None = None
        try:
            links = self.results(job_id)
        except Refusal as refusal:
            why = refusal.document
            reports = (why.model_extra or {}).get("reports")
            if not isinstance(reports, dict):
                raise
            links = {name: ResultLink.model_validate(link) for name, link in reports.items()}
        process = self.status(job_id).processID
        out = OutputFolder(folder)
        out.clear()
        return {
            name: out.write(output_of(process, name).file, self._bytes(link.href))
            for name, link in links.items()
        }, why

    # ------------------------------------------------------------------------------------- inside

    def _events(self, job_id: str, last_id: str | None) -> Iterator[Any]:
        headers = {"Last-Event-ID": last_id} if last_id else {}
        with self._http.stream("GET", f"/jobs/{job_id}/events", headers=headers) as response:
            if response.is_error:
                response.read()
                raise Refusal(_problem_of(response))
            yield from server_sent_events(response.iter_lines())

    def _poll(self, job_id: str) -> Iterator[Update]:
        while True:
            job = self.status(job_id)
            yield Update(job.status, job.progress, job.message)
            if job.status.is_final:
                return
            time.sleep(_POLL_S)

    def _bytes(self, href: str) -> Iterator[bytes]:
        with self._http.stream("GET", href) as response:
            if response.is_error:
                response.read()
                raise Refusal(_problem_of(response))
            yield from response.iter_bytes()

    def _json(self, method: str, path: str, **more: Any) -> Any:
        """Return the JSON answer of a request, sent again if its answer got lost."""
        for attempt in range(1, _TRIES + 1):
            try:
                response = self._http.request(method, path, **more)
                break
            except httpx.TransportError as error:
                if attempt == _TRIES:
                    raise Refusal(self._silent(error)) from None
                time.sleep(0.1 * attempt)
        if response.is_error:
            raise Refusal(_problem_of(response))
        return response.json()

    def _silent(self, error: httpx.TransportError) -> Problem:
        return problem(
            ProblemCode.QUEUE_UNAVAILABLE,
            f"no service answers at {self.address} ({type(error).__name__})",
            remedy="Start one with `triglyph serve`, or say where it is with --to.",
        )


def _update(data: Mapping[str, Any]) -> Update:
    """Return what an event says: a snapshot is a whole state, the others are changes."""
    if "jobID" in data:
        state = StatusInfo.model_validate(data)
        return Update(state.status, state.progress, state.message)
    change = JobEvent.model_validate(data)
    return Update(change.status, change.progress, change.message or change.step)


def _problem_of(response: httpx.Response) -> Problem:
    """Return the problem that a service answered, or one about an answer that is none."""
    try:
        return Problem.model_validate(response.json())
    except ValueError:
        return problem(
            ProblemCode.INTERNAL_FAULT,
            f"the answer {response.status_code} at {response.url.path} is not from a Triglyph service",
            remedy="Look at the address given with --to, and at proxies on the way.",
        )
