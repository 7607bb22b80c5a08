"""Starting jobs: what a client may wish for, and what repeating comes to."""

import asyncio
import threading
from typing import Any

import pytest

from api.preferences import preferences, wait_s
from schemas.jobs import JobClass
from tests.support.front_desk import FrontDesk, InProcessClient, sign_inputs


def test_a_repeated_key_answers_the_same_job(desk: FrontDesk, client: InProcessClient) -> None:
    """draft-ietf-httpapi-idempotency-key-header-07: the answer is repeated, no second job is made."""
    headers = {"Idempotency-Key": '"8e03978e-40d5-43dd-bc93-6894a57f9324"'}

    first = client.execute("sign", sign_inputs(), headers=headers)
    again = client.execute("sign", sign_inputs(), headers=headers)

    assert first.headers["location"] == again.headers["location"]
    assert (first.status_code, again.status_code) == (201, 201)
    assert "idempotency-replayed" not in first.headers
    assert again.headers["idempotency-replayed"] == "true"
    assert len(desk.jobs.records) == 1


def test_the_same_key_on_another_request_is_refused(client: InProcessClient) -> None:
    """The draft, 2.7: another payload under the same key is answered 422."""
    headers = {"Idempotency-Key": "one"}
    client.execute("echo", {"message": "a"}, headers=headers)

    answer = client.execute("echo", {"message": "b"}, headers=headers)

    assert (answer.status_code, answer.json()["code"]) == (422, "idempotency-conflict")


def test_the_same_request_written_otherwise_is_the_same(client: InProcessClient) -> None:
    """The fingerprint is of what was understood: 3/4 in is 19.05 mm, and defaults may be left out."""
    headers = {"Idempotency-Key": "one"}
    inputs = sign_inputs()
    client.execute("sign", inputs, headers=headers)
    inputs["board"]["thickness"] = 19.05
    inputs["machine"] = "bench-600"

    assert client.execute("sign", inputs, headers=headers).headers["idempotency-replayed"] == "true"


@pytest.mark.parametrize("key", ["", '""', "\x7f", "é"])
def test_a_key_that_is_no_plain_text_is_refused(client: InProcessClient, key: str) -> None:
    """An empty key would make all requests one."""
    answer = client.execute("echo", {}, headers={"Idempotency-Key": key.encode("latin-1")})

    assert answer.status_code == 422


def test_waiting_shows_the_end(desk: FrontDesk, client: InProcessClient) -> None:
    """RFC 7240, 4.3: with 'wait' the answer is held until the job has ended; Preference-Applied says so."""

    def work() -> None:
        assert desk.jobs.accepted.wait(20)
        desk.jobs.finish(next(iter(desk.jobs.records)), {})

    threading.Thread(target=work).start()
    answer = client.execute("echo", {}, headers={"Prefer": "respond-async, wait=20"})

    assert answer.status_code == 201
    assert answer.json()["status"] == "successful"
    assert answer.headers["preference-applied"] == "respond-async, wait=20"


def test_waiting_is_capped() -> None:
    """The operator's cap counts, and the answer tells what was honoured."""
    answer = FrontDesk(max_wait_s=0.02).client().execute("echo", {}, headers={"Prefer": "wait=600"})

    assert answer.json()["status"] == "accepted"
    assert answer.headers["preference-applied"] == "wait=0"


def test_wishes_of_several_lines_are_one_list() -> None:
    """RFC 7240, 2: several fields are one list, the first of a repeated wish counts, case does not."""
    wishes = preferences(['Respond-Async; foo="a"', "WAIT = 10 , wait=20", 'x="y"', ",,"])

    assert wishes == {"respond-async": "", "wait": "10", "x": "y"}
    assert wait_s(wishes, 30.0) == 10.0


@pytest.mark.parametrize("wish", ["", "-1", "1.5", "²", "9" * 40, "ten"])
def test_a_wait_that_is_no_number_is_ignored(wish: str) -> None:
    """RFC 7240, 2: what is not understood is ignored, never an error."""
    assert wait_s({"wait": wish}, 30.0) == 0.0


def test_bulk_work_is_marked(desk: FrontDesk, client: InProcessClient) -> None:
    """The class of a job comes from the address; interactive is the rule."""
    client.post("/processes/echo/execution?class=bulk", json={"inputs": {}})
    client.execute("echo", {})

    assert [job.job_class for job in desk.jobs.records.values()] == [JobClass.BULK, JobClass.INTERACTIVE]


def test_unknown_outputs_are_refused(client: InProcessClient) -> None:
    """Asking for an output that the process does not have is a fault at that place."""
    body: dict[str, Any] = {"inputs": sign_inputs(), "outputs": {"proof": {}, "prof": {}}}

    answer = client.post("/processes/sign/execution", json=body)

    assert [error["pointer"] for error in answer.json()["errors"]] == ["/outputs/prof"]


def test_calling_back_is_refused_where_it_is_not_offered(client: InProcessClient) -> None:
    """No installation calls an address that its operator did not list."""
    body = {"inputs": {}, "subscriber": {"successUri": "https://example.org/done"}}

    answer = client.post("/processes/echo/execution", json=body)

    assert answer.json()["code"] == "link-refused"
    assert answer.json()["errors"][0]["pointer"] == "/subscriber/successUri"


def test_a_queued_job_has_its_steps(client: InProcessClient) -> None:
    """The steps of a sign are seen from the start, in the order of the work."""
    steps = client.execute("sign", sign_inputs()).json()["steps"]

    assert [step["process"] for step in steps] == [
        "layout",
        "resolvability",
        "toolpaths",
        "machine-code",
        "verification",
        "bundle",
    ]


def test_jobs_have_ids_nobody_can_guess(client: InProcessClient) -> None:
    """The job standard, clause 7.11: random UUIDs (RFC 9562, version 4)."""
    job = client.execute("echo", {}).json()["jobID"]

    assert job[14] == "4" and len(job) == 36  # noqa: PT018 - one fact


def test_a_prefix_of_a_proxy_is_kept_in_links(desk: FrontDesk) -> None:
    """Behind a proxy that adds /signs, links and Location carry it."""
    import httpx

    async def execute() -> httpx.Response:
        transport = httpx.ASGITransport(desk.app, root_path="/signs", client=("127.0.0.1", 1))
        async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1") as http:
            return await http.post("/signs/processes/echo/execution", json={"inputs": {}})

    answer = asyncio.run(execute())

    assert answer.headers["location"].startswith("/signs/jobs/")
    assert {link["href"].startswith("/signs/") for link in answer.json()["links"]} == {True}
