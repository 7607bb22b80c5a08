"""The embedded stack, whole: server, workers and keeper from one object."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from schemas.jobs import JobClass, JobStatus
from tests.support.jobs import ended, request, two_steps, until
from tests.support.site import is_alive
from workers.queueing.embedded import NoServerError, server_program
from workers.queueing.service import Service, connect
from workers.queueing.settings import Settings
from workers.queueing.stack import EmbeddedStack


@pytest.fixture(scope="module")
def stack(tmp_path_factory: pytest.TempPathFactory) -> Iterator[EmbeddedStack]:
    try:
        server_program()
    except NoServerError as error:
        pytest.skip(str(error))
    settings = Settings(
        data=tmp_path_factory.mktemp("site") / "data",
        workers=1,
        stop_s=0.5,
        step_runner="tests.support.step_runners:obey",
    )
    with EmbeddedStack(settings) as made:
        yield made


@pytest.fixture
def service(stack: EmbeddedStack) -> Iterator[Service]:
    made = connect(stack.settings)
    yield made
    made.close()


def test_a_job_runs_from_start_to_end(service: Service) -> None:
    """Through the server, a worker's child and the file store."""
    job = request("Tern Quay")
    service.jobs.submit(job)

    status = ended(service, job.id).status

    assert (status.status, status.progress, status.attempts) == (JobStatus.SUCCESSFUL, 100, 1)
    digest = service.jobs.outputs(job.id)["message"]
    assert service.artifacts.path(digest, "ada").read_bytes() == b"Tern Quay"


def test_steps_pass_through_their_pools(service: Service) -> None:
    """One worker serves them all here."""
    job = two_steps()
    service.jobs.submit(job)

    status = ended(service, job.id).status

    assert [(step.id, step.state) for step in status.steps] == [("first", "done"), ("second", "done")]


def test_a_visitor_does_not_wait_for_the_catalogue(service: Service, tmp_path: Path) -> None:
    """One slot is kept for interactive steps, whatever bulk work has been sent."""
    gate = tmp_path / "gate"
    bulk = [request(f"wait {gate}", job_class=JobClass.BULK) for _ in range(4)]
    for job in bulk:
        service.jobs.submit(job)
    until(lambda: service.jobs.backlog().running == 1)

    visitor = request("hello")
    service.jobs.submit(visitor)

    assert ended(service, visitor.id).status.status is JobStatus.SUCCESSFUL
    assert not any(service.jobs.job(job.id).status.status.is_final for job in bulk)
    gate.touch()
    for job in bulk:
        assert ended(service, job.id).status.status is JobStatus.SUCCESSFUL


def test_a_data_folder_has_one_stack(stack: EmbeddedStack) -> None:
    """The second is told, and the first goes on."""
    second = EmbeddedStack(stack.settings.model_copy(update={"redis_url": None}))

    with pytest.raises(NoServerError, match="another process"):
        second.start()


def test_stopping_leaves_no_process_and_loses_no_job(tmp_path: Path) -> None:
    """What waited is there at the next start, and runs."""
    settings = Settings(
        data=tmp_path / "data",
        workers=1,
        stop_s=0.2,
        lease_s=2.0,
        beat_s=0.3,
        resend_s=0.5,
        resend_limit_s=2.0,
        step_runner="tests.support.step_runners:obey",
    )
    gate = tmp_path / "gate"
    with EmbeddedStack(settings) as first:
        service = connect(first.settings)
        jobs = [request(f"wait {gate}", job_class=JobClass.BULK) for _ in range(3)]
        for job in jobs:
            service.jobs.submit(job)
        until(lambda: service.jobs.backlog().running == 1)
        service.close()
        pids = [worker.pid for worker in first._workers]
    assert not any(is_alive(pid) for pid in pids if pid)

    gate.touch()
    with EmbeddedStack(settings) as second:
        service = connect(second.settings)
        for job in jobs:
            assert ended(service, job.id).status.status is JobStatus.SUCCESSFUL
        service.close()
