"""Workers die, stop and lie; every job still ends, and is published once."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator

import pytest

from schemas.jobs import JobStatus
from schemas.problems import ProblemCode
from tests.support.jobs import ended, until
from tests.support.site import Site, is_alive
from workers.queueing.settings import Settings

pytestmark = pytest.mark.fault


def _endings(site: Site, job_id: str) -> int:
    stream = f"{site.settings.key_prefix}ev:{job_id}"
    events = site.service.server.xrange(stream)
    return sum(fields["kind"] in ("successful", "failed", "dismissed") for _, fields in events)


def test_a_killed_child_costs_one_attempt(site: Site) -> None:
    """As by the kernel when memory runs out."""
    site.start_worker()
    gate = site.gate("child")
    job = site.submit(f"wait {gate}")
    os.kill(site.wait_until_begun(f"wait {gate}"), signal.SIGKILL)

    site.wait_until_begun(f"wait {gate}", times=2)
    gate.touch()

    status = ended(site.service, job.id).status
    assert (status.status, status.attempts) == (JobStatus.SUCCESSFUL, 2)
    assert _endings(site, job.id) == 1


def test_a_killed_worker_costs_one_attempt(site: Site) -> None:
    """With all its children; another is started in its place."""
    worker = site.start_worker()
    gate = site.gate("worker")
    job = site.submit(f"wait {gate}")
    child = site.wait_until_begun(f"wait {gate}")
    worker.signal(signal.SIGKILL)

    site.wait_until_begun(f"wait {gate}", times=2)
    gate.touch()

    status = ended(site.service, job.id).status
    assert (status.status, status.attempts) == (JobStatus.SUCCESSFUL, 2)
    until(lambda: not is_alive(child))


def test_a_job_that_kills_its_workers_is_given_up(site: Site) -> None:
    """After three attempts, and others go on meanwhile."""
    site.start_worker()
    deadly = site.submit("die")
    harmless = site.submit("hello")

    assert ended(site.service, harmless.id).status.status is JobStatus.SUCCESSFUL
    status = ended(site.service, deadly.id).status
    assert status.status is JobStatus.FAILED
    assert status.exception is not None
    assert status.exception.code is ProblemCode.ATTEMPTS_EXHAUSTED
    assert len(site.begun("die")) == 3


def test_a_memory_error_fails_its_job_and_leaves_the_worker(site: Site) -> None:
    """In celery 5.7.0 a bare one ends the whole worker, and the next (celery/celery#10462)."""
    worker = site.start_worker(slots=1)
    before = worker.pid
    job = site.submit("exhaust")

    status = ended(site.service, job.id).status

    assert status.exception is not None
    assert status.exception.code is ProblemCode.LIMIT_EXCEEDED
    assert ended(site.service, site.submit("hello").id).status.status is JobStatus.SUCCESSFUL
    assert worker.pid == before


def test_a_stopped_worker_that_wakes_up_late_loses(site: Site) -> None:
    """Its lease is over, another has done the step: its result counts for nothing."""
    site.start_worker(slots=2)
    gate = site.gate("stopped")
    job = site.submit(f"wait {gate}")
    child = site.wait_until_begun(f"wait {gate}")
    os.kill(child, signal.SIGSTOP)
    try:
        site.wait_until_begun(f"wait {gate}", times=2)
        gate.touch()
        status = ended(site.service, job.id).status
    finally:
        os.kill(child, signal.SIGCONT)

    assert (status.status, status.attempts) == (JobStatus.SUCCESSFUL, 2)
    both = [ended(site.service, site.submit("hello").id) for _ in range(4)]  # the late child works again
    assert all(job.status.status is JobStatus.SUCCESSFUL for job in both)
    assert _endings(site, job.id) == 1


@pytest.mark.parametrize("kind", ["wait", "deaf"])
def test_a_worker_that_is_stopped_gives_its_step_back(settings: Settings, kind: str) -> None:
    """At once, not when the lease is over; and it does not count as an attempt."""
    site = Site(settings.model_copy(update={"lease_s": 60.0}))
    try:
        worker = site.start_worker(slots=1)
        gate = site.gate("stopping")
        job = site.submit(f"{kind} {gate}")
        site.wait_until_begun(f"{kind} {gate}")

        worker.stop(grace_s=10)
        site.start_worker(slots=1)

        site.wait_until_begun(f"{kind} {gate}", times=2)
        gate.touch()
        status = ended(site.service, job.id).status
        assert (status.status, status.attempts) == (JobStatus.SUCCESSFUL, 1)
    finally:
        site.close()


@pytest.mark.parametrize("kind", ["wait", "deaf"])
def test_dismissing_a_running_job_frees_its_slot(site: Site, kind: str) -> None:
    """Whether the step reports or not."""
    site.start_worker(slots=1)
    message = f"{kind} {site.gate('never')}"
    job = site.submit(message)
    site.wait_until_begun(message)

    site.service.jobs.dismiss(job.id)

    assert ended(site.service, site.submit("hello").id).status.status is JobStatus.SUCCESSFUL
    assert site.service.jobs.job(job.id).status.status is JobStatus.DISMISSED


class TestWithShortLimits:
    """Steps that ask for too much."""

    @pytest.fixture
    def site(self, settings: Settings) -> Iterator[Site]:
        made = Site(settings.model_copy(update={"step_limit_s": 1.0, "child_memory_mb": 1500}))
        yield made
        made.close()

    @pytest.mark.parametrize("message", ["deaf /nowhere", "stuck"])
    def test_a_step_that_takes_too_long_fails(self, site: Site, message: str) -> None:
        """In Python it is interrupted; in compiled code its process ends. Once: it is not tried again."""
        site.start_worker(slots=1)
        job = site.submit(message)

        status = ended(site.service, job.id).status

        assert status.exception is not None
        assert status.exception.code is ProblemCode.LIMIT_EXCEEDED
        assert ended(site.service, site.submit("hello").id).status.status is JobStatus.SUCCESSFUL
        assert len(site.begun(message)) == 1

    def test_a_step_that_takes_too_much_memory_fails(self, site: Site) -> None:
        """The kernel's limit turns it into an error that can be told."""
        site.start_worker(slots=1)
        job = site.submit("allocate 3000000000")

        status = ended(site.service, job.id).status

        assert status.exception is not None
        assert status.exception.code is ProblemCode.LIMIT_EXCEEDED
