"""The embedded server: one for a folder, nothing left behind, nothing lost."""

from __future__ import annotations

import os
import signal
import stat
import subprocess
import sys
from pathlib import Path

import pytest
import redis

from tests.support.jobs import until
from tests.support.site import is_alive
from workers.queueing.embedded import EmbeddedServer, NoServerError, server_program

ROOT = Path(__file__).parents[3]
_LAUNCH = """
import sys, time
from pathlib import Path
from workers.queueing.embedded import EmbeddedServer
server = EmbeddedServer(Path(sys.argv[1]))
server.start()
print(server.pid, flush=True)
time.sleep(60)
"""


@pytest.fixture(autouse=True, scope="module")
def _program() -> None:
    try:
        server_program()
    except NoServerError as error:
        pytest.skip(str(error))


def _client(server: EmbeddedServer) -> redis.Redis:
    return redis.Redis.from_url(server.url, decode_responses=True)


def test_only_we_can_reach_it(server: EmbeddedServer, tmp_path: Path) -> None:
    """No TCP; the socket, its folder and the configuration are ours alone."""
    with _client(server) as client:
        assert client.config_get("port") == {"port": "0"}

    folder = tmp_path / "broker"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert stat.S_IMODE((folder / "server.conf").stat().st_mode) == 0o600
    socket = Path(server.url.removeprefix("unix://"))
    assert stat.S_IMODE(socket.stat().st_mode) == 0o700


def test_every_write_is_on_the_disk_and_nothing_is_dropped(server: EmbeddedServer) -> None:
    """As the server itself says."""
    with _client(server) as client:
        settings = client.config_get("append*", "maxmemory-policy")

    assert (settings["appendonly"], settings["appendfsync"]) == ("yes", "always")
    assert settings["maxmemory-policy"] == "noeviction"


def test_what_was_written_is_there_after_a_kill(server: EmbeddedServer) -> None:
    """And the server comes back by itself."""
    with _client(server) as client:
        client.set("kept", "yes")
        before = server.pid
        assert before is not None
        os.kill(before, signal.SIGKILL)
        until(lambda: server.pid not in (None, before))
        until(lambda: _says(server, "kept") == "yes")


def _says(server: EmbeddedServer, key: str) -> str | None:
    try:
        with _client(server) as client:
            return client.get(key)
    except redis.exceptions.RedisError:
        return None


def test_a_folder_has_one_server(server: EmbeddedServer, tmp_path: Path) -> None:
    """Two would write one file."""
    with pytest.raises(NoServerError, match="another process"):
        EmbeddedServer(tmp_path / "broker").start()

    assert _says(server, "nothing") is None
    assert server.pid is not None


def test_a_stopped_server_leaves_the_folder_to_the_next(tmp_path: Path) -> None:
    """With all that it kept."""
    first = EmbeddedServer(tmp_path / "broker")
    first.start()
    with _client(first) as client:
        client.set("kept", "yes")
    pid = first.pid
    first.stop()
    assert pid is not None
    assert not is_alive(pid)

    second = EmbeddedServer(tmp_path / "broker")
    second.start()
    try:
        assert _says(second, "kept") == "yes"
    finally:
        second.stop()


def test_the_server_ends_with_its_launcher(tmp_path: Path) -> None:
    """Also when the launcher is killed without a word."""
    command = [sys.executable, "-c", _LAUNCH, str(tmp_path / "broker")]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as launcher:
        assert launcher.stdout is not None
        pid = int(launcher.stdout.readline())
        assert is_alive(pid)
        launcher.kill()

    until(lambda: not is_alive(pid))


def test_an_orphan_is_taken_over(tmp_path: Path) -> None:
    """A server that outlived its launcher is ended, and what it kept is there."""
    server = EmbeddedServer(tmp_path / "broker")
    server.start()
    server.stop()
    orphan = subprocess.Popen(
        [server_program(), tmp_path / "broker" / "server.conf"], stdout=subprocess.DEVNULL
    )
    try:
        until(lambda: _keeps(server))
        server.start()
        assert server.pid not in (None, orphan.pid)
        assert _says(server, "kept") == "yes"
        orphan.wait(5)
    finally:
        server.stop()
        orphan.kill()
        orphan.wait()


def _keeps(server: EmbeddedServer) -> bool:
    try:
        with _client(server) as client:
            return bool(client.set("kept", "yes"))
    except redis.exceptions.RedisError:
        return False


def test_a_long_path_is_no_obstacle(tmp_path: Path) -> None:
    """The kernel takes 107 bytes for a socket's path."""
    server = EmbeddedServer(tmp_path / ("deep" * 15) / ("er" * 30))
    server.start()
    try:
        assert len(server.url) < 110
        assert _says(server, "nothing") is None
        assert server.pid is not None
    finally:
        server.stop()


def test_a_program_that_does_not_start_is_told(tmp_path: Path) -> None:
    """With where to look."""
    server = EmbeddedServer(tmp_path / "broker", program=Path("/bin/false"), start_s=0.3)

    with pytest.raises(NoServerError, match=r"server\.log"):
        server.start()
