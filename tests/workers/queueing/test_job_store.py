"""Jobs, as the front desk sees them."""

import pytest

from schemas.job_records import JobFilter, Subscriber
from schemas.jobs import JobClass, JobStatus
from schemas.problems import ProblemCode, Refusal
from tests.support.jobs import claimed, request, two_steps
from workers.queueing.leases import Leases
from workers.queueing.service import Service
from workers.queueing.settings import Settings


def _code(refusal: pytest.ExceptionInfo[Refusal]) -> ProblemCode:
    return refusal.value.document.code


def _end(service: Service, leases: Leases, job_id: str) -> None:
    claim = claimed(leases, job_id)
    leases.hand_on(claim, {})


def test_an_accepted_job_is_there_at_once(service: Service) -> None:
    """With all that the standard asks of it."""
    wanted = request(subscriber=Subscriber(successUri="https://example.invalid/done"))

    accepted = service.jobs.submit(wanted)

    assert not accepted.replayed
    job = service.jobs.job(wanted.id)
    assert job == accepted.job
    assert job.owner == "ada"
    assert job.subscriber == wanted.subscriber
    assert job.status.jobID == job.status.id == wanted.id
    assert job.status.processID == "echo"
    assert job.status.status is JobStatus.ACCEPTED
    assert job.status.progress == 0
    assert [step.state for step in job.status.steps] == ["waiting"]
    assert service.jobs.outputs(wanted.id) == {}


def test_the_same_request_sent_again_is_the_same_job(service: Service) -> None:
    """A client of the server that lost the answer asks again; nothing is doubled."""
    wanted = request(queued_limit=1)

    service.jobs.submit(wanted)
    service.jobs.submit(wanted)

    assert len(service.jobs.jobs(JobFilter(owner="ada")).jobs) == 1


def test_an_idempotency_key_gives_the_first_job_again(service: Service) -> None:
    """Also when the body was read anew and the job got another id."""
    first = request(idempotency_key="k", fingerprint="f")
    again = request(idempotency_key="k", fingerprint="f")

    service.jobs.submit(first)
    answer = service.jobs.submit(again)

    assert answer.replayed
    assert answer.job.status.id == first.id


def test_an_idempotency_key_with_another_request_is_refused(service: Service) -> None:
    """The draft's 422."""
    service.jobs.submit(request(idempotency_key="k", fingerprint="f"))

    with pytest.raises(Refusal) as refusal:
        service.jobs.submit(request(idempotency_key="k", fingerprint="g"))

    assert _code(refusal) is ProblemCode.IDEMPOTENCY_CONFLICT


def test_idempotency_keys_of_others_do_not_meet(service: Service) -> None:
    """Their scope is the owner."""
    service.jobs.submit(request(idempotency_key="k", fingerprint="f"))

    answer = service.jobs.submit(request(idempotency_key="k", fingerprint="g", owner="bob"))

    assert not answer.replayed


def test_the_quota_counts_jobs_that_have_not_ended(service: Service, leases: Leases) -> None:
    """One more than allowed is refused, until one has ended."""
    first = request(queued_limit=2)
    service.jobs.submit(first)
    service.jobs.submit(request(queued_limit=2))
    with pytest.raises(Refusal) as refusal:
        service.jobs.submit(request(queued_limit=2))
    assert _code(refusal) is ProblemCode.QUOTA_EXCEEDED
    assert refusal.value.retry_after_s

    _end(service, leases, first.id)

    service.jobs.submit(request(queued_limit=2))


def test_jobs_of_others_do_not_exist(service: Service) -> None:
    """Not even as forbidden."""
    wanted = request()
    service.jobs.submit(wanted)

    for look in (service.jobs.job, service.jobs.outputs, service.jobs.dismiss):
        with pytest.raises(Refusal) as refusal:
            look(wanted.id, "bob")
        assert _code(refusal) is ProblemCode.NO_SUCH_JOB


def test_a_waiting_job_is_dismissed_and_never_begins(service: Service, leases: Leases) -> None:
    """Whatever message is still on its way."""
    wanted = request()
    service.jobs.submit(wanted)

    job = service.jobs.dismiss(wanted.id, "ada")

    assert job.status.status is JobStatus.DISMISSED
    assert leases.claim(wanted.id, "token", "coding.interactive") is None


def test_dismissing_again_is_gone(service: Service) -> None:
    """The standard's 410."""
    wanted = request()
    service.jobs.submit(wanted)
    service.jobs.dismiss(wanted.id)

    with pytest.raises(Refusal) as refusal:
        service.jobs.dismiss(wanted.id)

    assert _code(refusal) is ProblemCode.JOB_DISMISSED
    assert service.jobs.job(wanted.id).status.status is JobStatus.DISMISSED


def test_dismissing_an_ended_job_erases_it(service: Service, leases: Leases) -> None:
    """From records and lists; for a while it is known to have been."""
    wanted = request()
    service.jobs.submit(wanted)
    _end(service, leases, wanted.id)

    job = service.jobs.dismiss(wanted.id, "ada")

    assert job.status.status is JobStatus.DISMISSED
    assert service.jobs.jobs(JobFilter()).jobs == []
    with pytest.raises(Refusal) as refusal:
        service.jobs.job(wanted.id, "ada")
    assert _code(refusal) is ProblemCode.JOB_DISMISSED
    with pytest.raises(Refusal) as refusal:
        service.jobs.job(wanted.id, "bob")
    assert _code(refusal) is ProblemCode.NO_SUCH_JOB


def test_dismissing_a_running_job_takes_it_from_its_holder(service: Service, leases: Leases) -> None:
    """Who sees it, and stops; nothing it still says counts."""
    wanted = request()
    service.jobs.submit(wanted)
    claim = claimed(leases, wanted.id)
    assert leases.holds(claim)

    service.jobs.dismiss(wanted.id)

    assert not leases.holds(claim)
    assert not leases.beat(claim, 0.5, "half")


def test_the_backlog_counts_what_waits_and_runs(service: Service, leases: Leases) -> None:
    """By queue."""
    first, second = two_steps(), two_steps(job_class=JobClass.BULK)
    service.jobs.submit(first)
    service.jobs.submit(second)
    leases.claim(first.id, "token", "coding.interactive")

    backlog = service.jobs.backlog()

    assert backlog.running == 1
    assert {queue: count for queue, count in backlog.waiting.items() if count} == {"coding.bulk": 1}


def test_a_server_out_of_reach_is_a_refusal(service: Service, settings: Settings) -> None:
    """503, with a time to try again; never a library's own error."""
    from workers.queueing.service import connect

    lost = connect(settings.model_copy(update={"redis_url": "unix:///nowhere/server.sock"}))
    for ask in (lost.jobs.ping, lambda: lost.jobs.submit(request()), lambda: lost.jobs.jobs(JobFilter())):
        with pytest.raises(Refusal) as refusal:
            ask()
        assert _code(refusal) is ProblemCode.QUEUE_UNAVAILABLE
        assert refusal.value.retry_after_s
