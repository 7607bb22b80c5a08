"""What happens to a job, as it happens: server-sent events."""

import asyncio
import re
from collections.abc import AsyncIterator, Iterator
from contextlib import contextmanager
from typing import Annotated

from fastapi import APIRouter, Depends, Header, Request
from fastapi.sse import EventSourceResponse, ServerSentEvent

from api.access import Caller, allowed
from api.desk import AtDesk
from api.keys import Right
from api.problem_responses import problems
from api.web_links import with_links
from schemas.job_records import JobEvent, JobRecord
from schemas.jobs import StatusInfo
from schemas.problems import ProblemCode, Refusal, problem

router = APIRouter(tags=["jobs"])
_EVENT_ID = re.compile(r"([0-9]{1,20})-([0-9]{1,20})")
_PAST_ALL = 2**64  # the numbers of an event's id are below


def _job_of(desk: AtDesk, caller: Annotated[Caller, allowed(Right.READ_JOBS)], job_id: str) -> JobRecord:
    return desk.jobs.job(job_id, caller.owner)


def _one_stream_more(request: Request, desk: AtDesk) -> None:
    if request.app.state.open_streams >= desk.settings.max_event_streams:
        raise Refusal(
            problem(
                ProblemCode.QUOTA_EXCEEDED,
                "too many event streams are open",
                remedy="Ask for the job's state at /jobs/{id} instead, or close a stream.",
            ),
            retry_after_s=10,
        )


@router.get(
    "/jobs/{job_id}/events",
    summary="What happens to the job, as it happens",
    response_class=EventSourceResponse,
    responses=problems(404, 410),
    dependencies=[Depends(_one_stream_more)],
)
async def events(
    request: Request,
    desk: AtDesk,
    record: Annotated[JobRecord, Depends(_job_of)],
    last_event_id: Annotated[str | None, Header(max_length=64)] = None,
) -> AsyncIterator[ServerSentEvent]:
    """Send the job's state as ``snapshot``, then each change, until its end.

    A change's id is sent back as ``Last-Event-ID`` to go on after it, with no change lost or repeated.
    """
    after = last_event_id if _is_event_id(last_event_id or "") else None
    with _counted(request):
        snapshot = record.status
        links = with_links(request, snapshot).model_dump_json(exclude_none=True)
        yield ServerSentEvent(event="snapshot", raw_data=links, retry=1000)
        stopping: asyncio.Event = request.app.state.stopping
        async for event in _until(stopping, desk.feed.events(snapshot.jobID, after)):
            if event.is_last or after is not None or not _is_told(event, snapshot):
                yield ServerSentEvent(event=event.kind, id=event.id, raw_data=event.model_dump_json())


def _is_event_id(text: str) -> bool:
    numbers = _EVENT_ID.fullmatch(text)
    return numbers is not None and all(int(number) < _PAST_ALL for number in numbers.groups())


def _is_told(event: JobEvent, snapshot: StatusInfo) -> bool:
    """Return whether a state was taken after a change; within one millisecond, by what both say."""
    same = (event.status, event.progress, event.message) == (
        snapshot.status,
        snapshot.progress,
        snapshot.message,
    )
    return event.time < snapshot.updated or (event.time == snapshot.updated and same)


async def _until(stopping: asyncio.Event, source: AsyncIterator[JobEvent]) -> AsyncIterator[JobEvent]:
    """Yield what comes until the service stops, so that watchers do not hold it up; they reconnect later."""
    stop = asyncio.create_task(stopping.wait())
    try:
        while True:
            coming = asyncio.ensure_future(anext(source))
            try:
                await asyncio.wait({coming, stop}, return_when=asyncio.FIRST_COMPLETED)
            finally:
                if not coming.done():
                    coming.cancel()
            if not coming.done():
                return
            try:
                yield coming.result()
            except StopAsyncIteration:
                return
    finally:
        stop.cancel()


@contextmanager
def _counted(request: Request) -> Iterator[None]:
    request.app.state.open_streams += 1
    try:
        yield
    finally:
        request.app.state.open_streams -= 1
