"""Events, as they happen."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from typing import Any

import pytest
import redis.asyncio

from schemas.job_records import JobEvent
from tests.support.jobs import claimed, request, two_steps
from workers.queueing.job_feed import RedisJobFeed
from workers.queueing.leases import Leases
from workers.queueing.service import Service
from workers.queueing.settings import Settings

CODING, TRACING = "coding.interactive", "tracing.interactive"


def _watch(settings: Settings, watching: Callable[[RedisJobFeed], Awaitable[Any]]) -> Any:
    async def whole() -> Any:
        feed = RedisJobFeed(settings)
        try:
            return await asyncio.wait_for(watching(feed), 10)
        finally:
            await feed.close()

    return asyncio.run(whole())


async def _all(feed: RedisJobFeed, job_id: str, after: str | None = None) -> list[JobEvent]:
    return [event async for event in feed.events(job_id, after)]


def _run_both_steps(leases: Leases, job_id: str) -> None:
    for queue in (CODING, TRACING):
        claim = claimed(leases, job_id, f"token {queue}", queue)
        leases.beat(claim, 0.5, "half of it")
        leases.hand_on(claim, {})


def test_events_tell_the_whole_story_and_end(service: Service, leases: Leases, settings: Settings) -> None:
    """Also when all of it lies in the past."""
    job = two_steps()
    service.jobs.submit(job)
    _run_both_steps(leases, job.id)

    events = _watch(settings, lambda feed: _all(feed, job.id))

    kinds = [event.kind for event in events]
    assert kinds == ["accepted", "running", "progress", "step", "step", "progress", "successful"]
    assert [event.progress for event in events] == [0, 0, 25, 50, 50, 75, 100]
    assert events[-1].is_last
    assert [event.id for event in events] == sorted(event.id for event in events)


def test_a_watcher_goes_on_where_it_was(service: Service, leases: Leases, settings: Settings) -> None:
    """Last-Event-ID."""
    job = two_steps()
    service.jobs.submit(job)
    _run_both_steps(leases, job.id)
    events = _watch(settings, lambda feed: _all(feed, job.id))

    rest = _watch(settings, lambda feed: _all(feed, job.id, events[3].id))

    assert rest == events[4:]


def test_a_job_that_ends_between_two_looks_is_told_to_its_end(
    service: Service, leases: Leases, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The watcher has read all events there are; before it asks how the job stands, the job ends."""
    job = request()
    service.jobs.submit(job)
    claim = claimed(leases, job.id)
    read = redis.asyncio.Redis.xrange

    async def read_and_end(*arguments: Any, **named: Any) -> Any:
        found = await read(*arguments, **named)
        leases.hand_on(claim, {})  # a second time it changes nothing
        return found

    monkeypatch.setattr(redis.asyncio.Redis, "xrange", read_and_end)

    events = _watch(settings, lambda feed: _all(feed, job.id))

    assert [event.kind for event in events] == ["accepted", "running", "successful"]


def test_events_come_as_they_happen(service: Service, leases: Leases, settings: Settings) -> None:
    """Each long before the watcher would look by itself, which is after 2 s."""
    job = request()
    service.jobs.submit(job)

    async def watching(feed: RedisJobFeed) -> float:
        loop = asyncio.get_running_loop()
        happened_at = 0.0
        async for event in feed.events(job.id):
            if event.kind == "accepted":
                await asyncio.sleep(0.2)  # the watcher's subscription is under way
                claim = claimed(leases, job.id)
                happened_at = loop.time() + 0.3
                loop.call_later(0.3, leases.hand_on, claim, {})
        return loop.time() - happened_at

    assert _watch(settings, watching) < 1.0


def test_waiting_ends_with_the_job(service: Service, leases: Leases, settings: Settings) -> None:
    """Or with the time, whichever is first."""
    job = request()
    service.jobs.submit(job)

    async def watching(feed: RedisJobFeed) -> tuple[float, float]:
        loop = asyncio.get_running_loop()
        began = loop.time()
        await feed.wait(job.id, 0.2)
        in_vain = loop.time() - began
        claim = claimed(leases, job.id)
        loop.call_later(0.2, leases.hand_on, claim, {})
        began = loop.time()
        await feed.wait(job.id, 8)
        return in_vain, loop.time() - began

    in_vain, with_success = _watch(settings, watching)

    assert 0.2 <= in_vain < 1.5
    assert with_success < 1.5


def test_no_events_of_a_job_that_is_not_there(settings: Settings) -> None:
    """The stream just ends."""
    assert _watch(settings, lambda feed: _all(feed, "no such job")) == []


def test_only_the_latest_events_are_kept(service: Service, leases: Leases, settings: Settings) -> None:
    """A chatty step costs a bounded amount of memory."""
    job = request()
    service.jobs.submit(job)
    claim = claimed(leases, job.id)

    for number in range(600):
        leases.beat(claim, 0.0, f"message {number}")

    assert service.server.xlen(f"{settings.key_prefix}ev:{job.id}") < 400


def test_closing_ends_a_listener_that_swallows_a_cancellation(settings: Settings) -> None:
    """As a client does whose connecting ends in a timeout of its own; closing must not wait for ever."""

    async def whole() -> int:
        feed = RedisJobFeed(settings)
        await _all(feed, "no such job")
        listening = feed._listening
        assert listening is not None
        listening.cancel()
        swallowed = 0

        async def deaf() -> None:
            nonlocal swallowed
            while True:
                try:
                    await asyncio.sleep(3600)
                except asyncio.CancelledError:
                    swallowed += 1
                    if swallowed == 2:
                        raise

        feed._listening = asyncio.get_running_loop().create_task(deaf())
        await asyncio.sleep(0)
        await feed.close()
        return swallowed

    assert asyncio.run(asyncio.wait_for(whole(), 10)) == 2
