"""Where things are plugged together: the stores of the queue and the application."""

import asyncio
import contextlib
import json
import signal
import socket
import subprocess
import sys
from collections.abc import AsyncIterator, Callable, Iterator
from pathlib import Path
from typing import Any

import uvicorn
from fastapi import FastAPI

from api.application import create_app
from api.callbacks import CallbackSender
from api.desk import Desk
from api.keys import read_keys
from api.problem_responses import refused
from api.settings import Settings
from api.told import note
from schemas.problems import ProblemCode
from workers.queueing.service import Service, connect
from workers.queueing.settings import Settings as QueueSettings
from workers.queueing.stack import EmbeddedStack

_THIS_MACHINE = ("127.0.0.1", "localhost", "::1")
_STOP_S = 5  # for answers under way, event streams among them


def create() -> FastAPI:
    """Return the application beside a server of its own: ``uvicorn --factory api.main:create``."""
    service = connect(QueueSettings.from_environment())
    return _application(service, Settings.from_environment(), _ask_capabilities()())


def serve(data: Path | None, host: str, port: int, workers: int | None) -> None:
    """Run broker, workers and API until told to stop; prints the address when it answers.

    Args:
        data: Folder of everything that is kept; that of the environment if not given.
        host: Address to listen at.
        port: Port to listen at; 0 for any that is free.
        workers: Steps at once; that of the environment if not given.

    Raises:
        Refusal: The port is taken.
    """
    with contextlib.ExitStack() as started:
        listening = started.enter_context(_listening(host, port))
        capabilities = _ask_capabilities()  # takes a second; the stack starts meanwhile
        stack = started.enter_context(EmbeddedStack(_queue_settings(data, workers)))
        service = connect(stack.settings)
        started.callback(service.close)
        settings = Settings.from_environment()
        app = _application(service, settings, capabilities())
        if host not in _THIS_MACHINE and settings.keys_file is None and not settings.allow_anyone:
            note("Only this machine is let in: make keys with `triglyph key` and set TRIGLYPH_KEYS_FILE.")
        server = _Server(app, f"http://{_shown_host(host)}:{listening.getsockname()[1]}")
        with _ended_by_signals(server):
            server.run(sockets=[listening])


class _Server(uvicorn.Server):
    """Says where it is once it answers."""

    def __init__(self, app: FastAPI, address: str) -> None:
        super().__init__(
            uvicorn.Config(app, log_level="warning", timeout_graceful_shutdown=_STOP_S, server_header=False)
        )
        self._app = app
        self._address = address

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started:
            note(f"Triglyph listens at {self._address} (stop with Ctrl-C)")

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        self._app.state.stopping.set()
        await super().shutdown(sockets)


def _application(service: Service, settings: Settings, capabilities: dict[str, Any]) -> FastAPI:
    @contextlib.asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        calling = asyncio.create_task(_caller(service, settings).run()) if settings.callback_hosts else None
        yield
        if calling is not None:
            calling.cancel()
        await service.feed.close()

    desk = Desk(
        jobs=service.jobs,
        feed=service.feed,
        artifacts=service.artifacts,
        settings=settings,
        capabilities=capabilities,
    )
    keys = read_keys(settings.keys_file) if settings.keys_file else None
    return create_app(desk, keys, lifespan)


def _caller(service: Service, settings: Settings) -> CallbackSender:
    return CallbackSender(
        service.callbacks,
        service.jobs,
        settings.callback_host_list,
        settings.callback_secret,
        settings.public_url,
    )


def _queue_settings(data: Path | None, workers: int | None) -> QueueSettings:
    given = {"data": data, "workers": workers}
    return QueueSettings.from_environment().model_copy(
        update={name: value for name, value in given.items() if value is not None}
    )


def _ask_capabilities() -> Callable[[], dict[str, Any]]:
    """Ask a process of its own what can be named, so that this one never loads the computing."""
    asked = subprocess.Popen([sys.executable, "-m", "api.cli", "capabilities"], stdout=subprocess.PIPE)

    def answer() -> dict[str, Any]:
        told, _ = asked.communicate()
        if asked.returncode != 0:
            raise RuntimeError("the computing cannot be loaded; `triglyph capabilities` says why")
        capabilities: dict[str, Any] = json.loads(told)
        return capabilities

    return answer


@contextlib.contextmanager
def _listening(host: str, port: int) -> Iterator[socket.socket]:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        listening = socket.create_server((host, port), family=family)
    except OSError as error:
        raise refused(
            ProblemCode.REQUEST_REFUSED,
            f"cannot listen at {_shown_host(host)}:{port}: {(error.strerror or str(error)).lower()}",
            "Choose another port with --port; perhaps a service runs there already.",
        ) from None
    with listening:
        yield listening


@contextlib.contextmanager
def _ended_by_signals(server: uvicorn.Server) -> Iterator[None]:
    """Let signals end the server also before and after its own handling of them, which repeats them."""

    def end(*_: object) -> None:
        server.should_exit = True

    before = {number: signal.signal(number, end) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _shown_host(host: str) -> str:
    return f"[{host}]" if ":" in host else host
