"""The broker is killed and comes back; nothing accepted is lost, and workers go on."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator

import pytest
import redis

from schemas.jobs import JobStatus
from tests.support.jobs import ended, request, until
from tests.support.site import Site
from workers.queueing.embedded import EmbeddedServer
from workers.queueing.settings import Settings

pytestmark = pytest.mark.fault


@pytest.fixture
def site(server: EmbeddedServer, settings: Settings) -> Iterator[Site]:
    """An installation without workers yet, on the server of this test."""
    made = Site(settings.model_copy(update={"redis_url": server.url}))
    yield made
    made.close()


def _kill(server: EmbeddedServer, site: Site) -> None:
    pid = server.pid
    assert pid is not None
    os.kill(pid, signal.SIGKILL)
    until(lambda: server.pid not in (None, pid))
    until(lambda: _answers(site))


def _answers(site: Site) -> bool:
    try:
        return bool(site.service.server.ping())
    except redis.exceptions.RedisError:
        return False


def test_a_worker_with_a_running_job_and_a_free_slot_goes_on(server: EmbeddedServer, site: Site) -> None:
    """The running job ends in its first attempt, and the next begins beside it.

    Celery 5.7.0 alone leaves its main loop here: see ``workers.queueing.broker_transport``.
    """
    site = Site(site.settings.model_copy(update={"lease_s": 20.0, "key_prefix": "other:"}))
    try:
        worker = site.start_worker(slots=2)
        before = worker.pid
        gate = site.gate("restart")
        long = site.submit(f"wait {gate}")
        site.wait_until_begun(f"wait {gate}")

        _kill(server, site)

        following = site.submit("hello")
        assert ended(site.service, following.id).status.status is JobStatus.SUCCESSFUL
        assert not site.service.jobs.job(long.id).status.status.is_final
        gate.touch()
        status = ended(site.service, long.id).status
        assert (status.status, status.attempts) == (JobStatus.SUCCESSFUL, 1)
        assert worker.pid == before
    finally:
        site.close()


def test_a_worker_whose_message_ends_unheard_takes_work_again(server: EmbeddedServer, site: Site) -> None:
    """The broker is away while the only slot ends, so its message cannot be acknowledged.

    Celery 5.7.0 alone asks for no message ever after: see ``workers.queueing.broker_transport``.
    """
    worker = site.start_worker(slots=1)
    before = worker.pid
    gate = site.gate("unheard")
    site.submit(f"drop {gate}")
    site.wait_until_begun(f"drop {gate}")

    server.stop()
    gate.touch()
    until(lambda: "Couldn't ack" in site.log("worker0"))
    server.start()

    following = site.submit("hello")
    assert ended(site.service, following.id).status.status is JobStatus.SUCCESSFUL
    assert worker.pid == before


def test_all_accepted_jobs_survive(server: EmbeddedServer, site: Site) -> None:
    """Killed in the middle of the work: all that was answered is done, each once.

    The guard against hanging is longer than the longest wait before a lost message is sent again.
    """
    site.start_worker(slots=2)
    jobs = [request(f"number {number}") for number in range(40)]
    for job in jobs[:20]:
        site.service.jobs.submit(job)
    ended(site.service, jobs[3].id)

    _kill(server, site)

    for job in jobs[20:]:
        site.service.jobs.submit(job)
    guard_s = 2 * Settings().resend_limit_s
    for job in jobs:
        assert ended(site.service, job.id, timeout_s=guard_s).status.status is JobStatus.SUCCESSFUL
        outputs = site.service.jobs.outputs(job.id)
        path = site.service.artifacts.path(outputs["message"], "ada")
        assert path.read_text() == job.steps[0].inputs["message"]
