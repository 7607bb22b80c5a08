"""Starting jobs: one typed route for each process offered."""

import hashlib
import json
import uuid
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Header, Query, Request, Response
from pydantic import Field, create_model
from starlette.concurrency import run_in_threadpool

from api.access import Caller, allowed
from api.desk import AtDesk, Desk
from api.examples import EXAMPLES
from api.keys import Right
from api.offer_checks import check_offers
from api.preferences import preferences, wait_s
from api.problem_responses import problems, refused, request_problem
from api.request_checks import check_links
from api.routes.processes import no_such_process
from api.subscribers import check_subscriber
from api.web_links import at, with_links
from schemas.base import WireModel
from schemas.job_records import Accepted, JobRequest, Subscriber
from schemas.jobs import JobClass, StatusInfo
from schemas.problems import FieldError, ProblemCode, Refusal
from schemas.processes import OFFERED, PROGRAM_FOLDER, Process
from schemas.steps import steps_of

router = APIRouter(tags=["processes"])


class OutputWish(WireModel):
    """How one output is wanted; all are given by reference."""

    transmissionMode: Literal["reference"] = "reference"  # noqa: N815 - the standard's name


class Execution(WireModel):
    """The standard's execute request; each process has its own with typed ``inputs``."""

    inputs: Any
    outputs: Annotated[
        dict[str, OutputWish] | None,
        Field(description="which are wanted; all are made, and 'results?outputs=' lists some"),
    ] = None
    response: Annotated[Literal["document"], Field(description="results are a document of links")] = (
        "document"
    )
    subscriber: Annotated[Subscriber | None, Field(description="who is called when the job ends")] = None


def body_model(process: Process) -> type[Execution]:
    """Return the model of a process's execute request."""
    name = "".join(part.capitalize() for part in process.id.split("-")) + "Execution"
    return create_model(name, __base__=Execution, __doc__=process.description, inputs=(process.inputs, ...))


BODY_MODELS: dict[str, type[Execution]] = {
    f"/processes/{process.id}/execution": body_model(process) for process in OFFERED.values()
}


def _add_execution(process: Process) -> None:
    async def execute(
        request: Request,
        response: Response,
        desk: AtDesk,
        caller: Annotated[Caller, allowed(Right.SUBMIT)],
        body: Execution,
        job_class: Annotated[
            JobClass, Query(alias="class", description="bulk work lets interactive work go ahead")
        ] = JobClass.INTERACTIVE,
        idempotency_key: Annotated[
            str | None,
            Header(description="repeating a request with the same key answers the same job", max_length=200),
        ] = None,
        prefer: Annotated[
            list[str] | None, Header(description="respond-async; wait=SECONDS for the end, 30 at most")
        ] = None,
    ) -> StatusInfo:
        wanted = await run_in_threadpool(_checked, process, body, caller, job_class, desk)
        wanted = wanted.model_copy(update={"idempotency_key": _plain_key(idempotency_key)})
        accepted = await run_in_threadpool(desk.jobs.submit, wanted)
        return await _answer(request, response, desk, caller, accepted, preferences(prefer or []))

    path = f"/processes/{process.id}/execution"
    execute.__annotations__["body"] = BODY_MODELS[path]
    execute.__doc__ = process.description
    router.add_api_route(
        path,
        execute,
        methods=["POST"],
        status_code=201,
        summary=f"Start a job: {process.title}",
        name=f"execute_{process.id.replace('-', '_')}",
        responses=problems(400, 413, 415),
        response_model_exclude_none=True,
        response_description="The job was accepted; Location tells where it is.",
        openapi_extra={
            "requestBody": {"content": {"application/json": {"example": {"inputs": EXAMPLES[process.id]}}}}
        },
    )


for _process in OFFERED.values():
    _add_execution(_process)


@router.post("/processes/{process_id}/execution", include_in_schema=False)
def execute_unknown(process_id: str) -> None:
    """Answer for processes that are not offered."""
    raise no_such_process()


def _checked(
    process: Process, body: Execution, caller: Caller, job_class: JobClass, desk: Desk
) -> JobRequest:
    """Return the job of a request whose names, links and rights hold."""
    if job_class is JobClass.BULK:
        caller.require(Right.BULK)
    _check_outputs(process, body)
    plain = body.inputs.model_dump(mode="json", exclude_none=True)
    check_offers(plain, desk.capabilities)
    check_links(plain, desk.artifacts, caller.owner)
    if body.subscriber is not None:
        caller.require(Right.CALLBACKS)
        check_subscriber(body.subscriber, desk.settings.callback_host_list)
    asked = body.model_dump(mode="json", exclude_none=True) | {"process": process.id, "class": job_class}
    return JobRequest(
        id=str(uuid.uuid4()),
        process=process.id,
        owner=caller.owner,
        job_class=job_class,
        steps=steps_of(process.id, body.inputs),
        fingerprint=hashlib.sha256(json.dumps(asked, sort_keys=True).encode()).hexdigest(),
        subscriber=body.subscriber,
        queued_limit=caller.jobs_at_once,
    )


def _check_outputs(process: Process, body: Execution) -> None:
    """Refuse outputs that the process does not have."""
    errors = [
        FieldError(
            pointer="/outputs/" + name.replace("~", "~0").replace("/", "~1"),
            detail="this process has no such output",
            remedy=f"The outputs are: {', '.join(process.outputs)}.",
        )
        for name in body.outputs or {}
        if name not in process.outputs and not name.startswith(PROGRAM_FOLDER)
    ]
    if errors:
        raise Refusal(request_problem(errors))


def _plain_key(given: str | None) -> str | None:
    """Return an idempotency key without the quotes of a structured field."""
    if given is None:
        return None
    key = given.strip().strip('"')
    if not key or not key.isascii() or not key.isprintable():
        raise refused(
            ProblemCode.REQUEST_REFUSED,
            "the idempotency key is no plain text",
            "Send 1 to 200 printable ASCII characters; a random UUID is best.",
            pointer="/header/idempotency-key",
        )
    return key


async def _answer(
    request: Request,
    response: Response,
    desk: Desk,
    caller: Caller,
    accepted: Accepted,
    wishes: dict[str, str],
) -> StatusInfo:
    """Return the job's state, after the wait that the client wished for."""
    job = accepted.job
    longest_s = wait_s(wishes, desk.settings.max_wait_s)
    honoured = ["respond-async"] if "respond-async" in wishes else []
    if longest_s:
        honoured.append(f"wait={longest_s:.0f}")
        await desk.feed.wait(job.status.jobID, longest_s)
        job = await run_in_threadpool(desk.jobs.job, job.status.jobID, caller.owner)
    if honoured:
        response.headers["Preference-Applied"] = ", ".join(honoured)
    if accepted.replayed:
        response.headers["Idempotency-Replayed"] = "true"
    response.headers["Location"] = at(request, f"/jobs/{job.status.jobID}")
    return with_links(request, job.status)
