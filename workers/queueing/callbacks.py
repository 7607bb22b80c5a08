"""Subscribers still to be told that their job has ended."""

from __future__ import annotations

from typing import Any

import redis

from schemas.job_records import CallbackDue
from workers.queueing.connection import in_reach
from workers.queueing.scripts import Scripts
from workers.queueing.settings import Settings


class RedisCallbacks:
    """The port ``api.ports.Callbacks``. One callback for each job: its id is the job's."""

    def __init__(self, server: redis.Redis, settings: Settings, scripts: Scripts) -> None:
        self._server: Any = server
        self._prefix = settings.key_prefix
        self._scripts = scripts

    def take(self, limit: int, hold_s: float) -> list[CallbackDue]:
        found = self._scripts.run("take_callbacks", limit=limit, hold_ms=round(1000 * hold_s))
        return [
            CallbackDue(id=job_id, job_id=job_id, tries=int(tries))
            for job_id, tries in zip(found[::2], found[1::2], strict=True)
        ]

    def settle(self, callback_id: str) -> None:
        with in_reach():
            self._server.zrem(f"{self._prefix}callbacks", callback_id)
            self._server.hdel(f"{self._prefix}tries", callback_id)

    def put_off(self, callback_id: str, delay_s: float) -> None:
        self._scripts.run("put_off_callback", id=callback_id, delay_ms=round(1000 * delay_s))
