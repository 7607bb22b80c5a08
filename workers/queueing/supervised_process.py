"""A program of ours that is started again when it ends, ever more slowly if it keeps ending."""

from __future__ import annotations

import logging
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import workers.queueing.tied_process

_TIE = workers.queueing.tied_process.__file__
_FIRST_PAUSE_S = 0.2
_LONGEST_PAUSE_S = 10.0
_LOG_LIMIT_BYTES = 5_000_000
_STEADY_S = 30.0  # a run this long counts as sound: the pauses begin anew
logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """What to run, and how."""

    name: str
    command: Sequence[str]
    environment: Mapping[str, str] = field(default_factory=dict)  # beside our own
    log: Path | None = None  # its output is added there; None: goes where ours goes
    niceness: int = 0
    end_signal: int = signal.SIGTERM  # also when we die without a word


class SupervisedProcess:
    """Keeps one program running from ``start`` to ``stop``."""

    def __init__(self, program: Program) -> None:
        self.program = program
        self._process: subprocess.Popen[bytes] | None = None
        self._tried = threading.Event()
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._run, name=f"keep {program.name}", daemon=True)

    @property
    def pid(self) -> int | None:
        """Process id of the present run, if it runs."""
        process = self._process
        return process.pid if process is not None and process.poll() is None else None

    def start(self) -> None:
        """Start the program; when this returns it runs, has ended already, or could not be started yet."""
        self._thread.start()
        self._tried.wait()

    def ask_to_stop(self) -> None:
        """Send the program its end signal, once, and do not start it again."""
        if not self._over.is_set():
            self._over.set()
            self.signal(self.program.end_signal)

    def stop(self, grace_s: float) -> None:
        """End the program: by its signal, and by force after the grace."""
        self.ask_to_stop()
        self._thread.join(grace_s)
        if self._thread.is_alive():
            logger.warning("%s did not stop in %.0f s and is killed", self.program.name, grace_s)
            self.signal(signal.SIGKILL)
            self._thread.join()

    def signal(self, number: int) -> None:
        """Send the program a signal, if it runs."""
        if self._process is not None:
            self._process.send_signal(number)

    def _run(self) -> None:
        # The thread that starts the program waits for it to end: see tied_process.
        pause_s = _FIRST_PAUSE_S
        while not self._over.is_set():
            began = time.monotonic()
            what_happened = self._run_once()
            if self._over.is_set():
                return
            if time.monotonic() - began > _STEADY_S:
                pause_s = _FIRST_PAUSE_S
            logger.warning("%s %s; again in %.1f s", self.program.name, what_happened, pause_s)
            self._over.wait(pause_s)
            pause_s = min(2 * pause_s, _LONGEST_PAUSE_S)

    def _run_once(self) -> str:
        """Run the program to its end, and return how that came."""
        try:
            self._process = self._spawn()
        except OSError as error:  # the disk or the table of processes is full: that may pass
            return f"cannot be started ({error})"
        finally:
            self._tried.set()
        if self._over.is_set():  # asked to stop while it was not there yet to hear it
            self.signal(self.program.end_signal)
        return f"ended with {self._process.wait()}"

    def _spawn(self) -> subprocess.Popen[bytes]:
        program = self.program
        tie = [sys.executable, "-I", "-S", _TIE, str(os.getpid()), str(int(program.end_signal))]
        command = [*tie, str(program.niceness), *program.command]
        environment = os.environ | dict(program.environment)
        if program.log is None:
            return subprocess.Popen(command, env=environment, stdin=subprocess.DEVNULL)  # noqa: S603
        _make_room(program.log)
        with program.log.open("ab") as log:
            return subprocess.Popen(  # noqa: S603 - commands of ours, no shell
                command, env=environment, stdin=subprocess.DEVNULL, stdout=log, stderr=log
            )


def _make_room(log: Path) -> None:
    """Make the log's folder, and put a log aside that has grown large."""
    log.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    if log.exists() and log.stat().st_size > _LOG_LIMIT_BYTES:
        log.replace(log.with_suffix(".log.1"))
