"""verdicts.json holds what the contract promises."""

import json
from dataclasses import replace
from typing import Any

import pytest
from shapely.geometry import MultiPolygon, box

from tests.support.specimens import BASSWOOD, incise, region
from workers.resolvability.examine import examine
from workers.resolvability.repair import repair
from workers.resolvability.verdicts_file import verdicts_json
from workers.values.region import Region

WOOD = replace(BASSWOOD, shows_depth_mm=0.5)
CUT = incise(90, 3, 0.2)
DRAWING = region(box(0, 0, 30, 2), box(0, 2.5, 60, 4), box(0, 10, 10, 10.5))


def written() -> dict[str, Any]:
    """Return the file of a repaired drawing."""
    done = repair(DRAWING, CUT, WOOD)
    data = verdicts_json(
        done.examination_before,
        done.examination,
        region=done.region,
        cut=CUT,
        material=WOOD,
        bits=[CUT.cutter],
        notes=done.notes,
    )
    record: dict[str, Any] = json.loads(data)
    return record


def test_every_run_says_what_the_contract_names() -> None:
    """Strokes and walls have verdict, width, length, place and whether they were repaired."""
    record = written()

    for run in record["strokes"] + record["walls"]:
        assert {"verdict", "width_mm", "length_mm", "at", "repaired"} <= run.keys()
        assert len(run["at"]) == 2
    assert {run["verdict"] for run in record["walls"]} == {"fragile"}
    assert any(run["repaired"] for run in record["strokes"])


def test_shares_add_up_to_one_before_and_after() -> None:
    """The summary's shares are of the ink's whole length."""
    summary = written()["summary"]

    assert sum(summary["before"].values()) == pytest.approx(1, abs=2e-4)
    assert sum(summary["after"].values()) == pytest.approx(1, abs=2e-4)
    assert summary["before"]["faint"] == pytest.approx(9.5 / 97, abs=0.01)  # axes end half a width early
    assert summary["after"]["faint"] == 0


def test_the_worst_comes_first() -> None:
    """A reader who stops after the first entry has read the worst."""
    examination = examine(DRAWING, CUT, WOOD)
    record = json.loads(verdicts_json(None, examination, region=DRAWING, cut=CUT, material=WOOD))

    assert record["strokes"][0]["verdict"] == "faint"
    assert record["summary"]["before"] == record["summary"]["after"]
    assert record["advice"]["smallest_scale"] > 1


def test_an_empty_drawing_is_no_fault() -> None:
    """Without ink there is nothing to list, and the file says so."""
    nothing = Region(MultiPolygon())
    record = json.loads(
        verdicts_json(None, examine(nothing, CUT, WOOD), region=nothing, cut=CUT, material=WOOD)
    )

    assert record["strokes"] == record["walls"] == []
    assert record["advice"]["smallest_scale"] is None
