"""What a job made: a document of links, or one output's bytes."""

from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from api.access import Caller, allowed
from api.desk import AtDesk, Desk
from api.file_responses import FILE_RESPONSES, file_response
from api.keys import Right
from api.problem_responses import problems, refused
from api.result_links import result_links
from api.web_links import at
from schemas.job_records import JobRecord
from schemas.jobs import JobStatus, Results
from schemas.problems import ProblemCode, Refusal, problem
from schemas.steps import Outputs, output_of

router = APIRouter(prefix="/jobs/{job_id}/results", tags=["jobs"])
Reader = Annotated[Caller, allowed(Right.READ_JOBS)]


@router.get(
    "",
    summary="Links to all that the job made",
    response_model_exclude_none=True,
    responses=problems(404, 410),
)
def results(
    request: Request,
    desk: AtDesk,
    caller: Reader,
    job_id: str,
    only: Annotated[
        list[str] | None, Query(alias="outputs", description="only these, by repetition or with commas")
    ] = None,
) -> Results:
    """Return one link for each output; the hrefs can be used as inputs of another job.

    A failed job answers its problem, with links to the reports it could still write under ``reports``.
    """
    record, outputs = _ended(desk, job_id, caller)
    wanted = {name for entry in only or [] for name in entry.split(",")} or set(outputs)
    outputs = {name: digest for name, digest in outputs.items() if name in wanted}
    links = result_links(at(request, ""), record, outputs)
    if record.status.status is JobStatus.FAILED:
        raise _failure(record, links)
    return links


@router.get(
    "/{output:path}",
    summary="One output",
    response_class=Response,
    responses=FILE_RESPONSES | problems(404, 410, 416),
)
def one_output(request: Request, desk: AtDesk, caller: Reader, job_id: str, output: str) -> Response:
    """Return the bytes of one output, by its name in the results; a failed job's reports too."""
    record, outputs = _ended(desk, job_id, caller)
    if output not in outputs:
        if record.status.status is JobStatus.FAILED:
            raise _failure(record, result_links(at(request, ""), record, outputs))
        raise refused(
            ProblemCode.NO_SUCH_OUTPUT,
            "the job has no output of this name",
            f"Its outputs are: {', '.join(outputs)}.",
        )
    described = output_of(record.status.processID, output)
    return file_response(
        request, desk.artifacts, outputs[output], record.owner, described.media_type, described.file
    )


def _ended(desk: Desk, job_id: str, caller: Caller) -> tuple[JobRecord, Outputs]:
    record = desk.jobs.job(job_id, caller.owner)
    status = record.status.status
    if status is JobStatus.DISMISSED:
        raise refused(
            ProblemCode.JOB_DISMISSED,
            "the job was dismissed",
            "Send the request again if it is wanted after all.",
        )
    if not status.is_final:
        raise Refusal(
            problem(
                ProblemCode.RESULT_NOT_READY,
                f"the job is {status.value} and {record.status.progress} % done",
                remedy=f"Follow it at /jobs/{job_id}/events, or ask again.",
            ),
            retry_after_s=1,
        )
    return record, desk.jobs.outputs(job_id, caller.owner)


def _failure(record: JobRecord, reports: Results) -> Refusal:
    """Return what to raise for a failed job: its own problem, with its reports."""
    document = record.status.exception or problem(
        ProblemCode.INTERNAL_FAULT, "the job failed and left no reason", remedy="Send it again."
    )
    links = {name: report.model_dump() for name, report in reports.items()}
    return Refusal(document.model_copy(update={"jobID": record.status.jobID, "reports": links}))
