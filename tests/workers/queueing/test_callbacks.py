"""Subscribers to be told that their job has ended."""

from __future__ import annotations

import pytest

from schemas.job_records import CallbackDue, Subscriber
from tests.support.jobs import claimed, request
from workers.queueing.leases import Leases
from workers.queueing.service import Service

HOOK = Subscriber(successUri="https://example.invalid/done")


@pytest.fixture
def ended_job(service: Service, leases: Leases) -> str:
    """A job that has ended and that somebody wants to hear of."""
    job = request(subscriber=HOOK)
    service.jobs.submit(job)
    claim = claimed(leases, job.id)
    assert service.callbacks.take(10, 60.0) == []
    leases.hand_on(claim, {})
    return job.id


def test_each_is_taken_by_one_caller(service: Service, ended_job: str) -> None:
    """Two front desks do not both call."""
    assert service.callbacks.take(10, 60.0) == [CallbackDue(id=ended_job, job_id=ended_job, tries=0)]
    assert service.callbacks.take(10, 60.0) == []


def test_a_caller_that_died_is_followed_by_another(service: Service, ended_job: str) -> None:
    """What was taken and not settled comes up again, and the tries are counted."""
    service.callbacks.take(10, 0.0)

    assert service.callbacks.take(10, 60.0) == [CallbackDue(id=ended_job, job_id=ended_job, tries=1)]


def test_what_is_put_off_comes_later(service: Service, ended_job: str) -> None:
    """Not before its time."""
    service.callbacks.take(10, 0.0)

    service.callbacks.put_off(ended_job, 60.0)

    assert service.callbacks.take(10, 60.0) == []


def test_what_is_settled_is_over(service: Service, ended_job: str) -> None:
    """And cannot be put off any more."""
    service.callbacks.settle(ended_job)
    service.callbacks.put_off(ended_job, 0.0)

    assert service.callbacks.take(10, 0.0) == []


def test_jobs_without_a_subscriber_call_nobody(service: Service) -> None:
    """Nothing is due."""
    job = request()
    service.jobs.submit(job)
    service.jobs.dismiss(job.id)

    assert service.callbacks.take(10, 0.0) == []
