"""Jobs and their results over HTTP, beyond what the job standard's abstract tests ask."""

import pytest

from schemas.problems import ProblemCode, problem
from tests.support.front_desk import FrontDesk, InProcessClient, sign_inputs


def stored(desk: FrontDesk, content: bytes) -> str:
    """The digest of a file that a step left."""
    return desk.files.put([content], owner="local", media_type="text/plain").digest


def test_a_program_is_fetched_by_its_own_name(desk: FrontDesk, client: InProcessClient) -> None:
    """A name with a folder leads to the bytes; saved, it has the name of the program alone."""
    job = client.execute("sign", sign_inputs()).json()["jobID"]
    desk.jobs.finish(job, {"programs/01-incise-vee-90.ngc": stored(desk, b"G21")})

    answer = client.get(f"/jobs/{job}/results/programs/01-incise-vee-90.ngc")

    assert answer.content == b"G21"
    assert answer.headers["content-type"].startswith("text/x-rs274")
    assert answer.headers["content-disposition"] == 'attachment; filename="01-incise-vee-90.ngc"'


def test_an_unknown_output_names_those_there_are(desk: FrontDesk, client: InProcessClient) -> None:
    """The remedy is the list."""
    job = client.execute("echo", {}).json()["jobID"]
    desk.jobs.finish(job, {"message": stored(desk, b"hello")})

    answer = client.get(f"/jobs/{job}/results/massage")

    assert (answer.status_code, answer.json()["code"]) == (404, "no-such-output")
    assert "message" in answer.json()["remedy"]


def test_results_can_be_narrowed(desk: FrontDesk, client: InProcessClient) -> None:
    """The 2.0 draft's 'outputs' parameter, by repetition or with commas."""
    job = client.execute("sign", sign_inputs()).json()["jobID"]
    digest = stored(desk, b"x")
    desk.jobs.finish(job, {"proof": digest, "preview": digest, "bundle": digest})

    assert list(client.get(f"/jobs/{job}/results?outputs=proof,bundle").json()) == ["proof", "bundle"]
    assert list(client.get(f"/jobs/{job}/results?outputs=proof&outputs=preview").json()) == [
        "proof",
        "preview",
    ]


def test_reports_of_a_failed_job_can_be_read(desk: FrontDesk, client: InProcessClient) -> None:
    """The problem links to them, and they are there; what is not there answers the problem again."""
    job = client.execute("sign", sign_inputs()).json()["jobID"]
    why = problem(ProblemCode.PROOF_FAILED, "overcut by 0.4 mm", remedy="Take a finer bit.")
    desk.jobs.fail(job, why, {"proof": stored(desk, b"{}")})

    answer = client.get(f"/jobs/{job}/results")

    assert (answer.status_code, answer.json()["detail"]) == (422, "overcut by 0.4 mm")
    assert client.get(answer.json()["reports"]["proof"]["href"]).content == b"{}"
    assert client.get(f"/jobs/{job}/results/proof").content == b"{}"
    assert client.get(f"/jobs/{job}/results/bundle").json()["code"] == "proof-failed"


def test_an_output_can_be_the_input_of_another_job(desk: FrontDesk, client: InProcessClient) -> None:
    """The href of a result is taken where a link is asked for."""
    job = client.execute("sign", sign_inputs()).json()["jobID"]
    desk.jobs.finish(job, {"art": stored(desk, b"<svg/>")})
    href = client.get(f"/jobs/{job}/results").json()["art"]["href"]

    answer = client.execute("tracing", {"image": {"href": href}})

    assert answer.status_code == 201


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("status=lost", "/query/status"),
        ("datetime=yesterday", "/query/datetime"),
        ("datetime=2026-11-25T07:00:00", "/query/datetime"),
        ("datetime=../..x", "/query/datetime"),
        ("limit=0", "/query/limit"),
        ("limit=many", "/query/limit"),
        ("minDuration=-1", "/query/minDuration"),
        ("maxDuration=NaN", "/query/maxDuration"),
        ("after=garbage", "/query/after"),
    ],
)
def test_a_filter_that_cannot_be_read_is_told(client: InProcessClient, query: str, pointer: str) -> None:
    """Each one by its name, with what to write."""
    answer = client.get(f"/jobs?{query}")

    assert answer.status_code == 422
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]
    assert answer.json()["remedy"]


def test_open_intervals_are_open(client: InProcessClient) -> None:
    """OGC API - Common: '..' or nothing leaves an end open; both open filters nothing."""
    client.execute("echo", {})

    for interval in ("../..", "/", "2000-01-01T00:00:00Z/..", "/2100-01-01T00:00:00%2B01:00"):
        assert len(client.get(f"/jobs?datetime={interval}").json()["jobs"]) == 1


def test_listings_say_what_is_offered(client: InProcessClient) -> None:
    """One address for each kind of name, and one for all."""
    everything = client.get("/capabilities").json()

    for kind in ("bits", "materials", "machines", "fonts", "dialects", "patterns"):
        assert client.get(f"/{kind}").json()[kind] == everything[kind] != []
