"""The application around stores in memory, and requests that it takes."""

import asyncio
from pathlib import Path
from typing import Any

import httpx
from fastapi import FastAPI

from api.application import create_app
from api.desk import Desk
from api.keys import Key
from api.settings import Settings
from tests.support.memory_store import MemoryFiles, MemoryJobs

ADDRESS = "http://127.0.0.1:8500"
CAPABILITIES: dict[str, Any] = {
    "bits": [
        {"name": "vee-90", "title": "V-bit, 90 degrees"},
        {"name": "vee-60", "title": "V-bit, 60 degrees"},
        {"name": "flat-1/8in", "title": "flat bit"},
    ],
    "materials": [{"name": "basswood", "title": "basswood"}, {"name": "pvc", "title": "PVC"}],
    "machines": [{"name": "bench-600", "title": "a bench router"}],
    "fonts": [{"name": "source-serif-bold", "title": "a serif"}],
    "dialects": [{"name": "metric-lines", "title": "millimetres, lines"}],
    "patterns": [{"name": "rings", "title": "rings"}, {"name": "middles", "title": "middles"}],
    "set_aside": [],
}


class FrontDesk:
    """An application, its stores, and a client that sits on the same machine."""

    def __init__(self, folder: Path | None = None, keys: list[Key] | None = None, **settings: Any) -> None:
        self.jobs = MemoryJobs()
        self.files = MemoryFiles(folder)
        self.app = create_app(
            Desk(
                jobs=self.jobs,
                feed=self.jobs,
                artifacts=self.files,
                settings=Settings(**settings),
                capabilities=CAPABILITIES,
            ),
            keys,
        )

    def client(self, host: str = "127.0.0.1", **headers: str) -> "InProcessClient":
        return InProcessClient(self.app, host, headers)


class InProcessClient:
    """Requests straight into the application, as if from a host; answers are httpx responses."""

    def __init__(self, app: FastAPI, host: str = "127.0.0.1", headers: dict[str, str] | None = None) -> None:
        self._app = app
        self._host = host
        self._headers = headers or {}

    def request(self, method: str, path: str, **more: Any) -> httpx.Response:
        return asyncio.run(self._request(method, path, more))

    def get(self, path: str, **more: Any) -> httpx.Response:
        return self.request("GET", path, **more)

    def post(self, path: str, **more: Any) -> httpx.Response:
        return self.request("POST", path, **more)

    def delete(self, path: str, **more: Any) -> httpx.Response:
        return self.request("DELETE", path, **more)

    def execute(self, process: str, inputs: Any, **more: Any) -> httpx.Response:
        return self.post(f"/processes/{process}/execution", json={"inputs": inputs}, **more)

    async def _request(self, method: str, path: str, more: dict[str, Any]) -> httpx.Response:
        transport = httpx.ASGITransport(self._app, raise_app_exceptions=False, client=(self._host, 50_000))
        async with httpx.AsyncClient(transport=transport, base_url=ADDRESS, headers=self._headers) as client:
            return await client.request(method, path, **more)


def sign_inputs() -> dict[str, Any]:
    """Return a small sign order that is accepted."""
    return {
        "board": {"width": "400 mm", "height": 180, "thickness": "3/4 in", "material": "basswood"},
        "lettering": [{"text": "TERN QUAY", "cap_height": "36 mm", "x": 200, "y": 90}],
        "incise": {"bit": "vee-90", "depth_limit": "2.5 mm"},
        "cutout": {"bit": "flat-1/8in"},
    }
