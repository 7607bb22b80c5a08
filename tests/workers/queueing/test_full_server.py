"""A server that has no memory left: new work is refused, what is under way ends, what is over goes."""

from __future__ import annotations

from pathlib import Path

import pytest

from schemas.jobs import JobStatus
from schemas.problems import ProblemCode, Refusal
from tests.support.jobs import claimed, request, two_steps
from workers.queueing.connection import in_reach
from workers.queueing.embedded import EmbeddedServer
from workers.queueing.leases import Leases
from workers.queueing.service import Service
from workers.queueing.settings import Settings


@pytest.fixture
def settings(server: EmbeddedServer, tmp_path: Path) -> Settings:
    """Settings for a server whose memory is the test's own."""
    return Settings(data=tmp_path / "data", redis_url=server.url, lease_s=2.0, attempts=1)


@pytest.fixture
def full(service: Service) -> Service:
    """The queue and the store, to be filled; messages go nowhere."""
    service.jobs._send = lambda messages: None
    service.keeper._send = lambda messages: None
    return service


def _fill(service: Service, share: float = 2.0) -> None:
    """Make the memory that is used so many times what the server may use."""
    used = service.server.info("memory")["used_memory"]
    service.server.config_set("maxmemory", round(used / share))


def _refused(refusal: pytest.ExceptionInfo[Refusal]) -> str:
    document = refusal.value.document
    assert document.code is ProblemCode.QUEUE_UNAVAILABLE
    return document.detail


@pytest.mark.parametrize("share", [0.95, 2.0])
def test_new_jobs_and_files_are_refused(full: Service, share: float) -> None:
    """While a tenth is left already: messages of running jobs need it."""
    _fill(full, share)

    with pytest.raises(Refusal) as job:
        full.jobs.submit(request())
    with pytest.raises(Refusal) as file:
        full.artifacts.put([b"ink"], owner="ada", media_type="image/png")

    assert "no memory" in _refused(job)
    assert "no memory" in _refused(file)


def test_below_that_they_are_taken(full: Service) -> None:
    """As on a server without a limit."""
    _fill(full, 0.5)

    full.artifacts.put([b"ink"], owner="ada", media_type="image/png")
    assert not full.jobs.submit(request()).replayed


def test_jobs_under_way_end(full: Service, leases: Leases) -> None:
    """Each move of a worker is made as ever."""
    job = two_steps()
    full.jobs.submit(job)
    _fill(full)

    first = claimed(leases, job.id, "first")
    assert leases.beat(first, 0.5, "half of it")
    leases.give_back(first)
    leases.hand_on(claimed(leases, job.id, "again"), {})
    leases.hand_on(claimed(leases, job.id, "second", "tracing.interactive"), {})

    assert full.jobs.job(job.id).status.status is JobStatus.SUCCESSFUL


def test_the_keeper_keeps_house_and_jobs_are_dismissed(full: Service, leases: Leases) -> None:
    """Else a full server would stay full."""
    running, ended = request(), request()
    for job in (running, ended):
        full.jobs.submit(job)
    leases.hand_on(claimed(leases, ended.id), {})
    _fill(full)

    assert full.keeper.turn()
    assert full.jobs.dismiss(running.id).status.status is JobStatus.DISMISSED
    full.jobs.dismiss(ended.id)

    with pytest.raises(Refusal):
        full.jobs.job(ended.id)


def test_any_other_write_that_is_denied_is_the_same_refusal(full: Service) -> None:
    """No error of the client's library gets out."""
    _fill(full)

    with pytest.raises(Refusal) as refusal, in_reach():
        full.server.set("more", "of it")

    assert "no memory" in _refused(refusal)
