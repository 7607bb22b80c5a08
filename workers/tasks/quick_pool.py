"""A worker replaces a child that has ended at once.

Celery looks for ended children every 5 s. Until then their slots stand empty, and a step already given to
such a slot waits. Measured, 1500 empty jobs with a new child after every 50: 20 of them waited 3 to 5 s;
with this, 0.2 to 0.35 s.
"""

from __future__ import annotations

from typing import Any

from celery import bootsteps

_LOOK_S = 0.1


class QuickPool(bootsteps.StartStopStep):  # type: ignore[misc]  # celery has no types
    """A part of the worker that looks for ended children more often."""

    requires = ("celery.worker.components:Pool",)

    def __init__(self, worker: Any, **named: Any) -> None:
        super().__init__(worker, **named)
        self._timer: Any = None

    def register_with_event_loop(self, worker: Any, hub: Any) -> None:
        """Called by Celery when its event loop begins, and after each new connection to the broker."""
        if self._timer is not None:
            self._timer.cancel()
        self._timer = hub.call_repeatedly(_LOOK_S, worker.pool.maintain_pool)
