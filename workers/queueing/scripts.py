"""The store's moves: small programs that the server runs as one step each (``scripts/*.lua``)."""

from __future__ import annotations

import json
from collections.abc import Callable
from importlib.resources import files
from typing import Any

import redis
from redis.commands.core import Script

from schemas.jobs import JobClass
from schemas.problems import ProblemCode, problem
from schemas.processes import Pool
from workers.queueing.connection import in_reach
from workers.queueing.settings import Settings

QUEUES = [f"{pool}.{job_class}" for job_class in JobClass for pool in Pool]
"""Every queue, interactive before bulk."""

_REFUSED_WHEN_FULL = ("submit", "grant")
_ALSO_WHEN_FULL = "#!lua flags=allow-oom\n"  # what is under way goes on, and what is over is cleared away

Clock = Callable[[], int]
"""Milliseconds since 1970; tests bring their own, else the server's time counts."""


class Scripts:
    """Runs the scripts with one prefix and the settings they need.

    All are idempotent: a client that lost the answer sends the same again.
    """

    def __init__(self, server: redis.Redis, settings: Settings, clock: Clock | None = None) -> None:
        self._server = server
        self._prefix = settings.key_prefix
        self._clock = clock
        self._policy = _policy(settings)
        self._known: dict[str, Script] = {}

    def run(self, name: str, **arguments: Any) -> Any:
        """Run ``scripts/<name>.lua`` and return its answer.

        Raises:
            Refusal: queue-unavailable.
        """
        script = self._known.get(name)
        if script is None:
            first_line = "" if name in _REFUSED_WHEN_FULL else _ALSO_WHEN_FULL
            script = self._server.register_script(first_line + _text("prelude") + _text(name))
            self._known[name] = script
        now = "" if self._clock is None else str(self._clock())
        with in_reach():
            return script(args=[self._prefix, now, json.dumps(self._policy | arguments)])


def _text(name: str) -> str:
    return (files("workers.queueing") / "scripts" / f"{name}.lua").read_text(encoding="utf-8")


def _policy(settings: Settings) -> dict[str, Any]:
    exhausted = problem(
        ProblemCode.ATTEMPTS_EXHAUSTED,
        f"a step was begun {settings.attempts} times and its worker was lost each time",
        remedy="send a smaller picture or board; if that does not help, ask whoever runs this service",
    )
    return {
        "queues": QUEUES,
        "depth": settings.depth,
        "max_attempts": settings.attempts,
        "exhausted": exhausted.model_dump_json(exclude_none=True),
    } | {
        name: round(1000 * seconds)
        for name, seconds in (
            ("lease_ms", settings.lease_s),
            ("resend_ms", settings.resend_s),
            ("resend_limit_ms", settings.resend_limit_s),
            ("keep_interactive_ms", settings.keep_interactive_s),
            ("keep_bulk_ms", settings.keep_bulk_s),
            ("keep_stage_ms", settings.keep_stage_s),
            ("idem_ms", settings.idempotency_s),
            ("gone_ms", settings.gone_s),
        )
    }
