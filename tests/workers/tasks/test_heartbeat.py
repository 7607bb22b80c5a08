"""Beside a running step: a step that is over is left in peace, whenever the verdict on it came."""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import closing
from types import FrameType
from typing import Any

import pytest
import redis

from tests.support.jobs import claimed, request, until
from workers.errors import JobDismissed, LimitExceededError
from workers.queueing.leases import Leases
from workers.queueing.service import Service
from workers.tasks.heartbeat import Heartbeat

Make = Callable[..., Heartbeat]


@pytest.fixture
def make(service: Service, leases: Leases) -> Iterator[Make]:
    """Heartbeats of a claimed step; signals are as they were afterwards."""
    before = signal.getsignal(signal.SIGALRM)
    job = request()
    service.jobs.submit(job)
    claim = claimed(leases, job.id)

    def made(beat_s: float = 60.0, limit_s: float = 60.0) -> Heartbeat:
        return Heartbeat(leases, claim, beat_s=beat_s, limit_s=limit_s, give_up=lambda error: None)

    yield made
    signal.signal(signal.SIGALRM, before)


def _beating() -> list[threading.Thread]:
    return [thread for thread in threading.enumerate() if thread.name == "heartbeat"]


def test_a_verdict_in_the_last_moment_stops_the_step_and_the_thread(make: Make) -> None:
    """Its signal comes as the step is being left: else the thread would end the process 3 s later."""
    heartbeat = make()

    def at_the_door(frame: FrameType, event: str, argument: Any) -> None:
        if frame.f_code is Heartbeat.__exit__.__code__:
            heartbeat._verdict = JobDismissed("just now")
            signal.raise_signal(signal.SIGALRM)

    def step() -> None:
        with closing(heartbeat), heartbeat:
            pass

    sys.settrace(at_the_door)
    try:
        with pytest.raises(JobDismissed):
            step()
    finally:
        sys.settrace(None)

    until(lambda: not _beating(), timeout_s=2)
    assert signal.getsignal(signal.SIGTERM) != heartbeat._interrupt


def test_a_verdict_is_told_once(make: Make) -> None:
    """A step that hears it at a report is not struck again while it clears up."""
    cleared = []

    def step() -> None:
        with closing(make()) as heartbeat, heartbeat:
            heartbeat._verdict = JobDismissed("heard")
            try:
                heartbeat(0.5, "at work")
            finally:
                signal.raise_signal(signal.SIGALRM)
                cleared.append("up")

    with pytest.raises(JobDismissed):
        step()

    assert cleared == ["up"]


def test_an_unforeseen_answer_of_the_server_stops_no_heart(
    make: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The limit of time still holds, and is what ends the step."""
    heartbeat = make(limit_s=0.5)

    def stumbling(*_: object) -> bool:
        raise redis.exceptions.ReadOnlyError("a replica took over")

    monkeypatch.setattr(heartbeat._leases, "holds", stumbling)

    with pytest.raises(LimitExceededError), closing(heartbeat), heartbeat:
        until(lambda: False, timeout_s=5)
