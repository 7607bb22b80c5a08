"""Server-sent events, as a client reads them (HTML standard, section 9.2.6)."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class StreamEvent:
    """One event: its kind, its id if it had one, and its JSON."""

    kind: str
    id: str | None
    data: dict[str, Any]


def server_sent_events(lines: Iterable[str]) -> Iterator[StreamEvent]:
    """Yield the events of a stream that carry JSON objects; comments and unfinished events are dropped.

    >>> list(server_sent_events(["event: progress", "id: 7-0", 'data: {"progress": 5}', "", ": ping", ""]))
    [StreamEvent(kind='progress', id='7-0', data={'progress': 5})]
    """
    fields: dict[str, str] = {}
    for line in lines:
        if not line:
            if "data" in fields:
                yield StreamEvent(
                    fields.get("event", "message"), fields.get("id"), json.loads(fields["data"])
                )
            fields = {}
            continue
        name, _, value = line.partition(":")
        value = value.removeprefix(" ")
        fields[name] = f"{fields[name]}\n{value}" if name == "data" and "data" in fields else value
