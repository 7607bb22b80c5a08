"""One message carried out, in this process, against a real store."""

from __future__ import annotations

import dataclasses
import time
from collections.abc import Callable
from typing import Any

import pytest
import redis

from schemas.job_records import JobRequest
from schemas.jobs import JobStatus
from schemas.links import artifact_href
from schemas.problems import ProblemCode, problem
from schemas.steps import Step
from tests.support.jobs import request, two_steps
from workers.pipeline.outcome import Read, StepOutcome
from workers.queueing.artifacts import ContentFolder
from workers.queueing.connection import in_reach
from workers.queueing.leases import Leases
from workers.queueing.service import Service
from workers.queueing.settings import Settings
from workers.queueing.stage_cache import StageCache
from workers.tasks.run_step import Bench, run_message
from workers.values.progress import Reporter

CODING, TRACING = "coding.interactive", "tracing.interactive"
Behaviour = Callable[[dict[str, Any], Read, Reporter], StepOutcome]


class Runner:
    """Runs steps as a test tells it, and counts."""

    def __init__(self) -> None:
        self.behaviour: Behaviour = lambda inputs, read, report: StepOutcome({"message": b"done"})
        self.runs: list[dict[str, Any]] = []

    def __call__(self, process: str, inputs: dict[str, Any], read: Read, report: Reporter) -> StepOutcome:
        self.runs.append(inputs)
        return self.behaviour(inputs, read, report)


@pytest.fixture
def runner() -> Runner:
    """The computing, replaced."""
    return Runner()


@pytest.fixture
def bench(service: Service, leases: Leases, settings: Settings, runner: Runner) -> Bench:
    """What a message is carried out with."""
    folder = ContentFolder(settings.artifacts_folder)
    return Bench(
        settings=settings,
        leases=leases,
        cache=StageCache(folder, service.server, settings),
        folder=folder,
        send=lambda messages: None,
        runner=runner,
    )


def _tracing(href: str) -> JobRequest:
    """A job of one step whose results may be used again."""
    return request(
        process="tracing", steps=[Step(id="tracing", process="tracing", inputs={"image": {"href": href}})]
    )


def _run(service: Service, bench: Bench, wanted: JobRequest, queue: str = CODING) -> None:
    service.jobs.submit(wanted)
    run_message(bench, wanted.id, "token", queue)


def test_what_a_step_makes_becomes_the_owners(service: Service, bench: Bench) -> None:
    """With its media type and title, under its name in the results."""
    wanted = request()

    _run(service, bench, wanted)

    digest = service.jobs.outputs(wanted.id)["message"]
    record = service.artifacts.stat(digest, "ada")
    assert (record.media_type, record.title) == ("text/plain", "what was sent")
    assert service.artifacts.path(digest, "ada").read_bytes() == b"done"
    assert service.jobs.job(wanted.id).status.status is JobStatus.SUCCESSFUL


def test_files_are_read_by_their_links(service: Service, bench: Bench, runner: Runner) -> None:
    """Those of artifacts; a link to nothing is a missing file."""
    record = service.artifacts.put([b"ink"], owner="ada", media_type="image/png")
    runner.behaviour = lambda inputs, read, report: StepOutcome({"art": read(inputs["image"]["href"])})
    wanted = _tracing(artifact_href(record.digest))

    _run(service, bench, wanted, TRACING)

    assert service.jobs.outputs(wanted.id) == {"art": record.digest}


@pytest.mark.parametrize(
    "href", [artifact_href("sha256:" + 64 * "0"), "/etc/passwd", "http://example.invalid/"]
)
def test_a_link_to_no_artifact_is_a_missing_file(
    bench: Bench, service: Service, runner: Runner, href: str
) -> None:
    """Never anything else on this machine or elsewhere."""
    seen: list[BaseException] = []

    def reading(inputs: dict[str, Any], read: Read, report: Reporter) -> StepOutcome:
        try:
            read(href)
        except Exception as error:
            seen.append(error)
            raise
        return StepOutcome()

    runner.behaviour = reading
    _run(service, bench, request())

    assert [type(error).__name__ for error in seen] == ["MissingFileError"]


def test_the_same_step_is_not_run_twice(service: Service, bench: Bench, runner: Runner) -> None:
    """Also for another owner, who then has the files as well."""
    runner.behaviour = lambda inputs, read, report: StepOutcome({"art": b"<svg/>"})
    first, second = (
        _tracing("/artifacts/same"),
        _tracing("/artifacts/same").model_copy(update={"owner": "bob"}),
    )

    _run(service, bench, first, TRACING)
    _run(service, bench, second, TRACING)

    assert len(runner.runs) == 1
    outputs = service.jobs.outputs(second.id)
    assert outputs == service.jobs.outputs(first.id)
    assert service.artifacts.stat(outputs["art"], "bob")
    assert [step.state for step in service.jobs.job(first.id).status.steps] == ["done"]
    assert [step.state for step in service.jobs.job(second.id).status.steps] == ["reused"]


def test_a_probe_is_always_run(service: Service, bench: Bench, runner: Runner) -> None:
    """An echo out of the cache would say nothing about the workers."""
    _run(service, bench, request())
    _run(service, bench, request())

    assert len(runner.runs) == 2


def test_a_refusal_is_not_remembered(service: Service, bench: Bench, runner: Runner) -> None:
    """What failed once may do better with the next version of a plug-in."""
    document = problem(ProblemCode.NOT_CUTTABLE, "too thin")
    runner.behaviour = lambda inputs, read, report: StepOutcome({"report": b"{}"}, document)
    wanted = _tracing("/artifacts/same")
    _run(service, bench, wanted, TRACING)

    _run(service, bench, _tracing("/artifacts/same"), TRACING)

    assert len(runner.runs) == 2
    status = service.jobs.job(wanted.id).status
    assert (status.status, status.exception) == (JobStatus.FAILED, document)
    assert list(service.jobs.outputs(wanted.id)) == ["report"]


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (MemoryError(), ProblemCode.LIMIT_EXCEEDED),
        (ZeroDivisionError("secret path"), ProblemCode.INTERNAL_FAULT),
        (KeyboardInterrupt(), ProblemCode.INTERNAL_FAULT),
        (RecursionError(), ProblemCode.INTERNAL_FAULT),
    ],
)
def test_no_exception_gets_out(
    service: Service, bench: Bench, runner: Runner, error: BaseException, code: ProblemCode
) -> None:
    """Each ends its job with a problem, which tells its kind and none of its words."""

    def failing(inputs: dict[str, Any], read: Read, report: Reporter) -> StepOutcome:
        raise error

    runner.behaviour = failing
    wanted = request()

    _run(service, bench, wanted)

    status = service.jobs.job(wanted.id).status
    assert status.exception is not None
    assert status.exception.code is code
    assert "secret" not in status.exception.model_dump_json()


def test_a_dismissed_step_publishes_nothing(service: Service, bench: Bench, runner: Runner) -> None:
    """It ends at its next report."""
    wanted = request()

    def dismissed(inputs: dict[str, Any], read: Read, report: Reporter) -> StepOutcome:
        service.jobs.dismiss(wanted.id)
        for _ in range(10_000):
            report(0.5, "at work")
            time.sleep(0.001)
        return StepOutcome({"message": b"too late"})

    runner.behaviour = dismissed

    _run(service, bench, wanted)

    assert service.jobs.job(wanted.id).status.status is JobStatus.DISMISSED
    assert service.jobs.outputs(wanted.id) == {}


def test_a_message_of_nothing_does_nothing(bench: Bench, runner: Runner) -> None:
    """Forged or long over."""
    run_message(bench, "no such job", "token", CODING)

    assert runner.runs == []


def test_messages_for_the_next_step_are_sent(service: Service, bench: Bench) -> None:
    """By the worker itself, not a second later by the keeper."""
    sent: list[str] = []
    wanted = two_steps()

    _run(service, dataclasses.replace(bench, send=sent.extend), wanted)

    assert sent == [TRACING, wanted.id]


def test_a_server_that_is_away_is_waited_for(
    service: Service, bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A step that is done is not lost to a restart."""
    tries = iter([True, True, False])
    hand_on = bench.leases.hand_on

    def failing_twice(*arguments: Any, **named: Any) -> list[str]:
        with in_reach():
            if next(tries):
                raise redis.exceptions.ConnectionError
        return hand_on(*arguments, **named)

    monkeypatch.setattr(bench.leases, "hand_on", failing_twice)
    monkeypatch.setattr("workers.tasks.run_step._PAUSE_S", 0.01)
    wanted = request()

    _run(service, bench, wanted)

    assert service.jobs.job(wanted.id).status.status is JobStatus.SUCCESSFUL
