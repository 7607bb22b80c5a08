"""Server-sent events: a snapshot, each change once, and an end."""

import json
from typing import Any

import httpx
import pytest

from api.event_stream import server_sent_events
from tests.support.front_desk import FrontDesk, InProcessClient


def ended_job(desk: FrontDesk, client: InProcessClient) -> str:
    """Return a job with the events accepted 1-0, running 2-0, 3-0, 4-0 and successful 5-0."""
    job: str = client.execute("echo", {}).json()["jobID"]
    for progress in (10, 50, 90):
        desk.jobs.start(job, progress, "writing\nlines")
    desk.jobs.finish(job, {})
    return job


def events(answer: httpx.Response) -> list[Any]:
    """What a stream says, event by event."""
    return list(server_sent_events(answer.text.splitlines()))


def test_a_stream_begins_with_the_state_and_ends_with_the_end(
    desk: FrontDesk, client: InProcessClient
) -> None:
    """Who comes late sees the state as a whole, then the last event, and the stream closes."""
    job = ended_job(desk, client)

    answer = client.get(f"/jobs/{job}/events")

    assert answer.headers["content-type"].startswith("text/event-stream")
    assert answer.headers["cache-control"] == "no-cache"
    assert [event.kind for event in events(answer)] == ["snapshot", "successful"]
    assert events(answer)[0].data == client.get(f"/jobs/{job}").json()


@pytest.mark.parametrize(
    ("last", "ids"),
    [("1-0", ["2-0", "3-0", "4-0", "5-0"]), ("4-0", ["5-0"]), ("3-0", ["4-0", "5-0"]), ("5-0", [])],
)
def test_a_stream_resumes_after_the_last_event_seen(
    desk: FrontDesk, client: InProcessClient, last: str, ids: list[str]
) -> None:
    """HTML standard, 9.2.3: with Last-Event-ID each later change comes once, none is repeated."""
    job = ended_job(desk, client)

    answer = client.get(f"/jobs/{job}/events", headers={"Last-Event-ID": last})

    assert [event.id for event in events(answer) if event.id] == ids


@pytest.mark.parametrize("last", ["garbage", "1", "-", "1-0; DROP", f"{2**64}-0"])
def test_an_id_that_is_none_starts_afresh(desk: FrontDesk, client: InProcessClient, last: str) -> None:
    """Nothing strange reaches the store."""
    job = ended_job(desk, client)

    answer = client.get(f"/jobs/{job}/events", headers={"Last-Event-ID": last})

    assert [event.kind for event in events(answer)] == ["snapshot", "successful"]


def test_changes_are_json_on_one_line(desk: FrontDesk, client: InProcessClient) -> None:
    """HTML standard, 9.2.6: a line break inside a value would end the field."""
    job = ended_job(desk, client)

    answer = client.get(f"/jobs/{job}/events", headers={"Last-Event-ID": "1-0"})

    change = next(event for event in events(answer) if event.id == "2-0")
    assert change.data["message"] == "writing\nlines"
    assert change.data["progress"] == 10


def test_too_many_streams_are_refused_with_a_way_out() -> None:
    """A cap, and the advice to ask for the state instead."""
    desk = FrontDesk(max_event_streams=1)
    job = ended_job(desk, desk.client())
    desk.app.state.open_streams = 1

    answer = desk.client().get(f"/jobs/{job}/events")

    assert answer.status_code == 429
    assert "/jobs/{id}" in answer.json()["remedy"]


def test_streams_are_counted_down_again(desk: FrontDesk, client: InProcessClient) -> None:
    """A stream that has ended makes room."""
    job = ended_job(desk, client)
    for _ in range(3):
        client.get(f"/jobs/{job}/events")

    assert desk.app.state.open_streams == 0


def test_streams_end_when_the_service_stops(desk: FrontDesk, client: InProcessClient) -> None:
    """A job that goes on does not hold up the stop; watchers reconnect later."""
    job = client.execute("echo", {}).json()["jobID"]
    desk.app.state.stopping.set()

    answer = client.get(f"/jobs/{job}/events")

    assert next(event.kind for event in events(answer)) == "snapshot"


def test_the_reader_keeps_to_the_rules_of_the_format() -> None:
    """HTML standard, 9.2.6: comments are passed over, data lines joined, an unfinished event dropped."""
    lines = [": ping", "", "data: {", 'data:"a": 1}', "id: 9-0", "unknown: x", "", "data: 1"]

    (event,) = server_sent_events(lines)

    assert (event.kind, event.id, event.data) == ("message", "9-0", json.loads('{"a": 1}'))
