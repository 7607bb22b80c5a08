"""The store as a worker sees it: take a step, say that it lives, hand on what it made."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import redis
from pydantic import TypeAdapter

from schemas.jobs import JobClass, JobStatus
from schemas.problems import Problem
from schemas.steps import Outputs, Step, job_outputs
from workers.queueing.artifacts import StoredFile
from workers.queueing.connection import in_reach
from workers.queueing.job_fields import queue_of
from workers.queueing.scripts import Scripts
from workers.queueing.settings import Settings

_STEPS = TypeAdapter(list[Step])


class StepLostError(Exception):
    """The step belongs to another worker by now, or its job has ended."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """The right to run one step of a job, while its lease lasts."""

    job_id: str
    fence: int
    attempt: int
    owner: str
    job_class: JobClass
    process: str
    steps: list[Step]
    place: int  # of the step, in ``steps``
    files: dict[str, dict[str, StoredFile]]  # of the steps before, by step id and output name

    @property
    def outputs(self) -> dict[str, Outputs]:
        """The same by their digests."""
        return _digests(self.files)

    @property
    def step(self) -> Step:
        return self.steps[self.place]

    @property
    def is_last(self) -> bool:
        return self.place == len(self.steps) - 1

    def progress(self, fraction: float) -> int:
        """Return the progress of the whole job in percent; 100 is only said when it has ended."""
        return min(99, int(100 * (self.place + fraction) / len(self.steps)))


class Leases:
    """Claims and what becomes of them. All of it may be repeated."""

    def __init__(self, scripts: Scripts, server: redis.Redis, settings: Settings) -> None:
        self._scripts = scripts
        self._server: Any = server
        self._prefix = settings.key_prefix

    def claim(self, job_id: str, token: str, queue: str) -> Claim | None:
        """Take a job's current step, if it waits in this queue.

        Args:
            job_id: The job.
            token: Who asks; no two deliveries share one.
            queue: Where the message came from.

        Returns:
            The claim; None if there is nothing to do (held by another, ended, or further on by now).
        """
        found = self._scripts.run("claim", id=job_id, token=token, queue=queue)
        if found is None:
            return None
        fence, place, attempt, owner, job_class, process, steps, files = found
        return Claim(
            job_id=job_id,
            fence=int(fence),
            attempt=int(attempt),
            owner=owner,
            job_class=JobClass(job_class),
            process=process,
            steps=_STEPS.validate_json(steps),
            place=int(place),
            files=_files_of(files),
        )

    def beat(self, claim: Claim, fraction: float, message: str) -> bool:
        """Say that the step lives and how far it is. False: it is lost, stop."""
        kept = self._scripts.run(
            "beat",
            id=claim.job_id,
            fence=claim.fence,
            step=claim.step.id,
            progress=claim.progress(fraction),
            message=message,
        )
        return bool(kept)

    def holds(self, claim: Claim) -> bool:
        """Return whether the step still belongs to this claim. Writes nothing: ask often."""
        with in_reach():
            state = self._server.hmget(f"{self._prefix}job:{claim.job_id}", "phase", "fence")
        return bool(state == ["leased", str(claim.fence)])

    def hand_on(
        self, claim: Claim, files: Mapping[str, StoredFile], *, reused: bool = False, cache_key: str = ""
    ) -> list[str]:
        """Keep what the step made; the next step gets in line, or the job ends well.

        Args:
            claim: The step.
            files: What it made, by output name.
            reused: It was made before, by another job.
            cache_key: What to remember it by; empty: not at all.

        Returns:
            Messages to be sent.

        Raises:
            StepLostError: Somebody else has the step by now.
        """
        common = _common(claim, files, reused, cache_key)
        if claim.is_last:
            ending = {"status": JobStatus.SUCCESSFUL, "message": "", "problem": ""}
            return self._publish(claim, files, common | ending)
        following = claim.steps[claim.place + 1]
        return self._messages(
            self._scripts.run(
                "advance",
                **common,
                next_queue=queue_of(following, claim.job_class),
                progress=claim.progress(1.0),
            )
        )

    def give_back(self, claim: Claim) -> list[str]:
        """Put the step back in line, since this worker stops. It does not count as an attempt.

        Returns:
            Messages to be sent.
        """
        messages: list[str] = self._scripts.run(
            "give_back", id=claim.job_id, fence=claim.fence, step=claim.step.id
        )
        return messages

    def fail(self, claim: Claim, problem: Problem, files: Mapping[str, StoredFile]) -> list[str]:
        """End the job with a problem, and with the reports that explain it.

        Returns:
            Messages to be sent.

        Raises:
            StepLostError: Somebody else has the step by now.
        """
        ending = {
            "status": JobStatus.FAILED,
            "message": problem.detail,
            "problem": problem.model_dump_json(exclude_none=True),
        }
        return self._publish(claim, files, _common(claim, files) | ending)

    def _publish(self, claim: Claim, files: Mapping[str, StoredFile], arguments: dict[str, Any]) -> list[str]:
        everything = claim.files | {claim.step.id: dict(files)}
        results = job_outputs(claim.process, claim.steps, _digests(everything))
        known = {file.digest: file for made in everything.values() for file in made.values()}
        published = [known[digest].facts() for digest in results.values()]
        return self._messages(
            self._scripts.run("publish", **arguments, results=json.dumps(results), published=published)
        )

    @staticmethod
    def _messages(answer: list[str]) -> list[str]:
        if answer[0] == "lost":
            raise StepLostError
        return answer[1:]


def _common(
    claim: Claim, files: Mapping[str, StoredFile], reused: bool = False, cache_key: str = ""
) -> dict[str, Any]:
    return {
        "id": claim.job_id,
        "fence": claim.fence,
        "class": claim.job_class,
        "step": claim.step.id,
        "state": "reused" if reused else "done",
        "made": {name: file.facts() for name, file in files.items()},
        "cache_key": cache_key,
    }


def _files_of(pairs: Sequence[str]) -> dict[str, dict[str, StoredFile]]:
    """Return what steps left, from a flat list: step id, JSON of its files, and so on."""
    return {
        step: {name: StoredFile(**facts) for name, facts in _facts(text).items()}
        for step, text in zip(pairs[::2], pairs[1::2], strict=True)
    }


def _facts(text: str) -> dict[str, Any]:
    found = json.loads(text)
    return found if isinstance(found, dict) else {}  # the server writes an empty table as a list


def _digests(files: Mapping[str, Mapping[str, StoredFile]]) -> dict[str, Outputs]:
    return {step: {name: file.digest for name, file in made.items()} for step, made in files.items()}
