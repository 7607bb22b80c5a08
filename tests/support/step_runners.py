"""Runners of steps for tests of the queue: they obey the message of an ``echo`` step.

Set TRIGLYPH_STEP_RUNNER to ``tests.support.step_runners:obey``; the product never names this module.
"""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path
from typing import Any

from workers.errors import InputRejectedError
from workers.pipeline.outcome import Read, StepOutcome
from workers.values.progress import Reporter


def obey(process: str, inputs: dict[str, Any], read: Read, report: Reporter) -> StepOutcome:
    """Do what the message says: a word, and an argument after a blank.

    ``wait FILE`` runs until the file is there, and reports; ``deaf FILE`` the same without a report;
    ``die`` kills this very process; ``exhaust`` asks for more memory than there is; ``sleep S`` stays in
    compiled code; ``read HREF`` gives back a file. Anything else is given back. What was begun is written
    down, a line each, in the file named by TRIGLYPH_TEST_DIARY.
    """
    message = str(inputs.get("message", ""))
    _write_down(message)
    word, _, argument = message.partition(" ")
    if word == "die":
        os.kill(os.getpid(), signal.SIGKILL)
    if word == "exhaust":
        raise MemoryError
    if word == "allocate":
        return StepOutcome({"message": bytes(int(argument))})
    if word == "refuse":
        raise InputRejectedError("refused as asked")
    if word == "sleep":
        time.sleep(float(argument))
    if word == "read":
        return StepOutcome({"message": read(argument)})
    if word in ("wait", "deaf"):
        _wait_for(Path(argument.split()[0]), report if word == "wait" else None)
    return StepOutcome({"message": message.encode()})


def _wait_for(path: Path, report: Reporter | None) -> None:
    began = time.monotonic()
    while not path.exists():
        if report is not None:
            report(min(0.9, (time.monotonic() - began) / 10), "waiting")
        time.sleep(0.02)


def _write_down(message: str) -> None:
    diary = os.environ.get("TRIGLYPH_TEST_DIARY")
    if diary:
        with Path(diary).open("a", encoding="utf-8") as file:
            file.write(f"{os.getpid()} {message}\n")
