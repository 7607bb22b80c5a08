"""Files of ours that somebody edited: each design or plan is read, or refused in our words."""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from shapely.geometry import box

from tests.support.specimens import BASSWOOD, MACHINE, clearing, cutout, design, drilling, incise, region
from workers.dialects.metric_arcs import METRIC_ARCS
from workers.dialects.programs import write_programs
from workers.errors import ConversionError
from workers.layout.design_file import read_design, write_design
from workers.toolpaths.paths_file import read_paths, write_paths
from workers.toolpaths.plan import plan
from workers.values.design import Design, Hole

FIELD = "/inputs/file"
FILES_COUNT = 150
ODD: list[Any] = [
    *(None, True, "", "x", "basswood", [], {}, [[]], [1, 2], {"a": 1}),
    *(0, -1, 0.5, 2**31, 2**63, -(2**63), 10**400, 1e308, 1e-320, float("nan"), float("inf")),
]


def _sign() -> Design:
    return design(region(box(20, 20, 80, 40)), holes=(Hole(x_mm=9, y_mm=9, diameter_mm=5),))


def _plan_file() -> bytes:
    made = plan(_sign(), incise(), clearing(), cutout(), drilling(), BASSWOOD, MACHINE).plan
    record = json.loads(write_paths(made))
    for operation in record["operations"]:
        operation["paths"] = [min(operation["paths"], key=lambda path: len(path["points"]))]
    return json.dumps(record).encode()


def _written(data: bytes) -> None:
    write_programs(read_paths(data, FIELD), MACHINE, METRIC_ARCS)


def _places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Yield the way to each part of a record; of long lists the first few."""
    keys = value if isinstance(value, dict) else range(min(len(value), 6)) if isinstance(value, list) else ()
    for key in keys:
        yield (*path, key)
        yield from _places(value[key], (*path, key))


def _damaged(whole: bytes, chance: random.Random) -> bytes:
    """Return a record with one part taken out, or another thing in its place."""
    record = json.loads(whole)
    *way, last = chance.choice(list(_places(record)))
    around = record
    for key in way:
        around = around[key]
    if chance.random() < 0.15:
        del around[last]
    else:
        around[last] = chance.choice(ODD)
    return json.dumps(record).encode()


@pytest.mark.parametrize(
    ("make", "read"),
    [(lambda: write_design(_sign()), lambda data: read_design(data, FIELD)), (_plan_file, _written)],
    ids=["design", "paths"],
)
def test_damaged_records_are_refused_in_our_words(
    make: Callable[[], bytes], read: Callable[[bytes], object]
) -> None:
    """Whatever is raised is ours and names the field; what is read can be used."""
    chance = random.Random(400)  # noqa: S311 - the same files every time
    whole = make()
    read(whole)
    refusals = [refusal for _ in range(FILES_COUNT) if (refusal := _refusal(read, _damaged(whole, chance)))]
    assert len(refusals) > FILES_COUNT / 2  # or the damage does nothing
    assert {refusal.field for refusal in refusals} == {FIELD}


def _refusal(read: Callable[[bytes], object], data: bytes) -> ConversionError | None:
    """Our refusal, if it came to one; anything else is raised and fails the test."""
    try:
        read(data)
    except ConversionError as refusal:
        return refusal
    return None
