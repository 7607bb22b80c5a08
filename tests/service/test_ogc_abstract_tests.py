"""The abstract tests of OGC API - Processes 1.0 (18-062r2, annex A), as far as they concern what we claim.

Each test names the identifier of the abstract test it is written from, below
http://www.opengis.net/spec/ogcapi-processes-1/1.0/conf/.
"""

from typing import Any

from schemas.problems import ProblemCode, problem
from tests.support.front_desk import FrontDesk, InProcessClient, sign_inputs

RELATIONS = "http://www.opengis.net/def/rel/ogc/1.0/"
EXCEPTIONS = "http://www.opengis.net/def/exceptions/ogcapi-processes-1/1.0/"
CONFORMANCE = "http://www.opengis.net/spec/ogcapi-processes-1/1.0/conf/"


def relations(document: Any) -> dict[str, str]:
    """The links of a document by their relation."""
    return {link["rel"]: link["href"] for link in document["links"]}


def echo(client: InProcessClient, **more: Any) -> Any:
    """The answer to an order for an echo."""
    return client.execute("echo", {"message": "hello"}, **more)


def test_the_landing_page_leads_on(client: InProcessClient) -> None:
    """core/landingpage-success: links to the definition, the conformance and the processes, all there."""
    links = relations(client.get("/").json())

    for rel in ("service-desc", RELATIONS + "conformance", RELATIONS + "processes", RELATIONS + "job-list"):
        assert client.get(links[rel]).status_code == 200


def test_the_definition_is_openapi(client: InProcessClient) -> None:
    """core/api-definition-success: the definition is what its media type says."""
    answer = client.get("/api")

    assert answer.headers["content-type"] == "application/vnd.oai.openapi+json;version=3.1"
    assert answer.json()["openapi"].startswith("3.1.")


def test_conformance_claims_are_those_of_the_standard(client: InProcessClient) -> None:
    """core/conformance-success."""
    claimed = client.get("/conformance").json()["conformsTo"]

    assert CONFORMANCE + "core" in claimed
    assert all(claim.startswith(CONFORMANCE) for claim in claimed)


def test_the_process_list_can_be_limited(client: InProcessClient) -> None:
    """core/pl-limit-response, pl-links: no more than the limit, and a way to the rest."""
    everything = [process["id"] for process in client.get("/processes?limit=10000").json()["processes"]]
    seen: list[str] = []
    path: str | None = "/processes?limit=4"
    while path:
        page = client.get(path).json()
        assert len(page["processes"]) <= 4
        seen += [process["id"] for process in page["processes"]]
        path = relations(page).get("next")

    assert seen == everything


def test_an_unknown_process_is_an_exception(client: InProcessClient) -> None:
    """core/process-exception-no-such-process, for the description and the execution."""
    for answer in (client.get("/processes/nothing"), client.execute("nothing", {})):
        assert answer.status_code == 404
        assert answer.json()["type"] == EXCEPTIONS + "no-such-process"


def test_a_job_is_created(client: InProcessClient) -> None:
    """core/process-execute-success-async: 201, Location, statusInfo; the job is there at once."""
    answer = echo(client, headers={"Prefer": "respond-async"})

    assert answer.status_code == 201
    assert answer.headers["preference-applied"] == "respond-async"
    assert client.get(answer.headers["location"]).json()["jobID"] == answer.json()["jobID"]
    assert answer.json()["processID"] == "echo"


def test_missing_inputs_are_refused(client: InProcessClient) -> None:
    """core/process-execute-inputs: an execute request without what the description demands is refused."""
    assert client.execute("sign", {}).status_code == 422


def test_an_unknown_job_is_an_exception(client: InProcessClient) -> None:
    """core/job-exception-no-such-job and job-results-exception/no-such-job."""
    for path in ("/jobs/nobody", "/jobs/nobody/results", "/jobs/nobody/events"):
        answer = client.get(path)
        assert answer.status_code == 404
        assert answer.json()["type"] == EXCEPTIONS + "no-such-job"


def test_results_before_the_end_are_an_exception(client: InProcessClient) -> None:
    """core/job-results-exception-results-not-ready: 404 and the type of the standard."""
    answer = client.get(echo(client).headers["location"] + "/results")

    assert answer.status_code == 404
    assert answer.json()["type"] == EXCEPTIONS + "result-not-ready"


def test_results_of_a_failed_job_tell_why(desk: FrontDesk, client: InProcessClient) -> None:
    """core/job-results-failed: an error status and the reason; the same reason as in the job's state."""
    job = echo(client).json()["jobID"]
    why = problem(ProblemCode.LIMIT_EXCEEDED, "too large", remedy="Send less.")
    desk.jobs.fail(job, why)

    answer = client.get(f"/jobs/{job}/results")

    assert answer.status_code == why.status
    assert answer.json()["type"] == why.type == client.get(f"/jobs/{job}").json()["exception"]["type"]


def test_jobs_can_be_filtered(desk: FrontDesk, client: InProcessClient) -> None:
    """job-list/type, processID, status, datetime, duration, limit: each one narrows the list."""
    first, second, third = (echo(client).json()["jobID"] for _ in range(3))
    client.execute("sign", sign_inputs())
    desk.jobs.start(second)
    desk.jobs.start(third)
    desk.jobs.finish(third, {})
    made = client.get(f"/jobs/{second}").json()["created"]

    def found(query: str) -> set[str]:
        answer = client.get(f"/jobs?{query}")
        assert answer.status_code == 200, answer.text
        return {job["jobID"] for job in answer.json()["jobs"]}

    assert found("processID=echo") == {first, second, third}
    assert found("processID=echo&status=accepted") == {first}
    assert found("status=running,successful") == {second, third}
    assert found("status=running&status=successful") == {second, third}
    assert found("type=other") == set()
    assert found(f"datetime={made}") == {second}
    assert found(f"processID=echo&datetime=../{made}") == {first, second}
    assert found("minDuration=2") == {third}  # the clock in memory ticks a second a change
    assert found("maxDuration=1") == {second}
    assert len(found("limit=1")) == 1


def test_the_job_list_is_paged(client: InProcessClient) -> None:
    """job-list/links: following 'next' sees every job once, and keeps the filters."""
    jobs = {echo(client).json()["jobID"] for _ in range(5)}
    client.execute("sign", sign_inputs())
    seen: list[str] = []
    path: str | None = "/jobs?limit=2&processID=echo"
    while path:
        page = client.get(path).json()
        seen += [job["jobID"] for job in page["jobs"]]
        path = relations(page).get("next")

    assert sorted(seen) == sorted(jobs)


def test_a_job_can_be_dismissed(client: InProcessClient) -> None:
    """dismiss/job-dismiss-success and the security clause: 200 dismissed, afterwards 410."""
    job = echo(client).headers["location"]

    answer = client.delete(job)

    assert (answer.status_code, answer.json()["status"]) == (200, "dismissed")
    assert client.delete(job).status_code == 410
    assert client.get(job + "/results").status_code == 410


def test_an_ended_job_can_be_erased(desk: FrontDesk, client: InProcessClient) -> None:
    """dismiss: an ended job is removed; then it is gone."""
    answer = echo(client)
    desk.jobs.finish(answer.json()["jobID"], {})

    assert client.delete(answer.headers["location"]).json()["status"] == "dismissed"
    assert client.get(answer.headers["location"]).status_code == 410
