"""verdicts.json holds what the contract promises."""

import json
from dataclasses import replace
from typing import Any

import pytest
from shapely.geometry import MultiPolygon, box

from tests.support.specimens import BASSWOOD, MACHINE, incise, region
from workers.resolvability.advice import advise
from workers.resolvability.repair import Repaired, as_drawn, repair
from workers.resolvability.verdicts_file import verdicts_json
from workers.values.region import Region

WOOD = replace(BASSWOOD, shows_depth_mm=0.5)
CUT = incise(90, 3, 0.2)
DRAWING = region(box(0, 0, 30, 2), box(0, 2.5, 60, 4), box(0, 10, 10, 10.5))


def written(done: Repaired | None = None) -> dict[str, Any]:
    """Return the file of a drawing, repaired unless another is given."""
    done = repair(DRAWING, CUT, WOOD) if done is None else done
    advice = advise(done.region_before, CUT, WOOD, MACHINE, [CUT.cutter])
    record: dict[str, Any] = json.loads(
        verdicts_json(done, cut=CUT, material=WOOD, advice=advice, notes=done.notes)
    )
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
    record = written(as_drawn(DRAWING, CUT, WOOD))

    assert record["strokes"][0]["verdict"] == "faint"
    assert record["summary"]["before"] == record["summary"]["after"]
    assert record["advice"]["smallest_scale"] > 1
    assert record["moves"] == []


def test_every_move_says_where_and_how_far() -> None:
    """The thin stroke at y 10 is what moved; ink was added on both of its sides, and nothing else changed."""
    record = written()

    assert record["moves"]
    for move in record["moves"]:
        assert move["ink"] == "added"
        assert 0 < move["moved_mm"] <= record["summary"]["moved_mm"]
        assert 9 < move["at"][1] < 12
    assert record["summary"]["shape"] == {
        "before": {"parts": 3, "holes": 0},
        "after": {"parts": 3, "holes": 0},
    }


def test_an_error_of_height_is_told_stroke_by_stroke() -> None:
    """At 90 degrees 0.1 mm of height are 0.2 mm of width (dw = 2 k dz): 2 mm become 1.8 and still show."""
    record = written(as_drawn(DRAWING, CUT, WOOD))

    assert record["summary"]["height_error"]["width_change_mm"] == 0.2
    wide = next(stroke for stroke in record["strokes"] if stroke["width_mm"] == 2.0)
    assert (wide["low_width_mm"], wide["low_verdict"]) == (1.8, "shows")
    assert sum(record["summary"]["height_error"]["when_low"].values()) == pytest.approx(1, abs=2e-4)


def test_an_empty_drawing_is_no_fault() -> None:
    """Without ink there is nothing to list, and the file says so."""
    record = written(as_drawn(Region(MultiPolygon()), CUT, WOOD))

    assert record["strokes"] == record["walls"] == []
    assert record["advice"]["smallest_scale"] is None
