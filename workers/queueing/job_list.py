"""The job list: newest first, narrowed by the parameters of the standard."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

from schemas.job_records import JobFilter, JobPage, JobRecord
from schemas.jobs import JobStatus
from workers.queueing.job_fields import record_of

_CHUNK = 200


def list_jobs(server: Any, prefix: str, wanted: JobFilter) -> JobPage:
    """Return one page.

    Args:
        server: The client of the server.
        prefix: What every key begins with.
        wanted: What the list is narrowed to; its ``after`` is the ``next`` of the page before.
    """
    now = datetime.now(UTC)
    found: list[JobRecord] = []
    last = ""
    for place, record in _from_newest(server, prefix, wanted):
        if not _fits(record, wanted, now):
            continue
        if len(found) == wanted.limit:
            return JobPage(jobs=found, next=last)
        found.append(record)
        last = place
    return JobPage(jobs=found)


def _from_newest(server: Any, prefix: str, wanted: JobFilter) -> Iterator[tuple[str, JobRecord]]:
    index = f"{prefix}jobs" + (f":{wanted.owner}" if wanted.owner is not None else "")
    after_ms, _, after_id = (wanted.after or "").partition(":")
    newest = [_milliseconds(wanted.created_to)] if wanted.created_to else []
    newest += [int(after_ms)] if after_ms else []
    high: int | str = min(newest) if newest else "+inf"
    low: int | str = _milliseconds(wanted.created_from) if wanted.created_from else "-inf"
    start = 0
    while chunk := server.zrevrangebyscore(index, high, low, start=start, num=_CHUNK, withscores=True):
        start += len(chunk)
        places = [
            (int(created), job_id)
            for job_id, created in chunk
            if not after_ms or (int(created), job_id) < (int(after_ms), after_id)
        ]
        yield from _records(server, prefix, places)


def _records(server: Any, prefix: str, places: list[tuple[int, str]]) -> Iterator[tuple[str, JobRecord]]:
    pipe = server.pipeline(transaction=False)
    for _, job_id in places:
        pipe.hgetall(f"{prefix}job:{job_id}")
    for (created, job_id), fields in zip(places, pipe.execute(), strict=True):
        if fields:
            yield f"{created}:{job_id}", record_of(job_id, fields)


def _fits(record: JobRecord, wanted: JobFilter, now: datetime) -> bool:
    status = record.status
    if wanted.processes and status.processID not in wanted.processes:
        return False
    if wanted.statuses and status.status not in wanted.statuses:
        return False
    if wanted.min_duration_s is None and wanted.max_duration_s is None:
        return True
    if status.started is None or (not wanted.statuses and status.status is JobStatus.ACCEPTED):
        return False  # the standard: jobs without the data are left out
    duration_s = ((status.finished or now) - status.started).total_seconds()
    return (wanted.min_duration_s or 0.0) <= duration_s <= (wanted.max_duration_s or float("inf"))


def _milliseconds(time: datetime) -> int:
    return round(time.timestamp() * 1000)
