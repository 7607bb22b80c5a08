"""The job list and its parameters."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from schemas.job_records import JobFilter
from schemas.jobs import JobStatus
from tests.support.clock import Clock
from tests.support.jobs import claimed, request
from workers.queueing.leases import Leases
from workers.queueing.service import Service

CODING = "coding.interactive"


@pytest.fixture
def clock() -> Clock:
    """The store's time, turned by hand."""
    return Clock()


def _submit(service: Service, **changes: object) -> str:
    wanted = request(**changes)
    service.jobs.submit(wanted)
    return wanted.id


def _ids(service: Service, **narrowed: object) -> list[str]:
    return [job.status.id for job in service.jobs.jobs(JobFilter(**{"limit": 100} | narrowed)).jobs]


def _time(clock: Clock, seconds: float = 0.0) -> datetime:
    return datetime.fromtimestamp(clock.now_ms / 1000, UTC) + timedelta(seconds=seconds)


def test_newest_first_and_only_the_owners(service: Service, clock: Clock) -> None:
    """Nobody sees the jobs of others."""
    of_ada = []
    for _ in range(3):
        of_ada.append(_submit(service))
        _submit(service, owner="bob")
        clock.forward(1)

    assert _ids(service, owner="ada") == of_ada[::-1]
    assert len(_ids(service)) == 6


def test_pages_follow_each_other(service: Service, clock: Clock) -> None:
    """Without gap or double, also among jobs of one millisecond."""
    submitted = {_submit(service) for _ in range(4)}
    clock.forward(1)
    submitted |= {_submit(service) for _ in range(3)}

    seen: list[str] = []
    after: str | None = None
    while True:
        page = service.jobs.jobs(JobFilter(limit=2, after=after))
        seen += [job.status.id for job in page.jobs]
        after = page.next
        if after is None:
            break

    assert len(seen) == 7
    assert set(seen) == submitted


def test_a_last_page_that_is_full_has_no_next(service: Service) -> None:
    """A link to nothing is not offered."""
    _submit(service)
    _submit(service)

    assert service.jobs.jobs(JobFilter(limit=2)).next is None


def test_narrowed_by_process_and_status(service: Service, leases: Leases) -> None:
    """Each takes several values."""
    waiting = _submit(service)
    other = _submit(service, process="tracing")
    running = _submit(service)
    assert leases.claim(running, "token", CODING)

    assert set(_ids(service, processes=["echo"])) == {waiting, running}
    assert set(_ids(service, statuses=[JobStatus.ACCEPTED])) == {waiting, other}
    assert _ids(service, statuses=[JobStatus.RUNNING, JobStatus.FAILED], processes=["echo"]) == [running]


def test_narrowed_by_time(service: Service, clock: Clock) -> None:
    """Against the time of creation, both ends counted in."""
    early = _submit(service)
    clock.forward(10)
    middle = _submit(service)
    clock.forward(10)
    late = _submit(service)

    assert _ids(service, created_from=_time(clock, -10)) == [late, middle]
    assert _ids(service, created_to=_time(clock, -10)) == [middle, early]
    assert _ids(service, created_from=_time(clock, -15), created_to=_time(clock, -5)) == [middle]


def test_narrowed_by_duration(service: Service, leases: Leases, clock: Clock) -> None:
    """Finished less started; jobs that have not begun have none and are left out."""
    _submit(service)
    jobs = []
    for seconds in (1, 5):
        job = _submit(service)
        jobs.append(job)
        claim = claimed(leases, job)
        clock.forward(seconds)
        leases.hand_on(claim, {})

    short, long = jobs
    assert _ids(service, min_duration_s=2) == [long]
    assert _ids(service, max_duration_s=2) == [short]
    assert set(_ids(service, min_duration_s=0)) == {short, long}
