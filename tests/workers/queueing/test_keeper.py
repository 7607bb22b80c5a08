"""The keeper: lost messages, lost workers, turns, and what is over."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

from schemas.job_records import JobFilter
from schemas.jobs import JobClass, JobStatus
from schemas.problems import Refusal
from tests.support.clock import Clock
from tests.support.jobs import claimed, request
from workers.queueing.artifacts import ContentFolder
from workers.queueing.keeper import Keeper
from workers.queueing.leases import Leases
from workers.queueing.scripts import Scripts
from workers.queueing.service import Service, connect
from workers.queueing.settings import Settings

INTERACTIVE, BULK = "coding.interactive", "coding.bulk"


class House:
    """A store whose clock and messages are in the test's hands."""

    def __init__(self, settings: Settings) -> None:
        self.clock = Clock()
        self.settings = settings
        self.service: Service = connect(settings, self.clock)
        self.scripts = Scripts(self.service.server, settings, self.clock)
        self.leases = Leases(self.scripts, self.service.server, settings)
        self.sent: list[tuple[str, str]] = []
        self.service.jobs._send = self.take
        self.folder = ContentFolder(settings.artifacts_folder, grace_s=settings.file_grace_s)
        self.keeper = self.new_keeper()

    def take(self, messages: list[str]) -> None:
        self.sent += zip(messages[::2], messages[1::2], strict=True)

    def new_keeper(self) -> Keeper:
        return Keeper(self.settings, self.service.server, self.scripts, self.take, self.folder)

    def submit(self, **changes: object) -> str:
        wanted = request(**changes)
        self.service.jobs.submit(wanted)
        return wanted.id

    def taken(self) -> list[tuple[str, str]]:
        sent, self.sent = self.sent, []
        return sent


@pytest.fixture
def house(settings: Settings) -> Iterator[House]:
    """A store that has two jobs of a pool on their way at a time."""
    made = House(settings.model_copy(update={"depth": 2}))
    yield made
    made.service.close()


def test_a_lost_message_is_sent_again(house: House) -> None:
    """Not at once, and ever more rarely."""
    job = house.submit()
    assert house.taken() == [(INTERACTIVE, job)]
    house.keeper.turn()
    assert house.taken() == []

    gaps = []
    for _ in range(3):
        gap = 0
        while not house.sent:
            house.clock.forward(0.1)
            gap += 1
            house.keeper.turn()
        assert house.taken() == [(INTERACTIVE, job)]
        gaps.append(gap)

    assert gaps == [5, 10, 20]  # tenths of a second; the settings' 0.5 s, doubled up to 2 s


def test_a_claimed_step_is_not_sent_again(house: House) -> None:
    """Its lease guards it from then on."""
    job = house.submit()
    house.taken()
    assert house.leases.claim(job, "token", INTERACTIVE)

    house.clock.forward(1.0)
    house.keeper.turn()

    assert house.taken() == []


def test_the_step_of_a_lost_worker_goes_back_in_line(house: House) -> None:
    """As soon as its lease is over."""
    job = house.submit()
    house.leases.claim(job, "token", INTERACTIVE)
    house.taken()

    house.clock.forward(house.settings.lease_s + 0.1)
    house.keeper.turn()

    assert house.taken() == [(INTERACTIVE, job)]
    assert house.service.jobs.job(job).status.status is JobStatus.RUNNING
    claim = claimed(house.leases, job, "next")
    assert claim.attempt == 2


def test_a_job_that_loses_every_worker_is_failed_by_the_keeper(house: House) -> None:
    """Also when no message ever comes again."""
    job = house.submit()
    for attempt in range(3):
        assert house.leases.claim(job, f"token {attempt}", INTERACTIVE)
        house.clock.forward(house.settings.lease_s + 0.1)
        house.keeper.turn()

    assert house.service.jobs.job(job).status.status is JobStatus.FAILED


def test_few_messages_are_on_their_way_at_once(house: House) -> None:
    """The rest wait in line, where they can be dismissed and reordered."""
    jobs = [house.submit() for _ in range(5)]
    assert [job for _, job in house.taken()] == jobs[:2]

    house.leases.claim(jobs[0], "token", INTERACTIVE)
    house.keeper.turn()

    assert [job for _, job in house.taken()] == [jobs[2]]


def test_owners_take_turns(house: House) -> None:
    """Nobody waits for the whole of another's catalogue."""
    of_ada = [house.submit(job_class=JobClass.BULK, owner="ada") for _ in range(6)]
    of_bob = [house.submit(job_class=JobClass.BULK, owner="bob") for _ in range(2)]
    order = [job for _, job in house.taken()]
    while len(order) < 8:
        house.leases.claim(order[-1], "token", BULK)
        house.leases.claim(order[-2], "token", BULK)
        house.keeper.turn()
        order += [job for _, job in house.taken()]

    assert sorted(order.index(job) for job in of_bob)[-1] <= 5
    assert [job for job in order if job in of_ada] == of_ada


def test_interactive_goes_before_bulk(house: House) -> None:
    """In one turn of the keeper."""
    bulk = house.submit(job_class=JobClass.BULK)
    interactive = house.submit()
    house.taken()
    house.clock.forward(0.6)

    house.keeper.turn()

    assert house.taken() == [(INTERACTIVE, interactive), (BULK, bulk)]


def test_a_dismissed_job_is_not_handed_out(house: House) -> None:
    """Its place in line counts for nothing."""
    jobs = [house.submit() for _ in range(4)]
    house.taken()
    house.service.jobs.dismiss(jobs[2])
    house.service.jobs.dismiss(jobs[0])

    house.keeper.turn()

    assert [job for _, job in house.taken()] == [jobs[3]]


def test_one_keeper_at_a_time(house: House) -> None:
    """Another takes over when the first falls silent."""
    other = house.new_keeper()

    assert house.keeper.turn()
    assert not other.turn()
    house.service.server.delete(f"{house.settings.key_prefix}keeper")  # as if its time were over
    assert other.turn()
    assert not house.keeper.turn()


def test_ended_jobs_are_erased_when_their_time_is_over(house: House) -> None:
    """Bulk jobs later than interactive ones, as set."""
    ids = {job_class: house.submit(job_class=job_class) for job_class in JobClass}
    for job_class, job in ids.items():
        claim = claimed(house.leases, job, "token", f"coding.{job_class}")
        house.leases.hand_on(claim, {})

    house.clock.forward(house.settings.keep_interactive_s + 1)
    house.keeper.turn()

    with pytest.raises(Refusal):
        house.service.jobs.job(ids[JobClass.INTERACTIVE])
    kept = house.service.jobs.jobs(JobFilter()).jobs
    assert [job.status.id for job in kept] == [ids[JobClass.BULK]]


def test_uploads_go_when_their_time_is_over(house: House) -> None:
    """First the owner's record, then, after the grace, the content nobody may see."""
    record = house.service.artifacts.put([b"abc"], owner="ada", media_type="text/plain")
    assert house.service.artifacts.stored_bytes("ada") == 3
    house.clock.forward(house.settings.keep_upload_s + 1)

    house.keeper.turn()

    with pytest.raises(Refusal):
        house.service.artifacts.stat(record.digest, "ada")
    assert house.service.artifacts.stored_bytes("ada") == 0
    assert house.folder.has(record.digest)
    path = house.folder.path(record.digest)
    path.chmod(0o600)
    os.utime(path, (0, 0))
    for _ in range(256):  # one folder of 256 at each turn
        house.keeper.turn()
    assert not house.folder.has(record.digest)


def test_old_content_that_somebody_may_see_stays(house: House) -> None:
    """Age alone removes nothing."""
    record = house.service.artifacts.put([b"abc"], owner="ada", media_type="text/plain")
    path = house.folder.path(record.digest)
    path.chmod(0o600)
    os.utime(path, (0, 0))

    for _ in range(256):
        house.keeper.turn()

    assert house.folder.has(record.digest)
