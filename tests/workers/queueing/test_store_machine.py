"""Any order of requests, deliveries, heartbeats, losses and clocks keeps the promises of the store."""

from __future__ import annotations

import itertools
from typing import Any, ClassVar

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    initialize,
    invariant,
    multiple,
    rule,
    run_state_machine_as_test,
)

from schemas.job_records import JobRequest
from schemas.jobs import JobClass, JobStatus
from schemas.problems import ProblemCode, Refusal, problem
from tests.support.clock import Clock
from tests.support.jobs import request, two_steps
from workers.queueing.artifacts import ContentFolder
from workers.queueing.keeper import Keeper
from workers.queueing.leases import Claim, Leases, StepLostError
from workers.queueing.scripts import QUEUES, Scripts
from workers.queueing.service import Service, connect
from workers.queueing.settings import Settings

OWNERS = ("ada", "bob")
QUOTA = 3
_numbers = itertools.count()


def _drop(messages: list[str]) -> None:
    """All messages are lost: what is delivered is up to the machine."""


class Store(RuleBasedStateMachine):
    """Requests, deliveries (also doubled and late), clocks and a keeper, in any order."""

    installation: ClassVar[Settings]

    jobs = Bundle("jobs")
    claims = Bundle("claims")

    @initialize(target=jobs)
    def begin(self) -> object:
        self.clock = Clock()
        prefix = f"{self.installation.key_prefix}{next(_numbers)}:"
        self.settings = self.installation.model_copy(update={"key_prefix": prefix, "depth": 2, "attempts": 2})
        self.service: Service = connect(self.settings, self.clock)
        scripts = Scripts(self.service.server, self.settings, self.clock)
        self.leases = Leases(scripts, self.service.server, self.settings)
        self.service.jobs._send = _drop
        folder = ContentFolder(self.settings.artifacts_folder)
        self.keeper = Keeper(self.settings, self.service.server, scripts, _drop, folder)
        self.requests: dict[str, JobRequest] = {}
        self.final: dict[str, JobStatus] = {}
        self.keys: dict[tuple[str, str], str] = {}
        self.erased: set[str] = set()
        self.handed_on: dict[str, int] = {}  # the last fence of each job that was handed on
        first = [two_steps(owner=owner, job_class=job_class) for owner in OWNERS for job_class in JobClass]
        for wanted in first:
            self.service.jobs.submit(wanted)
            self.requests[wanted.id] = wanted
        return multiple(*self.requests)

    def teardown(self) -> None:
        if hasattr(self, "service"):
            self.service.close()

    # ------------------------------------------------------------------ what may happen

    @rule(
        target=jobs,
        owner=st.sampled_from(OWNERS),
        job_class=st.sampled_from(JobClass),
        key=st.sampled_from([None, "k"]),
        long=st.booleans(),
    )
    def submit(self, owner: str, job_class: JobClass, key: str | None, long: bool) -> object:
        make = two_steps if long else request
        wanted = make(
            owner=owner, job_class=job_class, idempotency_key=key, fingerprint="same", queued_limit=QUOTA
        )
        try:
            accepted = self.service.jobs.submit(wanted)
        except Refusal as refusal:
            self.refused(refusal, ProblemCode.QUOTA_EXCEEDED)
            assert self.underway(owner) == QUOTA
            return multiple()
        job_id = accepted.job.status.id
        if key is not None:
            first = self.keys.get((owner, key))
            assert accepted.replayed == (first is not None and first not in self.erased)
            assert not accepted.replayed or job_id == first
            self.keys[owner, key] = job_id
        self.requests.setdefault(job_id, wanted)
        return job_id

    @rule(target=claims, job_id=jobs, queue=st.sampled_from([None] * 12 + QUEUES))
    def deliver(self, job_id: str, queue: str | None) -> object:
        """A message arrives: from the job's own queue, or forged or long over from any."""
        own = self.service.server.hget(f"{self.settings.key_prefix}job:{job_id}", "queue")
        claim = self.leases.claim(job_id, f"token {next(_numbers)}", queue or own or QUEUES[0])
        return multiple() if claim is None else claim

    @rule(claim=claims, fraction=st.floats(0, 1))
    def beat(self, claim: Claim, fraction: float) -> None:
        assert self.leases.beat(claim, fraction, "at work") == self.leases.holds(claim)

    @rule(claim=claims, well=st.booleans())
    def hand_on(self, claim: Claim, well: bool) -> None:
        """A worker is done, perhaps late, perhaps again."""
        counts = self.leases.holds(claim) or self.handed_on.get(claim.job_id) == claim.fence
        try:
            if well:
                self.leases.hand_on(claim, {})
            else:
                self.leases.fail(claim, problem(ProblemCode.NOT_CUTTABLE, "too thin"), {})
        except StepLostError:
            assert not counts or claim.job_id in self.erased
        else:
            assert counts
            self.handed_on[claim.job_id] = claim.fence

    @rule(claim=claims)
    def give_back(self, claim: Claim) -> None:
        """A worker stops; a late one changes nothing."""
        counts = self.leases.holds(claim)
        assert bool(self.leases.give_back(claim)) <= counts

    @rule(job_id=jobs, rarely=st.sampled_from([True] + [False] * 5))
    def dismiss(self, job_id: str, rarely: bool) -> None:
        if not rarely:
            return
        was = None if job_id in self.erased else self.status(job_id)
        try:
            self.service.jobs.dismiss(job_id)
        except Refusal as refusal:
            self.refused(refusal, ProblemCode.JOB_DISMISSED)
            assert was in (None, JobStatus.DISMISSED)
            return
        if was in (JobStatus.SUCCESSFUL, JobStatus.FAILED):
            self.erased.add(job_id)

    @rule(seconds=st.sampled_from([0.1, 1.0, 2.5]), keeper=st.booleans())
    def wait(self, seconds: float, keeper: bool) -> None:
        self.clock.forward(seconds)
        if keeper:
            assert self.keeper.turn()

    # ------------------------------------------------------------------ what must hold

    @invariant()
    def promises_hold(self) -> None:
        """Nothing accepted is forgotten, either: the keeper finds what waits in a line, or sent."""
        if not hasattr(self, "service"):
            return
        there = sorted(self.requests.keys() - self.erased)
        leased, waiting, underway, jobs, events = self.looked_up(there)
        for job_id, fields, happened in zip(there, jobs, events, strict=True):
            status = JobStatus(fields["status"])
            assert (fields["phase"] == "leased") == (job_id in leased)
            assert int(fields["attempts"]) <= self.settings.attempts
            assert (fields["phase"] == "ended") == status.is_final
            before = self.final.setdefault(job_id, status) if status.is_final else None
            assert before in (None, status), "an end state changed"
            endings = sum(JobStatus(event["status"]).is_final for _, event in happened)
            assert endings == int(status.is_final)
            assert fields["phase"] != "queued" or (fields["queue"], job_id) in waiting
        for owner, count in zip(OWNERS, underway, strict=True):
            mine = [fields for fields in jobs if fields["owner"] == owner]
            assert count == sum(not JobStatus(fields["status"]).is_final for fields in mine)

    def looked_up(self, there: list[str]) -> tuple[set[str], set[tuple[str, str]], list[int], Any, Any]:
        """Return the leased jobs, what waits in which queue, how many are under way, jobs, their events."""
        prefix = self.settings.key_prefix
        ask = self.service.server.pipeline(transaction=False)
        ask.zrange(f"{prefix}leases", 0, -1)
        lines = [(queue, owner) for queue in QUEUES for owner in OWNERS]
        for queue in QUEUES:
            ask.zrange(f"{prefix}sent:{queue}", 0, -1)
        for queue in QUEUES:
            ask.lrange(f"{prefix}turns:{queue}", 0, -1)
        for queue, owner in lines:
            ask.lrange(f"{prefix}wait:{queue}:{owner}", 0, -1)
        for owner in OWNERS:
            ask.scard(f"{prefix}underway:{owner}")
        for job_id in there:
            ask.hgetall(f"{prefix}job:{job_id}")
        for job_id in there:
            ask.xrange(f"{prefix}ev:{job_id}")
        found = iter(ask.execute())
        leased = set(next(found))
        waiting = {(queue, job) for queue in QUEUES for job in next(found)}
        turns = {queue: next(found) for queue in QUEUES}
        waiting |= {(queue, job) for queue, owner in lines for job in next(found) if owner in turns[queue]}
        underway = [next(found) for _ in OWNERS]
        return leased, waiting, underway, [next(found) for _ in there], [next(found) for _ in there]

    @staticmethod
    def refused(refusal: Refusal, code: ProblemCode) -> None:
        assert refusal.document.code is code

    def status(self, job_id: str) -> JobStatus:
        return self.service.jobs.job(job_id).status.status

    def underway(self, owner: str) -> int:
        return int(self.service.server.scard(f"{self.settings.key_prefix}underway:{owner}"))


@pytest.mark.timeout(120)
def test_the_store_keeps_its_promises(settings: Settings) -> None:
    """In 40 runs of 40 steps."""
    Store.installation = settings
    run_state_machine_as_test(Store, settings=MODEST)


MODEST = settings(
    max_examples=40,
    stateful_step_count=40,
    deadline=None,
    database=None,
    suppress_health_check=list(HealthCheck),
)
