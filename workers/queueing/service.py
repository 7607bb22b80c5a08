"""All that a process needs of the queue, plugged together."""

from __future__ import annotations

from dataclasses import dataclass

import redis

from workers.queueing.artifact_store import Artifacts
from workers.queueing.artifacts import ContentFolder
from workers.queueing.callbacks import RedisCallbacks
from workers.queueing.connection import open_server
from workers.queueing.job_feed import RedisJobFeed
from workers.queueing.job_store import RedisJobStore
from workers.queueing.keeper import Keeper
from workers.queueing.scripts import Clock, Scripts
from workers.queueing.sender import Sender, celery_app
from workers.queueing.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Service:
    """The ports of the front desk, and a keeper that is not started yet."""

    jobs: RedisJobStore
    feed: RedisJobFeed
    artifacts: Artifacts
    callbacks: RedisCallbacks
    keeper: Keeper
    server: redis.Redis
    sender: Sender

    def close(self) -> None:
        """Let go of the connections; ``await feed.close()`` before, if it was used."""
        self.sender.close()
        self.server.close()


def connect(settings: Settings, clock: Clock | None = None) -> Service:
    """Return the queue and the store at the server that the settings name.

    Args:
        settings: ``redis_url`` and ``data`` say where.
        clock: For tests: milliseconds since 1970, instead of the server's time.
    """
    server = open_server(settings.server_url)
    scripts = Scripts(server, settings, clock)
    folder = ContentFolder(settings.artifacts_folder, settings.file_grace_s)
    sender = Sender(celery_app(settings))
    return Service(
        jobs=RedisJobStore(server, settings, scripts, sender.send),
        feed=RedisJobFeed(settings),
        artifacts=Artifacts(folder, server, settings, scripts),
        callbacks=RedisCallbacks(server, settings, scripts),
        keeper=Keeper(settings, server, scripts, sender.send, folder),
        server=server,
        sender=sender,
    )
