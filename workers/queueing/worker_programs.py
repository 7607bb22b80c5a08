"""The worker processes of the embedded stack, as commands.

Two: one takes any step, interactive before bulk; one has a single slot that takes interactive steps only, so
that a visitor never waits for the rest of a long catalogue job.
"""

from __future__ import annotations

import secrets
import sys

from schemas.jobs import JobClass
from workers.queueing.scripts import QUEUES
from workers.queueing.settings import Settings
from workers.queueing.supervised_process import Program

_INTERACTIVE = [queue for queue in QUEUES if queue.endswith(JobClass.INTERACTIVE)]
_ONE_THREAD_EACH = dict.fromkeys(
    ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS"), "1"
)


def worker_programs(settings: Settings) -> list[Program]:
    """Return the workers of one machine."""
    return [
        worker_program(settings, "general", QUEUES, settings.slots, niceness=5),
        worker_program(settings, "interactive", _INTERACTIVE, 1),
    ]


def worker_program(
    settings: Settings,
    name: str,
    queues: list[str],
    slots: int,
    *,
    niceness: int = 0,
) -> Program:
    """Return one worker.

    Args:
        settings: Of the installation; passed on.
        name: What it is called in logs.
        queues: Where it takes steps from, the first first.
        slots: How many steps it runs at once.
        niceness: How much it gives way to others.
    """
    command = [
        *(sys.executable, "-m", "celery", "-A", "workers.tasks.celery_app", "worker"),
        *("-n", f"{name}-{secrets.token_hex(4)}@%h"),
        *("-Q", ",".join(queues), "-c", str(slots), "-P", "prefork", "-l", "WARNING"),
        *("--without-gossip", "--without-mingle", "--without-heartbeat"),
    ]
    # TERM ends a worker softly: running steps get a grace, then go back in line.
    environment = settings.environment() | _ONE_THREAD_EACH | {"REMAP_SIGTERM": "SIGQUIT"}
    log = settings.data / "logs" / f"{name}.log"
    return Program(name=name, command=command, environment=environment, log=log, niceness=niceness)
