"""The application served on a loopback port, for clients that want a real connection."""

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn
from fastapi import FastAPI


class _Server(uvicorn.Server):
    """A server that says when it listens."""

    def __init__(self, config: uvicorn.Config) -> None:
        super().__init__(config)
        self.listens = threading.Event()

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        self.listens.set()


@contextmanager
def served(app: FastAPI) -> Iterator[str]:
    """Serve an application in a thread; yield its address."""
    server = _Server(
        uvicorn.Config(app, host="127.0.0.1", port=0, log_level="critical", timeout_graceful_shutdown=1)
    )
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    assert server.listens.wait(20)
    port = server.servers[0].sockets[0].getsockname()[1]
    try:
        yield f"http://127.0.0.1:{port}"
    finally:
        server.should_exit = True
        thread.join(10)
