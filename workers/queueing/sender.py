"""The Celery application: how job ids travel to workers, and nothing else does.

A message is a job's id. What to do, with which files, and whether it is still wanted, is asked of the store.
"""

from __future__ import annotations

import logging
import ssl
from collections.abc import Sequence

from celery import Celery
from kombu.entity import Exchange, Queue

from workers.queueing.broker_transport import register
from workers.queueing.connection import broker_url
from workers.queueing.scripts import QUEUES
from workers.queueing.settings import Settings

TASK = "workers.tasks.run_step"
HOUR_S = 3600.0

logger = logging.getLogger(__name__)


def celery_app(settings: Settings) -> Celery:
    """Return the application that sends, and in workers receives, the messages of this installation."""
    register()
    url = settings.server_url
    app = Celery("triglyph", broker=broker_url(url), set_as_current=False)
    # A step that hangs is ended by its own child (workers.tasks); this is the outer bound.
    hard_limit_s = settings.step_limit_s + 120
    app.conf.update(
        task_acks_late=True,  # a killed child must not take its message along
        task_reject_on_worker_lost=True,  # endless by itself; the store counts attempts
        worker_prefetch_multiplier=1,  # nothing waits inside a worker
        task_ignore_result=True,  # the store is the truth
        task_serializer="json",
        accept_content=["json"],
        task_time_limit=hard_limit_s,
        task_queues=[_queue(name) for name in QUEUES],
        task_create_missing_queues=False,
        task_default_queue=QUEUES[0],
        broker_use_ssl=_tls(url),
        broker_connection_retry_on_startup=True,
        broker_connection_max_retries=None,
        broker_transport_options={
            "visibility_timeout": max(HOUR_S, 2 * hard_limit_s),  # a backup: the keeper is faster
            "unacked_restore_interval": 10,
            "unacked_restore_throttle": 1,
            "socket_timeout": 15,
            "socket_connect_timeout": 3,
            "health_check_interval": 5,
            "queue_order_strategy": "priority",  # queues in the order in which they are named
            "global_keyprefix": settings.key_prefix,
        },
        worker_cancel_long_running_tasks_on_connection_loss=False,  # a running step survives a restart
        worker_max_tasks_per_child=1000,
        worker_max_memory_per_child=800_000,  # KiB, looked at after a step
        worker_soft_shutdown_timeout=settings.stop_s,
        worker_enable_soft_shutdown_on_idle=False,
        # A step is stopped by its own heartbeat. Celery's revoke was tried: 1 in 14 slots was free only after
        # 4.8 s, the others after 0.1 to 0.2 s, like all of those that stopped themselves.
        worker_enable_remote_control=False,
        worker_send_task_events=False,
        task_send_sent_event=False,
    )
    return app


def _queue(name: str) -> Queue:
    return Queue(name, Exchange(name), routing_key=name)  # type: ignore[no-untyped-call]


def _tls(url: str) -> dict[str, object] | None:
    return {"ssl_cert_reqs": ssl.CERT_REQUIRED} if url.startswith("rediss:") else None


class Sender:
    """Sends messages as the scripts hand them out. What does not get through, the keeper sends again."""

    def __init__(self, app: Celery) -> None:
        self._app = app

    def send(self, messages: Sequence[str]) -> None:
        """Send job ids: queue, id, queue, id ..."""
        for queue, job_id in zip(messages[::2], messages[1::2], strict=True):
            try:
                self._app.send_task(TASK, args=[job_id], queue=queue, retry=False)
            except Exception as error:  # noqa: BLE001 - whatever kombu raises: the job is safe in the store
                logger.warning("a message for %s waits for the keeper: %s", queue, type(error).__name__)

    def close(self) -> None:
        """Let go of the connections."""
        self._app.close()
