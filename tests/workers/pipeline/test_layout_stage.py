"""A layout from the wire to its files: openings, raised art and measured stock."""

import json
from typing import Any

import pytest

from workers.layout.design_file import read_design
from workers.pipeline.run_step import run_step
from workers.values.design import OpeningShape
from workers.values.progress import silent

ORDER: dict[str, Any] = {
    "board": {"width": 200, "height": 100, "thickness": "1/2 in", "measured": 12.2, "material": "basswood"},
    "lettering": [{"text": "QUAY", "cap_height": 25, "x": 100, "y": 30}],
    "openings": [
        {"shape": "keyhole", "x": 100, "y": 75, "head": 9, "neck": 4, "length": "14 mm"},
        {"shape": "slot", "x": 20, "y": 50, "length": 20, "width": 6, "turn": 90},
        {"shape": "rectangle", "x": 180, "y": 50, "width": 12, "height": 20, "corner_radius": 3},
    ],
}


def laid_out(order: dict[str, Any]) -> dict[str, bytes]:
    """The files of a layout."""
    outcome = run_step("layout", order, lambda _href: b"", silent)
    assert outcome.problem is None, outcome.problem
    return outcome.files


def test_openings_and_measured_stock_are_in_the_design() -> None:
    """Shapes, sizes and turns as ordered; the thickness is the calipers', and the difference is told."""
    files = laid_out(ORDER)
    design = read_design(files["design"], "")
    keyhole, slot, rectangle = design.openings
    [finding] = json.loads(files["layout_report"])["findings"]

    assert (keyhole.shape, keyhole.head_mm, keyhole.width_mm) == (OpeningShape.KEYHOLE, 9, 4)
    assert (slot.shape, slot.length_mm, slot.turn_deg) == (OpeningShape.SLOT, 20, 90)
    assert (rectangle.length_mm, rectangle.width_mm, rectangle.corner_radius_mm) == (12, 20, 3)
    assert design.board.thickness_mm == 12.2
    assert finding["code"] == "stock-thinner-than-said"


def test_raised_lettering_is_the_ground_without_it() -> None:
    """Both areas together are the panel inside the margin; openings stay as they were."""
    plain = read_design(laid_out(ORDER)["design"], "")
    raised = read_design(laid_out(ORDER | {"raised": {"margin": 5}})["design"], "")

    assert raised.ink.polygons.area + plain.ink.polygons.area == pytest.approx(190 * 90, rel=1e-4)
    assert raised.ink.polygons.intersection(plain.ink.polygons).area == pytest.approx(0, abs=0.1)
    assert raised.openings == plain.openings
