"""Programs of ours that are kept running."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.jobs import until
from tests.support.site import is_alive
from workers.queueing.supervised_process import Program, SupervisedProcess

_TALK = (
    "import os, signal, time; print(os.getpid(), os.nice(0), os.environ['WORD'], flush=True); time.sleep(60)"
)
_STUBBORN = (
    "import signal, time; signal.signal(15, signal.SIG_IGN); print('deaf', flush=True); time.sleep(60)"
)


def _program(log: Path, code: str = _TALK, **changes: object) -> Program:
    return Program(
        name="talker", command=[sys.executable, "-c", code], environment={"WORD": "hi"}, log=log, **changes
    )


def _lines(log: Path) -> list[str]:
    return log.read_text().splitlines() if log.exists() else []


def test_a_program_runs_as_asked_until_it_is_stopped(tmp_path: Path) -> None:
    """With its environment and niceness; its output is in its log."""
    log = tmp_path / "logs" / "talker.log"
    process = SupervisedProcess(_program(log, niceness=3))
    process.start()
    pid, niceness, word = until(lambda: _lines(log))[0].split()
    assert (int(pid), word) == (process.pid, "hi")
    assert int(niceness) == os.nice(0) + 3

    process.stop(grace_s=5)

    assert not is_alive(int(pid))
    assert process.pid is None


def test_a_terminals_ctrl_c_does_not_reach_a_program(tmp_path: Path) -> None:
    """It leads a process group of its own, and terminals signal groups (POSIX.1, 11.1.9)."""
    log = tmp_path / "talker.log"
    process = SupervisedProcess(
        _program(log, "import os, time; print(os.getpgrp(), flush=True); time.sleep(60)")
    )
    process.start()
    group = int(until(lambda: _lines(log))[0])

    assert group == process.pid != os.getpgrp()

    process.stop(grace_s=5)


def test_a_program_that_ends_is_started_again(tmp_path: Path) -> None:
    """Whatever ended it."""
    log = tmp_path / "talker.log"
    process = SupervisedProcess(_program(log))
    process.start()
    until(lambda: len(_lines(log)) == 1)

    process.signal(signal.SIGKILL)

    until(lambda: len(_lines(log)) == 2)
    process.stop(grace_s=5)


def test_a_program_that_keeps_ending_is_not_hurried(tmp_path: Path) -> None:
    """The pauses double: 0.2, 0.4, 0.8 s; without them there would be some twenty starts in the time."""
    log = tmp_path / "talker.log"
    process = SupervisedProcess(_program(log, code="print('once', flush=True)"))
    process.start()
    until(lambda: len(_lines(log)) == 3)

    process.stop(grace_s=5)

    assert 3 <= len(_lines(log)) <= 4


def test_a_program_that_does_not_stop_is_killed(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    """After its grace."""
    log = tmp_path / "talker.log"
    process = SupervisedProcess(_program(log, code=_STUBBORN))
    process.start()
    until(lambda: _lines(log))

    process.stop(grace_s=0.3)

    assert process.pid is None
    assert "is killed" in caplog.text


def test_a_log_that_has_grown_is_put_aside(tmp_path: Path) -> None:
    """So that none fills the disk."""
    log = tmp_path / "talker.log"
    log.write_bytes(b"x" * 5_000_001)
    process = SupervisedProcess(_program(log))
    process.start()
    until(lambda: _lines(log))
    process.stop(grace_s=5)

    assert (tmp_path / "talker.log.1").stat().st_size == 5_000_001
    assert log.stat().st_size < 1000


def test_a_program_that_cannot_be_started_is_tried_again(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """As on a full disk: whoever starts it does not wait for ever, and it runs when the trouble is over."""
    folder = tmp_path / "logs"
    folder.write_text("in the way")
    process = SupervisedProcess(_program(folder / "talker.log"))
    process.start()
    assert process.pid is None
    until(lambda: "cannot be started" in caplog.text)

    folder.unlink()

    until(lambda: _lines(folder / "talker.log"))
    process.stop(grace_s=5)


def test_a_program_that_was_just_being_started_stops_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The signal comes between the decision to start it and its being there."""
    process = SupervisedProcess(_program(tmp_path / "talker.log"))
    spawn = process._spawn

    def asked_meanwhile() -> subprocess.Popen[bytes]:
        process.ask_to_stop()
        return spawn()

    monkeypatch.setattr(process, "_spawn", asked_meanwhile)
    process.start()

    process._thread.join(5)

    assert not process._thread.is_alive()
    assert process.pid is None
