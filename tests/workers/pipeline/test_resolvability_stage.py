"""The resolvability step by itself: its options on the wire, and what its report holds."""

import json
from typing import Any

import pytest
from pydantic import ValidationError
from shapely.geometry import MultiPolygon, box

from schemas.requests import ResolvabilityInputs, SignOrder
from schemas.steps import steps_of
from workers.pipeline.run_step import run_step
from workers.tracing.art_file import write_region_art
from workers.values.progress import silent
from workers.values.region import Artwork, Region

PAIR = Region(MultiPolygon([box(5, 5, 35, 8), box(5, 8.3, 35, 11.3), box(5, 20, 35, 20.8)]))
ART = write_region_art(Artwork(ink=PAIR, width_mm=40, height_mm=30))
BIT = {"kind": "vee", "included_angle": 90, "tip": 0.2, "diameter": 12.7, "flutes": 2}


def verdicts(**options: Any) -> dict[str, Any]:
    """Return verdicts.json of two blocks with a thin wall between them and a thin stroke."""
    inputs = {"art": {"href": "art"}, "bit": BIT, "depth_limit": 2.5} | options
    asked = ResolvabilityInputs.model_validate(inputs).model_dump(mode="json", exclude_none=True)
    outcome = run_step("resolvability", asked, lambda _: ART, silent)
    assert outcome.problem is None
    record: dict[str, Any] = json.loads(outcome.files["verdicts"])
    return record


@pytest.mark.parametrize(
    ("repair", "parts", "inks"),
    [
        (False, 3, set()),
        (True, 3, {"added"}),
        ({"walls": "open"}, 3, {"added", "taken"}),
        ({"walls": "fuse"}, 2, {"added"}),
        ({"at_most": "0.1 mm"}, 3, set()),
    ],
)
def test_a_repair_does_what_it_is_asked(repair: object, parts: int, inks: set[str]) -> None:
    """Parts after it, and whether ink was added or taken; 0.1 mm are not enough for the stroke of 0.8."""
    record = verdicts(repair=repair)

    assert record["summary"]["shape"]["after"]["parts"] == parts
    assert {move["ink"] for move in record["moves"]} == inks
    assert (record["summary"]["after"]["shows"] == 1.0) is ("added" in inks)


def test_the_advice_counts_minutes_and_limits() -> None:
    """Every bit on hand and every depth limit has its share and its minutes."""
    advice = verdicts()["advice"]

    assert {"vee-30", "vee-60", "vee-90"} <= {row["bit"] for row in advice["bits"]}
    assert all(row["minutes"] > 0 for row in advice["bits"] + advice["depth_limits"])
    assert [row["depth_limit_mm"] for row in advice["depth_limits"]] == [0.5, 1.4, 2.5]
    assert advice["smallest_minutes"] > 0


@pytest.mark.parametrize("repair", [{"walls": "melt"}, {"at_most": 0}, {"depth": 3}, "perhaps"])
def test_a_repair_that_is_not_offered_is_refused(repair: object) -> None:
    """Only the words and lengths of the schema are taken."""
    with pytest.raises(ValidationError, match="repair"):
        ResolvabilityInputs.model_validate(
            {"art": {"href": "art"}, "bit": BIT, "depth_limit": 2.5, "repair": repair}
        )


def test_a_sign_order_hands_on_its_choices() -> None:
    """Repair, machine and viewing distance reach the step that looks at the whole board."""
    order = SignOrder.model_validate(
        {
            "board": {"width": 100, "height": 60, "thickness": 12, "material": "basswood"},
            "lettering": [{"text": "Quay", "cap_height": 20, "x": 50, "y": 20}],
            "incise": {"bit": "vee-60", "depth_limit": 2},
            "repair": {"walls": "open", "at_most": "0.4 mm"},
            "viewing_distance": "8 m",
        }
    )

    step = next(step for step in steps_of("sign", order) if step.process == "resolvability")

    assert step.inputs["repair"] == {"walls": "open", "at_most": 0.4}
    assert step.inputs["viewing_distance"] == 8000
    assert step.inputs["machine"] == "bench-600"
