"""Beside a running step: says that it lives, passes progress on, and ends it when it must end."""

from __future__ import annotations

import logging
import os
import signal
import threading
import time
from collections.abc import Callable
from functools import partial
from types import FrameType

from schemas.problems import Refusal
from workers.errors import JobDismissed, LimitExceededError
from workers.queueing.leases import Claim, Leases

_LOOK_S = 0.2  # whether the step is still wanted
_SAY_S = 0.5  # progress at most twice a second
_LEAVE_S = 3.0  # for a step to end itself after it was told to
_STOP_SIGNALS = (signal.SIGTERM, signal.SIGQUIT)  # of the worker; the second when it stops softly
logger = logging.getLogger(__name__)


class WorkerStops(BaseException):
    """The worker was told to stop while a step ran; raised in the main thread."""


class Heartbeat:
    """A thread for the length of one step, and the step's reporter.

    A step that lost its lease, or was dismissed, ends by ``JobDismissed``; one that runs too long by
    ``LimitExceededError``. Both are raised in the main thread, at the next report or the next moment it is
    in Python. A step that stays in compiled code longer than that takes its process along.

    Use it ``with closing(heartbeat), heartbeat:``. A signal may strike on the very threshold of ``__exit__``,
    before its first line; whatever struck, nothing strikes after it, so ``close`` is reached then.

    Args:
        leases: Where to say it.
        claim: The step.
        beat_s: How often.
        limit_s: How long the step may run.
        give_up: Ends the job by this error when the step cannot be stopped in any other way.
    """

    def __init__(
        self,
        leases: Leases,
        claim: Claim,
        *,
        beat_s: float,
        limit_s: float,
        give_up: Callable[[LimitExceededError], None],
    ) -> None:
        self._leases = leases
        self._claim = claim
        self._beat_s = beat_s
        self._limit_s = limit_s
        self._give_up = give_up
        self._began = time.monotonic()
        self._said = (0.0, claim.step.process)
        self._verdict: BaseException | None = None
        self._inside = False
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._run, name="heartbeat", daemon=True)

    def __call__(self, fraction: float, message: str) -> None:
        """Take a report of the step.

        Raises:
            JobDismissed: The step is no longer wanted here.
            LimitExceededError: It has run too long.
        """
        self._said = (min(max(fraction, 0.0), 1.0), message)
        if self._verdict is not None:
            self._inside = False
            raise self._verdict

    def __enter__(self) -> Heartbeat:
        signal.signal(signal.SIGALRM, self._interrupt)
        self._before = {number: signal.signal(number, self._interrupt) for number in _STOP_SIGNALS}
        self._inside = True
        self._thread.start()
        return self

    def __exit__(self, *exception: object) -> None:
        self.close()

    def close(self) -> None:
        """End the thread, and give signals back to whom they belonged."""
        self._inside = False
        self._over.set()
        for number, handler in self._before.items():
            signal.signal(number, handler)

    def _interrupt(self, number: int, frame: FrameType | None) -> None:
        if number in _STOP_SIGNALS:
            self._verdict = self._verdict or WorkerStops()
        if self._inside and self._verdict is not None:
            self._inside = False
            raise self._verdict

    def _run(self) -> None:
        told, last_said, last_beat, verdict_at = self._said, 0.0, self._began, 0.0
        while not self._over.wait(_LOOK_S):
            now = time.monotonic()
            news = self._said != told and now - last_said >= _SAY_S
            if news or now - last_beat >= self._beat_s:
                told, last_said, last_beat = self._said, now, now
                kept = self._ask(partial(self._leases.beat, self._claim, *told))
            else:
                kept = self._ask(partial(self._leases.holds, self._claim))
            self._judge(kept, now - self._began)
            if self._verdict is not None and not verdict_at:
                verdict_at = now
                signal.pthread_kill(threading.main_thread().ident or 0, signal.SIGALRM)
            if verdict_at and now - verdict_at > _LEAVE_S:
                self._end_process()

    def _ask(self, question: Callable[[], bool]) -> bool:
        try:
            return question()
        except Refusal:  # the server is away: go on, it comes back
            return True
        except Exception as error:  # noqa: BLE001 - without this thread nothing would bound the step
            logger.warning("the store answered a heartbeat with %s", type(error).__name__)
            return True

    def _judge(self, kept: bool, elapsed_s: float) -> None:
        if self._verdict is None and not kept:
            self._verdict = JobDismissed("the step is no longer wanted here")
        if self._verdict is None and elapsed_s > self._limit_s:
            self._verdict = _too_long(self._claim.step.process, self._limit_s)

    def _end_process(self) -> None:
        if self._over.is_set():
            return
        logger.warning("a step of %s does not stop: its process ends", self._claim.step.process)
        if isinstance(self._verdict, LimitExceededError):
            self._give_up(self._verdict)
        os.kill(os.getpid(), signal.SIGKILL)


def _too_long(process: str, limit_s: float) -> LimitExceededError:
    return LimitExceededError(
        f"{process} did not end within the {limit_s:g} s that one step may take here",
        remedy="send a smaller picture or board, or ask for less detail",
    )
