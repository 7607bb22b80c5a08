"""Of several bits the one that shows most, then the quickest: V-01 gives how deep each cuts a stroke."""

import json
from typing import Any

import pytest
from shapely.geometry import MultiPolygon, box

from schemas.requests import ResolvabilityInputs, ToolpathsInputs
from tests.support.specimens import BASSWOOD, MACHINE, design, incise, region
from workers.layout.design_file import read_design, write_design
from workers.pipeline.run_step import run_step
from workers.resolvability.bit_choice import best_cut
from workers.values.cuts import InciseCut
from workers.values.progress import silent
from workers.values.region import Region

OFFERED = [incise(angle_deg) for angle_deg in (90, 60, 30)]


def stroke(width_mm: float) -> Region:
    """A stroke of one width."""
    return Region(MultiPolygon([box(10, 10, 60, 10 + width_mm)]))


def chosen(ink: Region, offered: list[InciseCut]) -> tuple[str, str]:
    """The bit taken, and what is said of it."""
    cut, [why] = best_cut(ink, offered, BASSWOOD, MACHINE)
    assert why.code == "bit-chosen"
    return cut.cutter.name, why.message


@pytest.mark.parametrize(
    ("width_mm", "name"), [(0.45, "vee-60"), (0.25, "vee-30")], ids=["60 shows it", "30 alone shows it"]
)
def test_the_bit_that_shows_most_is_taken(width_mm: float, name: str) -> None:
    """Depth w / (2 tan(A/2)) against the 0.3 mm that show: 0.45 mm at 60 degrees 0.39, at 90 only 0.22."""
    assert chosen(stroke(width_mm), OFFERED[:2] if name == "vee-60" else OFFERED)[0] == name


def test_of_equals_the_quickest_is_taken() -> None:
    """A stroke of 3 mm shows with all three; 90 degrees are 1.5 mm deep, one pass, and need no floor."""
    name, message = chosen(stroke(3.0), OFFERED)

    assert name == "vee-90"
    assert "vee-90 is taken: it shows 100 %" in message
    assert "vee-60 100 %" in message
    assert "vee-30 100 %" in message


def test_what_is_equal_in_all_goes_by_the_order() -> None:
    """The same bit twice."""
    twins = [OFFERED[1], incise(60.0)]

    assert best_cut(stroke(2.0), twins, BASSWOOD, MACHINE)[0] is twins[0]


def test_one_bit_is_no_choice() -> None:
    """Nothing is said."""
    assert best_cut(stroke(2.0), OFFERED[:1], BASSWOOD, MACHINE) == (OFFERED[0], ())


SIGN = write_design(design(region(box(30, 30, 60, 30.9)), 100, 60, 18))


def run(process: str, inputs: dict[str, Any], data: bytes = SIGN) -> Any:
    """One step over a design."""
    kind = {"resolvability": ResolvabilityInputs, "toolpaths": ToolpathsInputs}[process]
    asked = kind.model_validate(inputs).model_dump(mode="json", exclude_none=True)
    return run_step(process, asked, lambda _: data, silent)


def test_the_choice_travels_with_the_design() -> None:
    """Resolvability notes it in the design and tells why; toolpaths take that bit."""
    bits = ["vee-90", "vee-60"]
    judged = run("resolvability", {"design": {"href": "d"}, "bit": bits, "depth_limit": 2.5})
    notes = json.loads(judged.files["verdicts"])["findings"]
    planned = run(
        "toolpaths",
        {"design": {"href": "d"}, "incise": {"bit": bits, "depth_limit": 2.5}},
        judged.files["design"],
    )

    assert read_design(judged.files["design"], "").bit_name == "vee-60"
    assert read_design(judged.files["drawing"], "").bit_name == "vee-60"
    assert notes[0]["code"] == "bit-chosen"
    assert b'"vee-60"' in planned.files["paths"]
    assert b'"vee-90"' not in planned.files["paths"]


def test_a_list_of_one_bit_is_that_bit() -> None:
    """Nothing is there to be chosen, nor to be told."""
    judged = run("resolvability", {"design": {"href": "d"}, "bit": ["vee-60"], "depth_limit": 2.5})
    incise = {"bit": ["vee-60"], "depth_limit": 2.5}
    planned = run("toolpaths", {"design": {"href": "d"}, "incise": incise}, judged.files["design"])

    assert "bit-chosen" not in {note["code"] for note in json.loads(judged.files["verdicts"])["findings"]}
    assert b'"vee-60"' in planned.files["paths"]


def test_toolpaths_do_not_choose() -> None:
    """A design for which nothing was chosen: the error names the field and what to do."""
    offered = {"bit": ["vee-90", "vee-60"], "depth_limit": 2}
    refused = run("toolpaths", {"design": {"href": "d"}, "incise": offered})

    assert refused.problem.errors[0].pointer == "/inputs/incise/bit"
    assert "2 bits are on offer" in refused.problem.detail
