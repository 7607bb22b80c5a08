"""A whole installation for a test: store, keeper and real worker processes."""

from __future__ import annotations

import os
from pathlib import Path

from schemas.job_records import JobRequest
from tests.support.jobs import request, until
from workers.queueing.scripts import QUEUES
from workers.queueing.service import Service, connect
from workers.queueing.settings import Settings
from workers.queueing.supervised_process import SupervisedProcess
from workers.queueing.worker_programs import worker_program


class Site:
    """Started piece by piece; everything that was started is stopped by ``close``.

    The workers run steps by ``tests.support.step_runners.obey``, which keeps a diary.
    """

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.service: Service = connect(settings)
        self.service.keeper.start()
        self._diary = settings.data / "diary"
        self._gates = settings.data
        self._workers: list[SupervisedProcess] = []
        os.environ["TRIGLYPH_TEST_DIARY"] = str(self._diary)

    def start_worker(self, slots: int = 2, queues: list[str] = QUEUES) -> SupervisedProcess:
        """Start a worker that is started again when it ends."""
        name = f"worker{len(self._workers)}"
        worker = SupervisedProcess(worker_program(self.settings, name, queues, slots))
        self._workers.append(worker)
        worker.start()
        return worker

    def submit(self, message: str = "hello", **changes: object) -> JobRequest:
        """Submit an echo job."""
        wanted = request(message, **changes)
        self.service.jobs.submit(wanted)
        return wanted

    def gate(self, name: str) -> Path:
        """Return a file that is not there yet: steps that wait for it go on when it is touched."""
        return self._gates / f"gate-{name}"

    def begun(self, message: str) -> list[int]:
        """Return the process ids of all runs of a message that have begun."""
        if not self._diary.exists():
            return []
        lines = [line.split(" ", 1) for line in self._diary.read_text().splitlines()]
        return [int(pid) for pid, said in lines if said == message]

    def log(self, worker: str) -> str:
        """Return what a worker has written so far."""
        return (self.settings.data / "logs" / f"{worker}.log").read_text(errors="replace")

    def wait_until_begun(self, message: str, times: int = 1) -> int:
        """Return the process id of the last run when the message has begun so often."""
        return int(until(lambda: len(runs := self.begun(message)) >= times and runs[-1]))

    def close(self) -> None:
        """Stop everything."""
        for worker in self._workers:
            worker.ask_to_stop()
        for worker in self._workers:
            worker.stop(10.0)
        self.service.keeper.stop()
        self.service.close()
        os.environ.pop("TRIGLYPH_TEST_DIARY", None)


def is_alive(pid: int) -> bool:
    """Return whether a process runs (and is not just waiting to be buried)."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False
