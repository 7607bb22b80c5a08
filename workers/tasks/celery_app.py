"""What ``celery -A workers.tasks.celery_app worker`` loads: one task, which takes a job's id."""

from __future__ import annotations

import secrets
from typing import Any

from celery.signals import worker_process_init

from workers.queueing.sender import TASK, celery_app
from workers.queueing.settings import Settings
from workers.tasks.child import bench_of, runner_of, set_limits
from workers.tasks.quick_pool import QuickPool
from workers.tasks.run_step import Bench, run_message

_settings = Settings.from_environment()
_runner = runner_of(_settings)
_bench: Bench | None = None

app = celery_app(_settings)
app.steps["worker"].add(QuickPool)


@app.task(name=TASK, bind=True)
def run_step(self: Any, job_id: str) -> None:
    """Carry out the step that a job waits for."""
    if _bench is not None:
        run_message(_bench, job_id, secrets.token_hex(16), self.request.delivery_info["routing_key"])


@worker_process_init.connect
def _begin(**_: Any) -> None:
    global _bench
    set_limits(_settings)
    _bench = bench_of(_settings, app, _runner)
