"""Jobs: the list, one job, and stopping it."""

from datetime import datetime
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request

from api.access import Caller, allowed
from api.desk import AtDesk
from api.keys import Right
from api.problem_responses import problems, refused
from api.web_links import link, with_links
from schemas.base import WireModel
from schemas.job_records import JobFilter
from schemas.jobs import JobStatus, StatusInfo, WebLink
from schemas.problems import ProblemCode, Refusal

router = APIRouter(prefix="/jobs", tags=["jobs"])


class JobList(WireModel):
    """A page of jobs, newest first."""

    jobs: list[StatusInfo]
    links: list[WebLink]


@router.get("", summary="The jobs", response_model_exclude_none=True)
def job_list(
    request: Request,
    desk: AtDesk,
    caller: Annotated[Caller, allowed(Right.READ_JOBS)],
    type_: Annotated[list[str] | None, Query(alias="type", description="only 'process' exists")] = None,
    processes: Annotated[list[str] | None, Query(alias="processID", description="only of these")] = None,
    statuses: Annotated[list[str] | None, Query(alias="status", description="only in these states")] = None,
    created: Annotated[
        str | None,
        Query(alias="datetime", description="made at an instant, or in an interval 'from/to', '..' for open"),
    ] = None,
    min_duration_s: Annotated[float | None, Query(alias="minDuration", ge=0, allow_inf_nan=False)] = None,
    max_duration_s: Annotated[float | None, Query(alias="maxDuration", ge=0, allow_inf_nan=False)] = None,
    limit: Annotated[int, Query(ge=1, le=1000)] = 10,
    after: Annotated[str | None, Query(max_length=200, description="from the 'next' link")] = None,
) -> JobList:
    """Return the caller's jobs that match every filter."""
    created_from, created_to = _interval(created)
    wanted = JobFilter(
        owner=caller.owner,
        processes=_parts(processes),
        statuses=_statuses(statuses),
        created_from=created_from,
        created_to=created_to,
        min_duration_s=min_duration_s,
        max_duration_s=max_duration_s,
        limit=limit,
        after=after,
    )
    links = [link(request, "/jobs", "self", "these jobs")]
    if type_ and "process" not in _parts(type_):
        return JobList(jobs=[], links=links)
    try:
        page = desk.jobs.jobs(wanted)
    except ValueError:
        raise _unreadable("after", "no page begins there", "Take it from a 'next' link.") from None
    if page.next is not None:
        again = [(key, value) for key, value in request.query_params.multi_items() if key != "after"]
        links.append(
            link(request, "/jobs?" + urlencode([*again, ("after", page.next)]), "next", "older jobs")
        )
    return JobList(jobs=[with_links(request, job.status) for job in page.jobs], links=links)


@router.get("/{job_id}", summary="One job", response_model_exclude_none=True, responses=problems(404, 410))
def job_status(
    request: Request, desk: AtDesk, caller: Annotated[Caller, allowed(Right.READ_JOBS)], job_id: str
) -> StatusInfo:
    """Return how far the job is; a failed one says why under ``exception``."""
    return with_links(request, desk.jobs.job(job_id, caller.owner).status)


@router.delete(
    "/{job_id}",
    summary="Stop a job, or erase one that has ended",
    response_model_exclude_none=True,
    responses=problems(404, 410),
)
def dismiss(
    request: Request, desk: AtDesk, caller: Annotated[Caller, allowed(Right.DISMISS)], job_id: str
) -> StatusInfo:
    """Dismiss the job; asked again, the answer is 410."""
    return with_links(request, desk.jobs.dismiss(job_id, caller.owner).status)


def _parts(given: list[str] | None) -> list[str]:
    """Return the entries of a list parameter, written by repetition or with commas."""
    return [part for entry in given or [] for part in entry.split(",") if part]


def _statuses(given: list[str] | None) -> list[JobStatus]:
    try:
        return [JobStatus(part) for part in _parts(given)]
    except ValueError:
        raise _unreadable(
            "status", "no such state of a job", f"Give some of: {', '.join(JobStatus)}."
        ) from None


def _interval(given: str | None) -> tuple[datetime | None, datetime | None]:
    """Return the two ends of a date-time parameter of the standard; an instant has two equal ends."""
    if given is None:
        return None, None
    start, slash, end = given.partition("/")
    try:
        first = None if start in ("", "..") else _instant(start)
        last = (None if end in ("", "..") else _instant(end)) if slash else first
    except ValueError:
        raise _unreadable(
            "datetime", "no date and time", "Write 2026-11-25T07:00:00Z, or an interval with '/' and '..'."
        ) from None
    return first, last


def _instant(text: str) -> datetime:
    instant = datetime.fromisoformat(text)
    if instant.tzinfo is None:
        raise ValueError("a time without its zone")
    return instant


def _unreadable(parameter: str, detail: str, remedy: str) -> Refusal:
    return refused(ProblemCode.REQUEST_REFUSED, detail, remedy, pointer=f"/query/{parameter}")
