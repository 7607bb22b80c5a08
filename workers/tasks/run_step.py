"""Carry out one message: claim the step, run it or reuse what it made before, hand on what it made."""

from __future__ import annotations

import contextlib
import logging
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from importlib.metadata import PackageNotFoundError, version
from typing import TypeVar

from schemas.links import ARTIFACT_HREF
from schemas.problems import Refusal
from schemas.processes import PROCESSES
from schemas.steps import cache_key, in_request, output_of, resolved_inputs
from workers.errors import JobDismissed, MissingFileError
from workers.pipeline.outcome import StepOutcome
from workers.pipeline.problem_documents import problem_of
from workers.queueing.artifacts import ContentFolder, StoredFile
from workers.queueing.job_store import Send
from workers.queueing.leases import Claim, Leases, StepLostError
from workers.queueing.settings import Settings
from workers.queueing.stage_cache import StageCache
from workers.tasks.heartbeat import Heartbeat, WorkerStops

Runner = Callable[..., StepOutcome]
"""``workers.pipeline.run_step.run_step``."""

_PATIENCE_S = 60.0  # for a server that restarts while a finished step wants to be heard
_PAUSE_S = 0.5
_Answer = TypeVar("_Answer")
logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What a worker's child has at hand."""

    settings: Settings
    leases: Leases
    cache: StageCache
    folder: ContentFolder
    send: Send
    runner: Runner


def run_message(bench: Bench, job_id: str, token: str, queue: str) -> None:
    """Carry out the step that a message stands for. No exception may reach Celery, but for SystemExit.

    Celery 5.7.0 ends the whole worker on a MemoryError, and the next worker after it.

    Args:
        bench: What is at hand.
        job_id: The message.
        token: Of this delivery alone.
        queue: Where it came from.
    """
    try:
        claim = bench.leases.claim(job_id, token, queue)
    except Refusal:
        return  # the server is away; the keeper sends the step again
    if claim is None:
        return
    try:
        messages = _run_claimed(bench, claim)
    except (JobDismissed, StepLostError, Refusal) as reason:
        logger.info("step %s of job %s is dropped: %s", claim.step.id, job_id, type(reason).__name__)
        return
    except WorkerStops:
        bench.send(_give_back(bench, claim))
        raise SystemExit from None
    except SystemExit:
        raise
    except BaseException as error:
        logger.error("step %s of job %s stopped", claim.step.id, job_id, exc_info=error)
        messages = _fail(bench, claim, error)
    bench.send(messages)


def _run_claimed(bench: Bench, claim: Claim) -> list[str]:
    step = claim.step
    resolved = resolved_inputs(step, claim.outputs)
    key = cache_key(step, resolved, _package_version()) if PROCESSES[step.process].reusable else ""
    made_before = bench.cache.find(key) if key else None
    if made_before is not None:
        return _patiently(partial(bench.leases.hand_on, claim, made_before, reused=True))
    heartbeat = Heartbeat(
        bench.leases,
        claim,
        beat_s=bench.settings.beat_s,
        limit_s=bench.settings.step_limit_s,
        give_up=lambda error: bench.send(_fail(bench, claim, error)),
    )
    with contextlib.closing(heartbeat), heartbeat:
        outcome = bench.runner(step.process, resolved, partial(_read, bench.folder), heartbeat)
        files = _keep_files(bench.folder, step.process, outcome.files)
    if outcome.problem is not None:
        told = in_request(claim.process, step, outcome.problem)
        return _patiently(partial(bench.leases.fail, claim, told, files))
    return _patiently(partial(bench.leases.hand_on, claim, files, cache_key=key))


def _read(folder: ContentFolder, href: str) -> bytes:
    found = ARTIFACT_HREF.fullmatch(href)
    with contextlib.suppress(FileNotFoundError):
        if found:
            return folder.read(found[1])
    raise MissingFileError(
        "a link leads to no file", remedy="upload the file again, and send the request anew"
    )


def _keep_files(folder: ContentFolder, process: str, files: dict[str, bytes]) -> dict[str, StoredFile]:
    digests = folder.put_all(files)
    kept = {}
    for name, data in files.items():
        output = output_of(process, name)
        kept[name] = StoredFile(
            digest=digests[name], size_bytes=len(data), media_type=output.media_type, title=output.title
        )
    return kept


def _fail(bench: Bench, claim: Claim, error: BaseException) -> list[str]:
    document = problem_of(error, claim.step.process)
    try:
        return _patiently(partial(bench.leases.fail, claim, document, {}))
    except (StepLostError, Refusal):
        return []


def _give_back(bench: Bench, claim: Claim) -> list[str]:
    try:
        return bench.leases.give_back(claim)
    except Refusal:  # its lease will end
        return []


def _patiently(call: Callable[[], _Answer]) -> _Answer:
    """Call until the server answers: work that is done should not be lost to a restart.

    Raises:
        Refusal: It did not answer for a minute.
    """
    give_up = time.monotonic() + _PATIENCE_S
    while True:
        try:
            return call()
        except Refusal:
            if time.monotonic() > give_up:
                raise
        time.sleep(_PAUSE_S)


def _package_version() -> str:
    try:
        return version("triglyph")
    except PackageNotFoundError:  # a bare checkout
        return "0"
