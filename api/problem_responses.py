"""Every error leaves as an RFC 9457 problem document: ours, the framework's, and those nobody foresaw."""

import logging
from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect
from starlette.responses import Response

from api.field_errors import field_errors
from api.request_schema import schema_of
from schemas.problems import FieldError, Problem, ProblemCode, Refusal, problem

MEDIA_TYPE = "application/problem+json"
_LOG = logging.getLogger("triglyph.api")


def problems(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """Return the description of these error answers for the API's definition."""
    content = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
    return {status: {"description": HTTPStatus(status).phrase, "content": content} for status in statuses}


EVERYWHERE = (401, 403, 422, 429, 500, 503)  # a missing key, a store out of reach, and the like


def refused(code: ProblemCode, detail: str, remedy: str, *, pointer: str | None = None) -> Refusal:
    """Return what to raise to answer with a problem of this code."""
    errors = None if pointer is None else [FieldError(pointer=pointer, detail=detail, remedy=remedy)]
    return Refusal(problem(code, detail, remedy=remedy, errors=errors))


def request_problem(errors: Sequence[FieldError], code: ProblemCode = ProblemCode.REQUEST_REFUSED) -> Problem:
    """Return the problem of a request with these fields at fault; at least one."""
    first = errors[0]
    more = f" (and {len(errors) - 1} more, see 'errors')" if len(errors) > 1 else ""
    return problem(
        code,
        f"{first.pointer or 'the request'}: {first.detail}{more}",
        remedy=first.remedy,
        errors=list(errors),
    )


def problem_response(
    document: Problem, headers: Mapping[str, str] | None = None, instance: str | None = None
) -> Response:
    """Return the HTTP answer of a problem; text is escaped, so that no broken character can stop it."""
    if instance and document.instance is None:
        document = document.model_copy(update={"instance": instance})
    body = document.model_dump_json(exclude_none=True, ensure_ascii=True)
    return Response(body, status_code=document.status, headers=dict(headers or {}), media_type=MEDIA_TYPE)


def refusal_response(refusal: Refusal, instance: str) -> Response:
    """Return the HTTP answer of a refusal."""
    headers = {} if refusal.retry_after_s is None else {"Retry-After": str(refusal.retry_after_s)}
    if refusal.document.status == 401:
        headers["WWW-Authenticate"] = "Bearer"
    return problem_response(refusal.document, headers, instance)


def add_problem_handlers(app: FastAPI) -> None:
    """Make the app answer every error with a problem."""

    @app.exception_handler(HTTPException)
    async def on_http_error(request: Request, error: HTTPException) -> Response:
        return problem_response(_of_status(error, request), error.headers, request.url.path)

    @app.exception_handler(Refusal)
    async def on_refusal(request: Request, error: Refusal) -> Response:
        return refusal_response(error, request.url.path)

    @app.exception_handler(RequestValidationError)
    async def on_invalid_request(request: Request, error: RequestValidationError) -> Response:
        return problem_response(_of_validation(error, request), instance=request.url.path)

    @app.exception_handler(ClientDisconnect)
    async def on_disconnect(request: Request, error: ClientDisconnect) -> Response:
        return Response(status_code=400)  # nobody is there to read it

    @app.exception_handler(Exception)
    async def on_fault(request: Request, error: Exception) -> Response:
        _LOG.error("fault in %s %s", request.method, request.url.path, exc_info=error)
        document = problem(
            ProblemCode.INTERNAL_FAULT,
            "the service met a fault of its own while answering",
            remedy="Try again; if it stays, tell whoever runs this service when it happened.",
        )
        return problem_response(document, instance=request.url.path)


_OF_STATUS = {
    400: (ProblemCode.REQUEST_REFUSED, "the request cannot be read", "Send a body of JSON in UTF-8."),
    404: (
        ProblemCode.NOT_FOUND,
        "there is nothing at this address",
        "The landing page at / links to what there is; the definition of all of it (OpenAPI) is at /api.",
    ),
    405: (ProblemCode.METHOD_NOT_ALLOWED, "this address does not take {method}", "Use one of: {allow}."),
    413: (
        ProblemCode.BODY_TOO_LARGE,
        "{detail}",
        "Send less: a photo of 12 megapixels as JPEG is about 5 MB.",
    ),
    415: (ProblemCode.UNSUPPORTED_MEDIA_TYPE, "this kind of body is not taken here", "Send JSON."),
}


def _of_status(error: HTTPException, request: Request) -> Problem:
    code, detail, remedy = _OF_STATUS.get(
        error.status_code, (ProblemCode.REQUEST_REFUSED, str(error.detail), "Change the request.")
    )
    words = {
        "method": request.method,
        "allow": (error.headers or {}).get("Allow", "GET"),
        "detail": error.detail,
    }
    document = problem(code, detail.format(**words), remedy=remedy.format(**words))
    return document.model_copy(update={"status": error.status_code})


def _of_validation(error: RequestValidationError, request: Request) -> Problem:
    """Return the problem of a request that FastAPI could not validate."""
    found = error.errors()
    if found[0]["type"] == "json_invalid":
        return _unreadable_json(found[0])
    if isinstance(error.body, bytes):
        return problem(
            ProblemCode.UNSUPPORTED_MEDIA_TYPE,
            "the body is not marked as JSON",
            remedy="Send the header 'Content-Type: application/json'.",
        )
    in_body = [{**each, "loc": each["loc"][1:]} for each in found if each["loc"][0] == "body"]
    elsewhere = [each for each in found if each["loc"][0] != "body"]
    model = request.app.state.body_models.get(request.scope["route"].path)
    schema = schema_of(model) if model is not None else {}
    return request_problem(
        [
            *(told for each in elsewhere for told in field_errors([each], _tree(each), {})),
            *field_errors(in_body, error.body, schema),
        ]
    )


def _tree(found: Mapping[str, Any]) -> Any:
    """Return the value at fault at its place, for what is no part of a body: ``/query/limit``."""
    value = found["input"]
    for part in reversed(found["loc"][:-1] if found["type"] == "missing" else found["loc"]):
        value = {part: value}
    return value


def _unreadable_json(found: Mapping[str, Any]) -> Problem:
    document = problem(
        ProblemCode.REQUEST_REFUSED,
        f"the body is no JSON: {str(found['ctx']['error']).lower()} at character {found['loc'][-1]}",
        remedy="Look at the place named for a missing quote, comma or bracket.",
    )
    return document.model_copy(update={"status": 400})
