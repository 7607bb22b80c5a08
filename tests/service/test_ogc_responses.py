"""Every kind of answer is valid under the schemas of OGC API - Processes 1.0, taken literally and mended.

Source: the standard's own schema components, beside the checkout (see tests/support/ogc_schemas.py).
"""

from typing import Any

import jsonschema
import pytest

from schemas.problems import ProblemCode, problem
from schemas.processes import OFFERED
from tests.support.front_desk import FrontDesk, InProcessClient, sign_inputs
from tests.support.ogc_schemas import check, needs_ogc_schemas

pytestmark = needs_ogc_schemas


def valid(document: Any, name: str) -> None:
    """Fail unless a document is valid both ways: as the schemas stand, and mended."""
    check(document, name)
    check(document, name, literal=True)


def test_the_schemas_can_refuse() -> None:
    """A state of our own invention is invalid, so these tests can fail."""
    with pytest.raises(jsonschema.ValidationError):
        check({"jobID": "1", "status": "queued", "type": "process"}, "statusInfo")


@pytest.mark.parametrize(
    ("path", "schema"),
    [
        ("/", "landingPage"),
        ("/conformance", "confClasses"),
        ("/processes", "processList"),
        ("/processes?limit=2", "processList"),
        ("/jobs", "jobList"),
    ],
)
def test_fixed_resources_are_valid(client: InProcessClient, path: str, schema: str) -> None:
    """Landing page, conformance and lists meet their schemas."""
    answer = client.get(path)

    assert answer.status_code == 200
    valid(answer.json(), schema)


@pytest.mark.parametrize("process", sorted(OFFERED))
def test_descriptions_are_valid(client: InProcessClient, process: str) -> None:
    """Every process's description meets the schema, and its inputs lead to schemas that are served."""
    answer = client.get(f"/processes/{process}")

    valid(answer.json(), "process")
    for described in answer.json()["inputs"].values():
        address, _, fragment = described["schema"]["$ref"].partition("#/properties/")
        assert fragment in client.get(address).json()["properties"]


def test_states_of_a_job_are_valid(desk: FrontDesk, client: InProcessClient) -> None:
    """Accepted, running, successful and dismissed states and the list of them are valid."""
    accepted = client.execute("sign", sign_inputs())
    job = accepted.json()["jobID"]
    states = [accepted.json()]
    desk.jobs.start(job, 40, "tracing")
    states.append(client.get(f"/jobs/{job}").json())
    desk.jobs.finish(job, {})
    states.append(client.get(f"/jobs/{job}").json())
    valid(client.get("/jobs").json(), "jobList")
    states.append(client.delete(f"/jobs/{job}").json())

    assert [state["status"] for state in states] == ["accepted", "running", "successful", "dismissed"]
    for state in states:
        valid(state, "statusInfo")


def test_a_failed_job_and_its_problem_are_valid(desk: FrontDesk, client: InProcessClient) -> None:
    """The state of a failed job is valid, and so is what its results answer."""
    job = client.execute("sign", sign_inputs()).json()["jobID"]
    desk.jobs.fail(job, problem(ProblemCode.NOT_CUTTABLE, "two strokes are lost", remedy="Take a finer bit."))

    valid(client.get(f"/jobs/{job}").json(), "statusInfo")
    valid(client.get(f"/jobs/{job}/results").json(), "exception")


def test_results_are_valid(desk: FrontDesk, client: InProcessClient) -> None:
    """A results document is links only, which both readings of the schema take."""
    job = client.execute("sign", sign_inputs()).json()["jobID"]
    digest = desk.files.put([b"G21"], owner="local", media_type="text/x-rs274").digest
    desk.jobs.finish(job, {"programs/01-incise-vee-90.ngc": digest, "proof": digest})

    valid(client.get(f"/jobs/{job}/results").json(), "results")


@pytest.mark.parametrize(
    "answer",
    [
        lambda client: client.get("/nowhere"),
        lambda client: client.get("/jobs/nobody"),
        lambda client: client.get("/processes/nothing"),
        lambda client: client.get("/jobs?limit=0"),
        lambda client: client.execute("sign", {}),
        lambda client: client.request("PUT", "/jobs"),
        lambda client: client.post("/processes/sign/execution", content=b"{"),
    ],
)
def test_errors_are_valid(client: InProcessClient, answer: Any) -> None:
    """Every error is an exception document of the standard, in the media type of RFC 9457."""
    error = answer(client)

    assert error.headers["content-type"] == "application/problem+json"
    valid(error.json(), "exception")


def test_our_requests_are_valid_execute_documents() -> None:
    """What a client of ours sends is an execute request of the standard."""
    check({"inputs": {"message": "hello", "pause": 0.5}, "response": "document"}, "execute")
