"""What happens to jobs, for those who watch: one connection of the process wakes all watchers."""

from __future__ import annotations

import asyncio
import contextlib
from collections import defaultdict
from collections.abc import AsyncIterator
from typing import Any

from schemas.job_records import JobEvent
from schemas.jobs import JobStatus
from workers.queueing.connection import OUT_OF_REACH, in_reach, open_server_async
from workers.queueing.job_fields import moment
from workers.queueing.settings import Settings

_LOOK_ANYWAY_S = 2.0  # a wake-up may be lost while the server restarts
_AT_ONCE = 64
_CANCEL_AGAIN_S = 0.1


class RedisJobFeed:
    """The port ``api.ports.JobFeed``. Belongs to the event loop that first uses it."""

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self._prefix = settings.key_prefix
        self._server: Any = None
        self._listening: asyncio.Task[None] | None = None
        self._watchers: dict[str, set[asyncio.Event]] = defaultdict(set)

    async def events(self, job_id: str, after: str | None = None) -> AsyncIterator[JobEvent]:
        last = after or "0"
        with self._watched(job_id) as changed:
            while True:
                changed.clear()
                is_over = (
                    await self._status(job_id) in _FINAL
                )  # asked before: its last event is there by then
                with in_reach():
                    found = await self._server.xrange(
                        f"{self._prefix}ev:{job_id}", f"({last}", count=_AT_ONCE
                    )
                for last, fields in found:
                    yield _event(job_id, last, fields)
                if len(found) < _AT_ONCE:
                    if is_over:
                        return
                    await _woken(changed, _LOOK_ANYWAY_S)

    async def wait(self, job_id: str, timeout_s: float) -> None:
        loop = asyncio.get_running_loop()
        end = loop.time() + timeout_s
        with self._watched(job_id) as changed:
            while True:
                changed.clear()
                if await self._status(job_id) in _FINAL or loop.time() >= end:
                    return
                await _woken(changed, min(_LOOK_ANYWAY_S, end - loop.time()))

    async def close(self) -> None:
        """Let go of the connections."""
        if self._listening is not None:
            while not self._listening.done():  # a client that is just connecting may swallow a cancellation
                self._listening.cancel()
                await asyncio.wait({self._listening}, timeout=_CANCEL_AGAIN_S)
            await self._server.aclose()

    async def _status(self, job_id: str) -> str | None:
        with in_reach():
            status: str | None = await self._server.hget(f"{self._prefix}job:{job_id}", "status")
        return status

    @contextlib.contextmanager
    def _watched(self, job_id: str) -> Any:
        if self._listening is None:
            self._server = open_server_async(self._settings.server_url)
            self._listening = asyncio.get_running_loop().create_task(self._listen())
        changed = asyncio.Event()
        self._watchers[job_id].add(changed)
        try:
            yield changed
        finally:
            self._watchers[job_id].discard(changed)
            if not self._watchers[job_id]:
                del self._watchers[job_id]

    async def _listen(self) -> None:
        while True:
            try:
                async with self._server.pubsub() as channel:
                    await channel.subscribe(f"{self._prefix}changes")
                    async for message in channel.listen():
                        for changed in self._watchers.get(str(message["data"]), ()):
                            changed.set()
            except OUT_OF_REACH:
                await asyncio.sleep(_LOOK_ANYWAY_S / 4)


_FINAL = {None, *(status.value for status in JobStatus if status.is_final)}  # None: the job is gone


async def _woken(changed: asyncio.Event, timeout_s: float) -> None:
    with contextlib.suppress(TimeoutError):
        await asyncio.wait_for(changed.wait(), timeout_s)


def _event(job_id: str, event_id: str, fields: dict[str, str]) -> JobEvent:
    return JobEvent.model_validate(
        {
            "id": event_id,
            "job_id": job_id,
            "kind": fields["kind"],
            "time": moment(fields["time"]),
            "status": fields["status"],
            "progress": int(fields["progress"]),
            "message": fields["message"],
            "step": fields["step"],
        }
    )
