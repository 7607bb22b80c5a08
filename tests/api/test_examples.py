"""Whoever has only the definition finds a request of each process that is accepted, and how to go on."""

import pytest

from api.examples import EXAMPLES
from api.offer_checks import check_offers
from api.request_checks import validated_inputs
from schemas.processes import OFFERED
from tests.support.front_desk import FrontDesk
from workers.pipeline.capabilities import capabilities


@pytest.mark.parametrize("process", OFFERED)
def test_the_example_of_each_process_would_be_accepted(process: str) -> None:
    """But for its files, which nobody uploaded."""
    validated = validated_inputs(OFFERED[process].inputs, EXAMPLES[process])

    check_offers(validated.model_dump(mode="json", exclude_none=True), capabilities())


def test_the_definition_shows_an_example_and_the_schema_of_each_body() -> None:
    """OpenAPI 3.1, media type object: 'example' beside 'schema'."""
    paths = FrontDesk().client().get("/api").json()["paths"]

    for process in OFFERED:
        body = paths[f"/processes/{process}/execution"]["post"]["requestBody"]["content"]["application/json"]
        assert body["example"] == {"inputs": EXAMPLES[process]}
        assert body["schema"]["$ref"].endswith("Execution")


def test_the_definition_says_how_a_sign_is_made_and_what_to_heed() -> None:
    """The addresses that it names are among its paths."""
    definition = FrontDesk().client().get("/api").json()
    said = definition["info"]["description"]

    assert "/processes/sign/execution" in said
    assert "hydrogen chloride" in said
    assert {"/artifacts", "/processes/sign/execution", "/jobs/{job_id}/events", "/bits"} <= set(
        definition["paths"]
    )


def test_a_wrong_address_is_told_where_the_definition_is() -> None:
    """Whoever looks at the usual places finds it."""
    for address in ("/openapi.json", "/docs"):
        answer = FrontDesk().client().get(address)
        assert answer.status_code == 404
        assert "/api" in answer.json()["remedy"]
