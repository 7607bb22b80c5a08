"""A worker's child process: its limits, and its own connections."""

from __future__ import annotations

import gc
import logging
import resource
import sys
from importlib import import_module

from celery import Celery

from workers.queueing.artifacts import ContentFolder
from workers.queueing.connection import open_server
from workers.queueing.leases import Leases
from workers.queueing.scripts import Scripts
from workers.queueing.sender import Sender
from workers.queueing.settings import Settings
from workers.queueing.stage_cache import StageCache
from workers.tasks.run_step import Bench, Runner

_MIB = 1024 * 1024
logger = logging.getLogger(__name__)


def runner_of(settings: Settings) -> Runner:
    """Return what runs steps. Called before the fork, so that children are born with everything loaded."""
    module, _, name = settings.step_runner.partition(":")
    runner: Runner = getattr(import_module(module), name)
    gc.collect()
    gc.freeze()  # the libraries' objects stay: children need neither look through nor copy them
    return runner


def set_limits(settings: Settings) -> None:
    """Bound this process: what asks for too much memory gets a MemoryError, not the machine's last."""
    if settings.child_memory_mb:
        limit = settings.child_memory_mb * _MIB
        resource.setrlimit(resource.RLIMIT_AS, (limit, limit))
    opencv = sys.modules.get("cv2")
    if opencv is not None:
        opencv.setNumThreads(1)  # one step a core; and its threads would not have survived the fork


def bench_of(settings: Settings, app: Celery, runner: Runner) -> Bench:
    """Return what this process works with; connections are its own."""
    server = open_server(settings.server_url)
    folder = ContentFolder(settings.artifacts_folder, settings.file_grace_s)
    return Bench(
        settings=settings,
        leases=Leases(Scripts(server, settings), server, settings),
        cache=StageCache(folder, server, settings),
        folder=folder,
        send=Sender(app).send,
        runner=runner,
    )
