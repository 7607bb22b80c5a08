"""Runners of steps for tests of the queue: they obey the message of an ``echo`` step.

Set TRIGLYPH_STEP_RUNNER to ``tests.support.step_runners:obey``; the product never names this module.
"""

from __future__ import annotations

import hashlib
import os
import signal
import time
from pathlib import Path
from typing import Any

from schemas.problems import ProblemCode, problem
from workers.errors import ConversionError, InputRejectedError, JobDismissed
from workers.pipeline.outcome import Read, StepOutcome
from workers.values.progress import Reporter


def obey(process: str, inputs: dict[str, Any], read: Read, report: Reporter) -> StepOutcome:
    """Do what the message says: a word, and an argument after a blank.

    ``wait FILE`` runs until the file is there, and reports; ``deaf FILE`` the same without a report;
    ``drop FILE`` the same, and then ends without a word, like a step that is no longer wanted;
    ``die`` kills this very process; ``exhaust`` runs out of memory; ``allocate N`` asks for so many bytes;
    ``stuck`` never comes back from compiled code; ``read HREF`` gives back a file; ``refuse`` ends in an
    error of ours. Anything else is given back. What was begun is written down, a line each, in the file
    named by TRIGLYPH_TEST_DIARY.
    """
    message = str(inputs.get("message", ""))
    _write_down(message)
    try:
        data = _carry_out(message, read, report)
    except ConversionError as error:
        return StepOutcome(problem=problem(ProblemCode(error.code), error.message))
    return StepOutcome({"message" if process == "echo" else "report": data})


def _carry_out(message: str, read: Read, report: Reporter) -> bytes:
    word, _, argument = message.partition(" ")
    if word in ("wait", "deaf", "drop"):
        _wait_for(Path(argument), report if word == "wait" else None)
        if word == "drop":
            raise JobDismissed("as asked")
    elif word == "die":
        os.kill(os.getpid(), signal.SIGKILL)
    elif word == "exhaust":
        raise MemoryError
    elif word == "allocate":
        return bytes(int(argument))
    elif word == "stuck":
        hashlib.pbkdf2_hmac("sha256", b"", b"", 2**31 - 1)  # a quarter of an hour, deaf to signals
    elif word == "read":
        return read(argument)
    elif word == "refuse":
        raise InputRejectedError("refused as asked")
    return message.encode()


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
