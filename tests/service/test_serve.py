"""The whole service by its command: it starts, works, restarts with nothing lost, and stops when told."""

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from api.client import TriglyphClient
from schemas.jobs import JobStatus

_ADDRESS = re.compile(r"listens at (http://127\.0\.0\.1:\d+)")


@contextmanager
def service(data: Path, end: int) -> Iterator[str]:
    """Run ``triglyph serve``; yield its address; end it by a signal, after which it must be gone in order."""
    command = [sys.executable, "-m", "api.cli", "serve", "--data", str(data), "--port", "0", "--workers", "1"]
    environment = {name: value for name, value in os.environ.items() if not name.startswith("TRIGLYPH_")}
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True, env=environment) as process:
        assert process.stderr is not None
        said = ""
        try:
            while not (found := _ADDRESS.search(said)):
                line = process.stderr.readline()
                assert line, f"it ended: {said}"
                said += line
            yield found[1]
        finally:
            process.send_signal(end)
            said += process.stderr.read()
            code = process.wait(60)
    assert code == 0, said
    assert "Traceback" not in said


def echoed(client: TriglyphClient, message: str, out: Path) -> str:
    """Have a message echoed; return the job."""
    job = client.submit("echo", {"message": message}).jobID
    *_, last = client.follow(job)
    assert last.status is JobStatus.SUCCESSFUL
    files, why = client.download_all(job, out)
    assert why is None
    assert files["message"].read_text() == message
    return job


@pytest.mark.skipif(os.name != "posix", reason="the embedded stack is for POSIX systems")
def test_a_service_works_and_remembers(tmp_path: Path) -> None:
    """A job runs over broker and worker to its file; after a restart the job and its file are still there."""
    with service(tmp_path / "data", signal.SIGTERM) as address, TriglyphClient(address) as client:
        assert any(bit["name"] == "vee-90" for bit in client.capabilities()["bits"])
        job = echoed(client, "before", tmp_path / "out")

    with service(tmp_path / "data", signal.SIGINT) as address, TriglyphClient(address) as client:
        assert client.status(job).status is JobStatus.SUCCESSFUL
        files, _ = client.download_all(job, tmp_path / "again")
        assert files["message"].read_text() == "before"
        echoed(client, "after", tmp_path / "out")
