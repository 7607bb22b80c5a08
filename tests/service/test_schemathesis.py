"""Requests made up from our own OpenAPI definition: no fault of ours, no answer that is not described.

Source of the cases: schemathesis, in-process over ASGI, with a fixed seed.
"""

import schemathesis
from hypothesis import HealthCheck, Phase, settings
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from tests.support.front_desk import FrontDesk

_desk = FrontDesk(allow_anyone=True)
_schema = schemathesis.openapi.from_asgi("/api", _desk.app)


@_schema.parametrize()
@settings(
    max_examples=8,
    derandomize=True,
    deadline=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)
def test_every_route_answers_as_described(case: schemathesis.Case) -> None:
    """No 5xx, no undocumented status or media type, bodies as their schemas say."""
    response = case.call()

    assert response.status_code < 500, response.text
    case.validate_response(
        response,
        checks=[status_code_conformance, content_type_conformance, response_schema_conformance],
    )
