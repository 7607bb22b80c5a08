"""The client, over real connections, against the application around stores in memory."""

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from api import client as client_module
from api.client import TriglyphClient
from schemas.jobs import JobStatus
from schemas.problems import ProblemCode, Refusal, problem
from tests.support.front_desk import FrontDesk, sign_inputs
from tests.support.served import served


@pytest.fixture
def desk(tmp_path: Path) -> FrontDesk:
    """The application around stores in memory, its files on the disk."""
    return FrontDesk(tmp_path)


@pytest.fixture
def client(desk: FrontDesk) -> Iterator[TriglyphClient]:
    """The client under test, over a real connection."""
    with served(desk.app) as address, TriglyphClient(address) as client:
        yield client


def test_local_files_are_uploaded_once(desk: FrontDesk, client: TriglyphClient, tmp_path: Path) -> None:
    """Links in the request become hrefs of uploads; the same file is sent once."""
    (tmp_path / "tern.svg").write_text("<svg/>")
    inputs = sign_inputs() | {"art": [{"svg": {"href": "tern.svg"}}, {"svg": {"href": "tern.svg"}}]}

    job = client.submit("sign", inputs, folder=tmp_path)

    steps = desk.jobs.requests[job.jobID].steps
    hrefs = {step.inputs["image"]["href"] for step in steps if step.process == "tracing"}
    assert len(hrefs) == 1
    assert hrefs.pop().startswith("/artifacts/sha256:")
    assert len(desk.files.records) == 1


def test_a_missing_file_is_refused_before_anything_is_sent(
    desk: FrontDesk, client: TriglyphClient, tmp_path: Path
) -> None:
    """With the place of the link."""
    inputs = sign_inputs() | {"art": [{"svg": {"href": "turn.svg"}}]}

    with pytest.raises(Refusal) as refused:
        client.submit("sign", inputs, folder=tmp_path)

    assert refused.value.document.errors[0].pointer == "/inputs/art/0/svg/href"
    assert desk.jobs.records == {}


def test_a_refusal_carries_the_problem(client: TriglyphClient) -> None:
    """What the service says arrives whole."""
    with pytest.raises(Refusal) as refused:
        client.submit("sign", {})

    assert refused.value.document.code is ProblemCode.REQUEST_REFUSED
    assert [error.pointer for error in refused.value.document.errors] == ["/inputs/board", "/inputs/incise"]


def test_following_sees_each_change_until_the_end(desk: FrontDesk, client: TriglyphClient) -> None:
    """Live, over server-sent events."""
    job = client.submit("echo", {}).jobID
    updates = ((update.status, update.progress) for update in client.follow(job))

    assert next(updates) == (JobStatus.ACCEPTED, 0)
    for progress in (20, 60):
        desk.jobs.start(job, progress, f"at {progress}")
        assert next(updates) == (JobStatus.RUNNING, progress)
    desk.jobs.finish(job, {})
    assert list(updates) == [(JobStatus.SUCCESSFUL, 100)]


def test_following_goes_on_after_a_lost_connection(desk: FrontDesk) -> None:
    """The service restarts in between: the stream is resumed, no change is seen twice."""
    job = desk.jobs
    with served(desk.app) as address, TriglyphClient(address) as client:
        started = client.submit("echo", {}).jobID
        updates = client.follow(started)
        next(updates)
        job.start(started, 30)
        assert next(updates).progress == 30
        job.cut.set()  # the stream ends without the job's end
        assert job.was_cut.wait(20)
        job.start(started, 60)
        assert next(updates).progress == 60  # the state as a whole
        job.finish(started, {})

        assert [update.progress for update in updates] == [60, 100]  # what was missed, then the end


def test_following_falls_back_to_asking(desk: FrontDesk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where streams are not to be had, the state is asked for again and again."""
    monkeypatch.setattr(client_module, "_POLL_S", 0.01)
    with served(desk.app) as address, TriglyphClient(address) as client:
        job = client.submit("echo", {}).jobID
        desk.app.state.open_streams = 10**6
        desk.jobs.finish(job, {})

        assert [update.status for update in client.follow(job)] == [JobStatus.SUCCESSFUL]


def test_a_submission_whose_answer_got_lost_is_sent_again_as_the_same(desk: FrontDesk) -> None:
    """The connection breaks after the service has accepted: one job, and the client learns of it."""

    class Flaky(httpx.HTTPTransport):
        broken = 1

        def handle_request(self, request: httpx.Request) -> httpx.Response:
            response = super().handle_request(request)
            if request.method == "POST" and Flaky.broken:
                Flaky.broken -= 1
                response.close()
                raise httpx.ReadError("the answer got lost")
            return response

    with (
        served(desk.app) as address,
        httpx.Client(base_url=address, transport=Flaky()) as http,
    ):
        job = TriglyphClient(address, http=http).submit("echo", {})

    assert list(desk.jobs.records) == [job.jobID]


def test_all_results_are_fetched_under_their_names(
    desk: FrontDesk, client: TriglyphClient, tmp_path: Path
) -> None:
    """Programs lie in their folder, and the rest under the names of the contract."""
    job = client.submit("sign", sign_inputs()).jobID
    outputs = {
        name: desk.files.put([content], owner="local", media_type="text/plain").digest
        for name, content in {
            "programs/01-incise-vee-90.ngc": b"G21",
            "proof": b"{}",
            "preview": b"PNG",
        }.items()
    }
    desk.jobs.finish(job, outputs)

    files, why = client.download_all(job, tmp_path / "out")

    assert why is None
    assert (tmp_path / "out/programs/01-incise-vee-90.ngc").read_bytes() == b"G21"
    assert files["proof"] == tmp_path / "out/proof.json"
    assert files["preview"].read_bytes() == b"PNG"


def test_a_failed_job_gives_its_reports_and_its_reason(
    desk: FrontDesk, client: TriglyphClient, tmp_path: Path
) -> None:
    """The proof that failed is there to be read; the reason is the job's own."""
    job = client.submit("sign", sign_inputs()).jobID
    digest = desk.files.put([b"{}"], owner="local", media_type="application/json").digest
    desk.jobs.fail(
        job, problem(ProblemCode.PROOF_FAILED, "overcut", remedy="Take a finer bit."), {"proof": digest}
    )

    files, why = client.download_all(job, tmp_path / "out")

    assert list(files) == ["proof"]
    assert why is not None
    assert why.code is ProblemCode.PROOF_FAILED


def test_no_service_is_told_as_such() -> None:
    """Nothing listens at port 1: the client says so, and how to start one."""
    with TriglyphClient("http://127.0.0.1:1") as client, pytest.raises(Refusal) as refused:
        client.processes()

    assert refused.value.document.code is ProblemCode.QUEUE_UNAVAILABLE
    assert "triglyph serve" in refused.value.document.remedy


def test_jobs_are_listed_and_dismissed(client: TriglyphClient) -> None:
    """The list is newest first; a dismissed job says so."""
    first, second = client.submit("echo", {}).jobID, client.submit("echo", {}).jobID

    assert client.dismiss(first).status is JobStatus.DISMISSED
    assert [(job.jobID, job.status) for job in client.jobs()] == [
        (second, JobStatus.ACCEPTED),
        (first, JobStatus.DISMISSED),
    ]
    assert [job.jobID for job in client.jobs(status=JobStatus.ACCEPTED)] == [second]


def test_what_is_offered_can_be_asked(client: TriglyphClient) -> None:
    """Processes and names, for a front end's choices."""
    assert "sign" in [process["id"] for process in client.processes()]
    assert client.capabilities()["bits"][0]["name"] == "vee-90"
