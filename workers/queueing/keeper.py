"""The keeper: whatever was lost on the way is found again, and what is over is cleared away.

Any number may run; the server lets one at a time keep house, and another takes over when it falls silent.
"""

from __future__ import annotations

import logging
import secrets
import threading
from typing import Any

import redis

from schemas.problems import Refusal
from workers.queueing.artifacts import ContentFolder
from workers.queueing.connection import in_reach
from workers.queueing.job_store import Send
from workers.queueing.scripts import Scripts
from workers.queueing.settings import Settings

_FOLDERS = 256
logger = logging.getLogger(__name__)


class Keeper:
    """Looks round at every turn: lost messages, lost workers, old jobs and files.

    Args:
        settings: How often, and how long things are kept.
        server: The client of the server.
        scripts: The store's moves.
        send: Sends messages on.
        folder: The files, of which one folder in 256 is swept at each turn.
    """

    def __init__(
        self,
        settings: Settings,
        server: redis.Redis,
        scripts: Scripts,
        send: Send,
        folder: ContentFolder,
    ) -> None:
        self._server: Any = server
        self._prefix = settings.key_prefix
        self._pause_s = settings.keeper_s
        self._scripts = scripts
        self._send = send
        self._folder = folder
        self._token = secrets.token_hex(8)
        self._turns = 0
        self._over = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Keep house from a thread, until ``stop``."""
        self._thread = threading.Thread(target=self._run, name="keeper", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End the thread."""
        self._over.set()
        if self._thread is not None:
            self._thread.join()

    def turn(self) -> bool:
        """Look round once. False: another keeper does it.

        Raises:
            Refusal: queue-unavailable.
        """
        hold_ms = round(max(5000.0, 5000.0 * self._pause_s))
        answer = self._scripts.run("keep", token=self._token, hold_ms=hold_ms)
        if answer[0] == "other":
            return False
        requeued, erased, taken_back = (int(number) for number in answer[1:4])
        if requeued or erased or taken_back:
            logger.info("%d steps lost, %d jobs erased, %d files let go", requeued, erased, taken_back)
        self._send(answer[4:])
        self._sweep(self._turns % _FOLDERS)
        self._turns += 1
        return True

    def _sweep(self, folder: int) -> None:
        if folder == 0:
            self._folder.remove_abandoned()
        old = list(self._folder.old_files(folder))
        if not old:
            return
        with in_reach():
            pipe = self._server.pipeline(transaction=False)
            for digest in old:
                pipe.exists(f"{self._prefix}art:{digest}")
            wanted = pipe.execute()
        for digest, is_wanted in zip(old, wanted, strict=True):
            if not is_wanted:
                self._folder.remove_old(digest)

    def _run(self) -> None:
        while not self._over.wait(self._pause_s):
            try:
                self.turn()
            except Refusal:
                continue  # the server is away; whoever minds it brings it back
            except Exception:
                logger.exception("the keeper stumbled and goes on")
