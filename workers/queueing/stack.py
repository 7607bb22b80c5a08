"""The embedded stack: server, workers and keeper, started together and kept running."""

from __future__ import annotations

from workers.queueing.embedded import EmbeddedServer
from workers.queueing.service import Service, connect
from workers.queueing.settings import Settings
from workers.queueing.supervised_process import SupervisedProcess
from workers.queueing.worker_programs import worker_programs

_WORKER_LEEWAY_S = 10.0


class EmbeddedStack:
    """Everything but the front desk, as a context manager.

    With a ``redis_url`` in the settings that server is used, and none is started.

    Args:
        settings: Of the installation.
    """

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        """What to connect with, once started."""
        self._server: EmbeddedServer | None = None
        self._service: Service | None = None
        self._workers: list[SupervisedProcess] = []

    def start(self) -> None:
        """Start all; the server answers when this returns, the workers take a second or two more.

        Raises:
            NoServerError: The embedded server cannot be started.
        """
        try:
            if self.settings.redis_url is None:
                self._server = EmbeddedServer(self.settings.broker_folder)
                self._server.start()
                self.settings = self.settings.model_copy(update={"redis_url": self._server.url})
            self._service = connect(self.settings)
            self._service.keeper.start()
            for program in worker_programs(self.settings):
                self._workers.append(SupervisedProcess(program))
                self._workers[-1].start()
        except BaseException:
            self.stop()
            raise

    def stop(self) -> None:
        """Stop all: running steps get their grace and go back in line; nothing is lost."""
        for worker in self._workers:
            worker.ask_to_stop()  # all at once
        for worker in self._workers:
            worker.stop(self.settings.stop_s + _WORKER_LEEWAY_S)
        self._workers.clear()
        if self._service is not None:
            self._service.keeper.stop()
            self._service.close()
            self._service = None
        if self._server is not None:
            self._server.stop()
            self._server = None

    def __enter__(self) -> EmbeddedStack:
        self.start()
        return self

    def __exit__(self, *exception: object) -> None:
        self.stop()
