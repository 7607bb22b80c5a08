"""Steps: claimed, kept alive, handed on, published once."""

from __future__ import annotations

import pytest

from schemas.jobs import JobClass, JobStatus
from schemas.problems import ProblemCode, Refusal, problem
from schemas.steps import Step
from tests.support.clock import Clock
from tests.support.jobs import claimed, request, two_steps
from workers.queueing.artifacts import StoredFile
from workers.queueing.leases import Leases, StepLostError
from workers.queueing.service import Service
from workers.queueing.settings import Settings

CODING = "coding.interactive"
TRACING = "tracing.interactive"


@pytest.fixture
def clock() -> Clock:
    """The store's time, turned by hand."""
    return Clock()


def _file(letter: str = "a") -> StoredFile:
    return StoredFile(digest="sha256:" + 64 * letter, size_bytes=7, media_type="text/plain", title="a file")


def test_a_claim_says_all_that_a_worker_needs(service: Service, leases: Leases) -> None:
    """The step, its inputs, whose it is."""
    wanted = two_steps()
    service.jobs.submit(wanted)

    claim = claimed(leases, wanted.id)

    assert (claim.owner, claim.process, claim.job_class) == ("ada", "echo", JobClass.INTERACTIVE)
    assert claim.step == wanted.steps[0]
    assert (claim.attempt, claim.is_last) == (1, False)
    status = service.jobs.job(wanted.id).status
    assert status.status is JobStatus.RUNNING
    assert status.started is not None
    assert [step.state for step in status.steps] == ["running", "waiting"]


def test_only_one_worker_gets_a_step(service: Service, leases: Leases) -> None:
    """A message that comes twice is dropped."""
    wanted = request()
    service.jobs.submit(wanted)
    claimed(leases, wanted.id, "first")

    assert leases.claim(wanted.id, "second", CODING) is None


def test_the_same_token_gets_the_same_claim(service: Service, leases: Leases) -> None:
    """A client that lost the answer asks again."""
    wanted = request()
    service.jobs.submit(wanted)

    assert claimed(leases, wanted.id) == claimed(leases, wanted.id)


def test_a_message_of_another_queue_is_dropped(service: Service, leases: Leases) -> None:
    """A late message must not bring a step to the wrong pool."""
    wanted = request()
    service.jobs.submit(wanted)

    assert leases.claim(wanted.id, "token", TRACING) is None


def test_a_message_of_no_job_is_dropped(leases: Leases) -> None:
    """Forged or long over: a message can at most make a worker look."""
    assert leases.claim("no such job", "token", CODING) is None


def test_outputs_reach_the_next_step_and_its_queue(service: Service, leases: Leases) -> None:
    """One move: the outputs are kept, the next step is in line in its own pool."""
    wanted = two_steps()
    service.jobs.submit(wanted)

    messages = leases.hand_on(claimed(leases, wanted.id), {"message": _file()})

    assert messages == [TRACING, wanted.id]
    claim = claimed(leases, wanted.id, "next", TRACING)
    assert claim.step == wanted.steps[1]
    assert claim.outputs == {"first": {"message": _file().digest}}
    assert (claim.attempt, claim.is_last) == (1, True)


def test_the_last_step_ends_the_job_well(service: Service, leases: Leases) -> None:
    """With its results, and the files are the owner's."""
    wanted = request()
    service.jobs.submit(wanted)

    leases.hand_on(claimed(leases, wanted.id), {"message": _file()})

    status = service.jobs.job(wanted.id).status
    assert (status.status, status.progress) == (JobStatus.SUCCESSFUL, 100)
    assert status.finished is not None
    assert [step.state for step in status.steps] == ["done"]
    assert service.jobs.outputs(wanted.id) == {"message": _file().digest}
    assert service.artifacts.stat(_file().digest, "ada").title == "a file"


def test_what_is_not_a_result_is_nobodys(service: Service, leases: Leases) -> None:
    """A step on the way leaves files for later steps only: an unproven program must not be fetched."""
    steps = [
        Step(id="machine-code", process="machine-code", inputs={}),
        Step(id="verification", process="verification", inputs={}),
    ]
    wanted = request(process="sign", steps=steps)
    service.jobs.submit(wanted)
    programs = {"programs": _file("b"), "programs/01-incise-vee-90.ngc": _file("c")}
    leases.hand_on(claimed(leases, wanted.id), programs)
    claim = claimed(leases, wanted.id, "next")
    assert claim.files == {"machine-code": programs}

    leases.fail(claim, problem(ProblemCode.PROOF_FAILED, "0.3 mm too deep"), {"proof": _file()})

    assert service.jobs.outputs(wanted.id) == {"proof": _file().digest}
    assert service.artifacts.stat(_file().digest, "ada")
    for file in programs.values():
        with pytest.raises(Refusal):
            service.artifacts.stat(file.digest, "ada")


def test_a_failed_step_ends_the_job_with_its_problem_and_reports(service: Service, leases: Leases) -> None:
    """What is known stays readable."""
    wanted = request()
    service.jobs.submit(wanted)
    document = problem(ProblemCode.PROOF_FAILED, "0.3 mm too deep")

    leases.fail(claimed(leases, wanted.id), document, {"proof": _file()})

    status = service.jobs.job(wanted.id).status
    assert status.status is JobStatus.FAILED
    assert status.exception == document
    assert status.message == "0.3 mm too deep"
    assert service.jobs.outputs(wanted.id) == {"proof": _file().digest}


def test_handing_on_twice_is_once(service: Service, leases: Leases) -> None:
    """The same holder, repeating itself, is told yes and changes nothing."""
    wanted = two_steps()
    service.jobs.submit(wanted)
    claim = claimed(leases, wanted.id)
    leases.hand_on(claim, {"message": _file()})
    before = service.jobs.job(wanted.id)

    leases.hand_on(claim, {"message": _file("b")})

    assert service.jobs.job(wanted.id) == before


def test_a_holder_whose_lease_is_over_loses_to_the_next(
    service: Service, leases: Leases, clock: Clock, settings: Settings
) -> None:
    """Late results are not published over those of the present holder."""
    wanted = request()
    service.jobs.submit(wanted)
    late = claimed(leases, wanted.id, "late")
    clock.forward(settings.lease_s + 1)
    present = claimed(leases, wanted.id, "present")

    assert present.attempt == 2
    assert not leases.beat(late, 0.9, "nearly")
    with pytest.raises(StepLostError):
        leases.hand_on(late, {"message": _file("b")})
    leases.hand_on(present, {"message": _file()})
    assert service.jobs.outputs(wanted.id) == {"message": _file().digest}


def test_heartbeats_keep_a_lease(service: Service, leases: Leases, clock: Clock, settings: Settings) -> None:
    """For as long as they come."""
    wanted = request()
    service.jobs.submit(wanted)
    claim = claimed(leases, wanted.id)

    for tenth in range(1, 6):
        clock.forward(0.8 * settings.lease_s)
        assert leases.beat(claim, tenth / 10, "at work")

    assert leases.claim(wanted.id, "other", CODING) is None
    status = service.jobs.job(wanted.id).status
    assert (status.progress, status.message) == (50, "at work")


def test_progress_never_goes_back(service: Service, leases: Leases) -> None:
    """Whatever a stage reports."""
    wanted = two_steps()
    service.jobs.submit(wanted)
    claim = claimed(leases, wanted.id)
    leases.beat(claim, 0.8, "ahead")

    leases.beat(claim, 0.2, "back")

    assert service.jobs.job(wanted.id).status.progress == 40  # the first of two steps


def test_a_step_is_begun_three_times_at_most(
    service: Service, leases: Leases, clock: Clock, settings: Settings
) -> None:
    """A job that kills its workers must not do so for ever."""
    wanted = request()
    service.jobs.submit(wanted)
    for attempt in range(3):
        assert claimed(leases, wanted.id, f"token {attempt}").attempt == attempt + 1
        clock.forward(settings.lease_s + 1)

    assert leases.claim(wanted.id, "one more", CODING) is None

    status = service.jobs.job(wanted.id).status
    assert (status.status, status.attempts) == (JobStatus.FAILED, 3)
    assert status.exception is not None
    assert status.exception.code is ProblemCode.ATTEMPTS_EXHAUSTED


def test_attempts_are_counted_for_each_step(
    service: Service, leases: Leases, clock: Clock, settings: Settings
) -> None:
    """A long job is not punished for a lost worker at each stage."""
    wanted = two_steps()
    service.jobs.submit(wanted)
    claimed(leases, wanted.id, "lost")
    clock.forward(settings.lease_s + 1)
    leases.hand_on(claimed(leases, wanted.id, "second"), {})

    assert claimed(leases, wanted.id, "next", TRACING).attempt == 1


def test_a_dismissed_job_takes_no_results(service: Service, leases: Leases) -> None:
    """End states are final."""
    wanted = request()
    service.jobs.submit(wanted)
    claim = claimed(leases, wanted.id)
    service.jobs.dismiss(wanted.id)

    with pytest.raises(StepLostError):
        leases.hand_on(claim, {"message": _file()})

    assert service.jobs.job(wanted.id).status.status is JobStatus.DISMISSED
    assert service.jobs.outputs(wanted.id) == {}


def test_a_step_that_is_given_back_waits_again(service: Service, leases: Leases) -> None:
    """In line at once; the attempt does not count, and the old claim is worth nothing once it is claimed."""
    wanted = request()
    service.jobs.submit(wanted)
    claim = claimed(leases, wanted.id)

    assert leases.give_back(claim) == [CODING, wanted.id]
    assert leases.give_back(claim) == []

    following = claimed(leases, wanted.id, "next")
    assert following.attempt == 1
    assert not leases.holds(claim)
