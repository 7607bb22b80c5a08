"""Fixtures of many rooms: a real server for the queue, settings for each test alone, a front desk."""

from __future__ import annotations

import contextlib
import os
import secrets
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import redis
from hypothesis import settings as hypothesis_settings

from tests.support.clock import Clock
from workers.queueing.embedded import EmbeddedServer, NoServerError
from workers.queueing.leases import Leases
from workers.queueing.scripts import Scripts
from workers.queueing.service import Service, connect
from workers.queueing.settings import Settings

if TYPE_CHECKING:
    from tests.support.front_desk import FrontDesk, InProcessClient

_IMAGE = "valkey/valkey:8-alpine"

# All runs look at the same made-up examples, so that a red test means a change; EXPLORE=1 looks at new ones.
hypothesis_settings.register_profile("steady", derandomize=True)
if not os.environ.get("EXPLORE"):
    hypothesis_settings.load_profile("steady")


@pytest.fixture(scope="session")
def broker_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a Valkey or Redis server for this session.

    TEST_BROKER names one (``docker`` insists on a container); else a container where an engine answers; else
    the embedded server. None of them: the test is skipped on a laptop and fails where CI is set.
    """
    wanted = os.environ.get("TEST_BROKER", "")
    if wanted and wanted != "docker":
        yield wanted
    elif wanted == "docker" or _engine_answers():
        yield from _container()
    else:
        try:
            server = EmbeddedServer(tmp_path_factory.mktemp("broker"))
        except NoServerError as error:
            if os.environ.get("CI"):
                pytest.fail(str(error))
            pytest.skip(str(error))
        server.start()
        try:
            with contextlib.closing(redis.Redis.from_url(server.url)) as client:
                client.config_set("appendfsync", "no")  # tests of durability start servers of their own
            yield server.url
        finally:
            server.stop()


@pytest.fixture
def settings(broker_url: str, tmp_path: Path) -> Settings:
    """Settings with short times, and with keys and files for one test alone."""
    return Settings(
        data=tmp_path / "data",
        redis_url=broker_url,
        key_prefix=f"test-{secrets.token_hex(6)}:",
        workers=2,
        lease_s=2.0,
        beat_s=0.3,
        resend_s=0.5,
        resend_limit_s=2.0,
        keeper_s=0.2,
        stop_s=1.0,
        step_runner="tests.support.step_runners:obey",
    )


@pytest.fixture
def clock() -> Clock | None:
    """The store's time: the server's. A file of tests that turns the clock by hand has its own fixture."""
    return None


@pytest.fixture
def service(settings: Settings, clock: Clock | None) -> Iterator[Service]:
    """The queue and the store, plugged together; no worker and no keeper runs."""
    made = connect(settings, clock)
    yield made
    made.close()


@pytest.fixture
def leases(service: Service, settings: Settings, clock: Clock | None) -> Leases:
    """What a worker claims, renews and hands on its steps with."""
    return Leases(Scripts(service.server, settings, clock), service.server, settings)


@pytest.fixture
def server(tmp_path: Path) -> Iterator[EmbeddedServer]:
    """A server for one test alone, with every write on the disk."""
    made = EmbeddedServer(tmp_path / "broker")
    made.start()
    yield made
    made.stop()


@pytest.fixture
def desk() -> FrontDesk:
    """The application around stores in memory."""
    from tests.support.front_desk import FrontDesk  # the framework is loaded where it is asked for only

    return FrontDesk()


@pytest.fixture
def client(desk: FrontDesk) -> InProcessClient:
    """Somebody on the same machine as the desk."""
    return desk.client()


def _engine_answers() -> bool:
    try:
        return subprocess.run(["docker", "version"], capture_output=True, timeout=2).returncode == 0
    except (FileNotFoundError, subprocess.TimeoutExpired):
        return False


def _container() -> Iterator[str]:
    from testcontainers.core.container import DockerContainer
    from testcontainers.core.waiting_utils import wait_for_logs

    with DockerContainer(_IMAGE).with_exposed_ports(6379) as container:
        wait_for_logs(container, "Ready to accept connections", timeout=30)
        yield f"redis://{container.get_container_host_ip()}:{container.get_exposed_port(6379)}/0"
