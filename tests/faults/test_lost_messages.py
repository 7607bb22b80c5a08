"""Messages get lost and come twice; jobs do not."""

from __future__ import annotations

import pytest

from schemas.jobs import JobStatus
from tests.support.jobs import ended, two_steps
from tests.support.site import Site

pytestmark = pytest.mark.fault


def test_a_message_lost_in_the_broker_is_found(site: Site) -> None:
    """Taking a message is two steps in kombu; a crash between them loses it (celery/kombu#305)."""
    job = site.submit("hello")
    lists = f"{site.settings.key_prefix}coding.interactive"
    assert site.service.server.delete(lists) == 1
    site.start_worker()

    assert ended(site.service, job.id).status.status is JobStatus.SUCCESSFUL


def test_a_message_that_was_never_sent_is_sent(site: Site) -> None:
    """The sender died between accepting and sending."""
    site.service.jobs._send = lambda messages: None
    job = site.submit("hello")
    site.start_worker()

    assert ended(site.service, job.id).status.status is JobStatus.SUCCESSFUL


def test_a_message_that_comes_often_runs_once(site: Site) -> None:
    """Late copies find the job done."""
    wanted = two_steps("first", "second")
    site.service.jobs.submit(wanted)
    for queue in ("coding.interactive", "tracing.interactive"):
        site.service.sender.send([queue, wanted.id] * 5)
    site.start_worker(slots=2)

    status = ended(site.service, wanted.id).status
    ended(site.service, site.submit("hello").id)

    assert (status.status, status.attempts) == (JobStatus.SUCCESSFUL, 2)
    assert len(site.begun("first")) == len(site.begun("second")) == 1
