"""The processes offered, described; and the JSON Schemas of their inputs."""

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from pydantic.fields import FieldInfo

from api.problem_responses import problems, refused
from api.request_schema import schema_of
from api.web_links import OGC_RELATIONS, at, link
from schemas.base import WireModel
from schemas.jobs import WebLink
from schemas.problems import ProblemCode, Refusal
from schemas.processes import OFFERED, Output, Process

router = APIRouter(tags=["processes"])
SCHEMA_MEDIA_TYPE = "application/schema+json"
INPUT_MODELS: dict[str, type[WireModel]] = {
    process.inputs.__name__: process.inputs for process in OFFERED.values()
}


class ProcessSummary(WireModel):
    """A process in one paragraph."""

    id: str
    version: str
    title: str
    description: str
    jobControlOptions: list[str]  # noqa: N815 - the standard's names
    outputTransmission: list[str]  # noqa: N815
    links: list[WebLink]


class ProcessDescription(ProcessSummary):
    """A process with its inputs and outputs."""

    inputs: dict[str, dict[str, Any]]
    outputs: dict[str, dict[str, Any]]


class ProcessList(WireModel):
    """The processes offered."""

    processes: list[ProcessSummary]
    links: list[WebLink]


@router.get("/processes", summary="The processes offered", response_model_exclude_none=True)
def process_list(
    request: Request,
    limit: Annotated[int, Query(ge=1, le=10_000)] = 100,
    skip: Annotated[int, Query(ge=0, le=10_000, description="how many to leave out at the start")] = 0,
) -> ProcessList:
    """Return a page of processes, in the order of the work."""
    chosen = list(OFFERED.values())[skip : skip + limit]
    links = [link(request, "/processes", "self", "the processes offered")]
    if skip + limit < len(OFFERED):
        links.append(link(request, f"/processes?limit={limit}&skip={skip + limit}", "next", "more processes"))
    return ProcessList(
        processes=[ProcessSummary(**_summary(request, process)) for process in chosen], links=links
    )


@router.get(
    "/processes/{process_id}",
    summary="One process, described",
    response_model_exclude_none=True,
    responses=problems(404),
)
def process_description(request: Request, process_id: str) -> ProcessDescription:
    """Return a process with its inputs and outputs."""
    process = OFFERED.get(process_id)
    if process is None:
        raise no_such_process()
    return ProcessDescription(
        **_summary(request, process),
        inputs={
            name: _input(request, process, name, field) for name, field in process.inputs.model_fields.items()
        },
        outputs={name: _output(output) for name, output in process.outputs.items()},
    )


@router.get("/schemas/{name}", summary="The JSON Schema of a process's inputs", responses=problems(404))
def input_schema(name: str) -> dict[str, Any]:
    """Return a JSON Schema (2020-12), with all it refers to inside."""
    model = INPUT_MODELS.get(name)
    if model is None:
        raise refused(
            ProblemCode.NOT_FOUND,
            "there is no schema of this name",
            f"The names are: {', '.join(INPUT_MODELS)}.",
        )
    return {"$schema": "https://json-schema.org/draft/2020-12/schema"} | schema_of(model)


def no_such_process() -> Refusal:
    """Return what to raise for a process that is not offered."""
    return refused(
        ProblemCode.NO_SUCH_PROCESS,
        "no process of this name is offered",
        f"GET /processes lists them: {', '.join(OFFERED)}.",
    )


def _summary(request: Request, process: Process) -> dict[str, Any]:
    place = f"/processes/{process.id}"
    return {
        "id": process.id,
        "version": process.version,
        "title": process.title,
        "description": process.description,
        "jobControlOptions": ["async-execute", "dismiss"],
        "outputTransmission": ["reference"],
        "links": [
            link(request, place, "self", "described in full"),
            link(request, f"{place}/execution", OGC_RELATIONS + "execute", "start a job (POST)"),
            link(
                request,
                f"/schemas/{process.inputs.__name__}",
                "describedby",
                "the JSON Schema of its inputs",
                SCHEMA_MEDIA_TYPE,
            ),
        ],
    }


def _input(request: Request, process: Process, name: str, field: FieldInfo) -> dict[str, Any]:
    place = at(request, f"/schemas/{process.inputs.__name__}#/properties/{name}")
    return {
        "title": name.replace("_", " "),
        "description": field.description or "",
        "minOccurs": 1 if field.is_required() else 0,
        "schema": {"$ref": place},
    }


def _output(output: Output) -> dict[str, Any]:
    return {
        "title": output.title,
        "schema": {"type": "string", "contentMediaType": output.media_type, "format": "binary"},
    }
