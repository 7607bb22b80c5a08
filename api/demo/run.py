"""The demo: the whole service started, the order sent as any front end would, the bundle left behind."""

import contextlib
import re
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import IO

from api.client import TriglyphClient
from api.demo import ORDER
from api.linked_files import read_request
from api.progress_line import show_job
from api.told import Exit, note, say, tell_made

_ADDRESS = re.compile(r"listens at (http://\S+)")
_STOP_S = 30.0
_CAUTION = (
    "Before anything is cut: the set-up sheet has the cautions, and the machine's manual and local rules "
    "come first."
)


def run_demo(out: Path, as_json: bool = False) -> Exit:
    """Carve the Tern Quay sign through broker, workers and API, all on this machine.

    Args:
        out: Folder for the bundle and each of its files.
        as_json: Say on standard output what was made as one JSON document.
    """
    note("starting the service: broker, workers and API")
    with (
        tempfile.TemporaryDirectory(prefix="triglyph-") as data,
        _service(Path(data)) as address,
        TriglyphClient(address) as client,
    ):
        job = client.submit("sign", read_request(ORDER), folder=ORDER.parent)
        note(f"the order is job {job.jobID}; its address is {address}/jobs/{job.jobID}")
        show_job(client, job.jobID)
        files, why = client.download_all(job.jobID, out)
    if why is not None or as_json:
        return tell_made({"jobID": job.jobID}, out, files, why, as_json)
    say(f"The bundle is {out / 'bundle.zip'}; beside it lies each of its files.")
    say(
        f"See {out / 'preview.png'} for the board, {out / 'setup-sheet.pdf'} for the page beside the machine."
    )
    say(_CAUTION)
    return Exit.DONE


@contextlib.contextmanager
def _service(data: Path) -> Iterator[str]:
    """Run ``triglyph serve`` as a process of its own; yield its address."""
    command = [sys.executable, "-m", "api.cli", "serve", "--data", str(data), "--port", "0"]
    process = subprocess.Popen(command, stderr=subprocess.PIPE, text=True)  # noqa: S603 - our own command
    if process.stderr is None:
        raise RuntimeError("a process without its error stream")
    try:
        yield _address(process.stderr)
    finally:
        process.terminate()
        try:
            process.wait(_STOP_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _address(told: IO[str]) -> str:
    """Return the address the service says; what it says before and after is passed on."""
    for line in told:
        found = _ADDRESS.search(line)
        if found:
            threading.Thread(target=_pass_on, args=(told,), daemon=True).start()
            return found[1]
        note(line.rstrip())
    raise RuntimeError("the service ended before it listened; what it said stands above")


def _pass_on(told: IO[str]) -> None:
    with contextlib.suppress(ValueError):  # closed while we read: the process is gone
        for line in told:
            note(line.rstrip())
