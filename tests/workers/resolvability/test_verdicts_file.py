"""verdicts.json holds what the contract promises."""

import json
from typing import Any

import pytest
from shapely.geometry import MultiPolygon, Polygon, box

from workers.resolvability.examine import examine
from workers.resolvability.repair import repair
from workers.resolvability.verdicts_file import verdicts_json
from workers.values.cuts import InciseCut
from workers.values.cutter import VeeCutter
from workers.values.material import Material
from workers.values.region import Region

BOARD = Material(
    name="board",
    title="Board",
    family="softwood",
    shows_depth_mm=0.5,
    thinnest_wall_mm=0.8,
    colour=(220, 200, 160),
    has_grain=True,
    cautions=(),
)
VEE = VeeCutter(
    name="v", diameter_mm=12, cutting_length_mm=12, flutes_count=2, included_angle_deg=90, tip_mm=0.2
)
CUT = InciseCut(cutter=VEE, depth_limit_mm=3)
DRAWING = Region(
    MultiPolygon([box(0, 0, 30, 2), box(0, 2.5, 60, 4), Polygon([(0, 10), (10, 10), (10, 10.5), (0, 10.5)])])
)


def written() -> dict[str, Any]:
    """Return the file of a repaired drawing."""
    done = repair(DRAWING, CUT, BOARD)
    data = verdicts_json(
        done.examination_before,
        done.examination,
        region=done.region,
        cut=CUT,
        material=BOARD,
        bits=[VEE],
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
    examination = examine(DRAWING, CUT, BOARD)
    record = json.loads(verdicts_json(None, examination, region=DRAWING, cut=CUT, material=BOARD))

    assert record["strokes"][0]["verdict"] == "faint"
    assert record["summary"]["before"] == record["summary"]["after"]
    assert record["advice"]["smallest_scale"] > 1


def test_an_empty_drawing_is_no_fault() -> None:
    """Without ink there is nothing to list, and the file says so."""
    nothing = Region(MultiPolygon())
    record = json.loads(
        verdicts_json(None, examine(nothing, CUT, BOARD), region=nothing, cut=CUT, material=BOARD)
    )

    assert record["strokes"] == record["walls"] == []
    assert record["advice"]["smallest_scale"] is None
