"""Touch-up as a request asks for it: through the stages, in their reports."""

import json
from typing import Any

import cv2
import numpy as np
import pytest

from tests.support.both_ways import boatyard
from tests.support.exact_coverage import circle, covered
from workers.errors import MissingFileError
from workers.geometry.flattening import flatten
from workers.intake.coverage_file import write_coverage
from workers.intake.svg_document import read_svg
from workers.pipeline.run_step import run_step
from workers.values.image import InkCoverage
from workers.values.progress import silent

SQUARE = b"""<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="10mm" viewBox="0 0 20 10">
<path d="M1 1H5V9H1Z"/></svg>"""
DOT = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 2 2"><circle cx="1" cy="1" r="0.8"/></svg>'
RING = covered([circle(60, 55, 40), circle(60, 55, 25)], 100, 130)
FILES = {
    "square.svg": SQUARE,
    "yard.png": write_coverage(boatyard()[0]),
    "ring.png": write_coverage(InkCoverage(pixels=RING, mm_per_px=0.2)),
    "dot.svg": DOT,
    "disc.svg": DOT.replace(b"viewBox", b'width="20mm" height="20mm" viewBox'),
}


def _read(href: str) -> bytes:
    if href not in FILES:
        raise MissingFileError("no such file")
    return FILES[href]


def _traced(image: str, steps: list[dict[str, Any]]) -> tuple[Any, dict[str, Any]]:
    outcome = run_step("tracing", {"image": {"href": image}, "touch_up": steps}, _read, silent)
    assert outcome.problem is None, outcome.problem
    return flatten(read_svg(outcome.files["art"], "").outlines), json.loads(outcome.files["report"])


def test_y_counts_down_from_the_top() -> None:
    """A dot 2 mm below the upper edge of a sheet of 10 mm lies at 8 mm in the board's frame."""
    artwork, report = _traced("square.svg", [{"do": "draw", "line": [[15, 2]], "width": 2}])
    dot = max(artwork.ink.polygons.geoms, key=lambda part: part.bounds[0])
    assert dot.centroid.coords[0] == pytest.approx((15, 8), abs=1e-3)
    assert report["touch_up"][0]["ink_mm2_changed"] == pytest.approx(np.pi, abs=0.01)


def test_quarter_turns_are_anticlockwise_as_seen() -> None:
    """What stood at the left comes to the bottom; the sheet's sides are swapped."""
    artwork, _ = _traced("square.svg", [{"do": "turn", "angle": "90 deg"}])
    assert (artwork.width_mm, artwork.height_mm) == pytest.approx((10, 20))
    assert artwork.ink.polygons.bounds == pytest.approx((1, 1, 9, 5))


def test_crops_count_from_the_top() -> None:
    """The upper 4 mm hold 3 mm of the square, at the lower end of the new sheet."""
    artwork, report = _traced("square.svg", [{"do": "crop", "x": 0, "y": 0, "width": 8, "height": 4}])
    assert artwork.ink.polygons.bounds == pytest.approx((1, 0, 5, 3))
    assert (report["width_mm"], report["height_mm"]) == (8, 4)


@pytest.mark.parametrize("image", ["square.svg", "yard.png"])
@pytest.mark.parametrize("drawing", ["dot.svg", "ring.png"])
def test_drawings_of_both_kinds_are_set_in_drawings_of_both_kinds(image: str, drawing: str) -> None:
    """The new ink stands where it was put, as wide as it was asked to be."""
    step = {"do": "set_in", "drawing": {"href": drawing}, "x": 10, "y": 5, "width": 6}
    wipe = {"do": "erase", "line": [[0, 5], [40, 20]], "width": 100}
    artwork, report = _traced(image, [wipe, step])
    left, bottom, right, top = artwork.ink.polygons.bounds
    assert (left, right) == pytest.approx((7, 13), abs=0.05)
    assert artwork.height_mm - (bottom + top) / 2 == pytest.approx(5, abs=0.05)
    assert [entry["do"] for entry in report["touch_up"]] == ["erase", "set_in"]


def test_enlarged_curves_stay_round() -> None:
    """A dot of an icon, 100 times enlarged, leaves its circle by the same 5 micrometres as any curve."""
    FILES["wide.svg"] = SQUARE.replace(b'width="20mm" height="10mm"', b'width="400mm" height="200mm"')
    steps = [
        {"do": "erase", "line": [[0, 0], [400, 200]], "width": 100},
        {"do": "erase", "line": [[0, 100], [200, 200]], "width": 100},
        {"do": "set_in", "drawing": {"href": "dot.svg"}, "x": 200, "y": 100, "width": 160},
    ]
    artwork, _ = _traced("wide.svg", steps)
    disc = max(artwork.ink.polygons.geoms, key=lambda part: part.area)
    corners = np.asarray(disc.exterior.coords)
    sides = (corners[1:] + corners[:-1]) / 2 - np.asarray(disc.centroid.coords[0])
    assert 80 - np.hypot(*sides.T).min() < 0.03  # a cubic quarter leaves its circle by 2.7e-4 of the radius


def test_curves_that_a_step_leaves_alone_stay_curves() -> None:
    """A disc is eight eighths after a turn and after a notch in its side; the report counts them."""
    turned = _record("disc.svg", [{"do": "turn", "angle": "30 deg"}])
    assert (turned["pieces"], turned["pieces_as_drawn"], turned["pieces_fitted"]) == (8, 8, 0)
    notched = _record("disc.svg", [{"do": "erase", "polygon": [[10, 10], [20, 8], [20, 12]]}])
    step = notched["touch_up"][0]
    assert (step["pieces_kept"], step["pieces_cut"], step["pieces_added"]) == (6, 2, 2)
    assert notched["pieces"] == 10
    assert b"C" in FILES["art"]


def test_a_moved_edge_is_fitted_and_told() -> None:
    """Within a tenth of the tolerance, since a drawing of 20 mm will be enlarged as often."""
    report = _record("disc.svg", [{"do": "thicken", "by": 0.5}])
    assert report["touch_up"][0]["to_be_fitted_mm"] == pytest.approx(2 * np.pi * 8.5, abs=0.02)
    assert report["pieces_as_drawn"] == 0
    assert 0 < report["pieces_fitted"] == report["pieces"] < 40
    assert report["fitted_within_mm"] == pytest.approx(0.02 * 20 / 200)


def _record(image: str, steps: list[dict[str, Any]]) -> dict[str, Any]:
    """The report of touching a drawing up; keeps its art among the files."""
    outcome = run_step("tracing", {"image": {"href": image}, "touch_up": steps}, _read, silent)
    assert outcome.problem is None, outcome.problem
    FILES["art"] = outcome.files["art"]
    report: dict[str, Any] = json.loads(outcome.files["report"])
    return report


def test_intake_touches_the_squared_up_picture() -> None:
    """Without a sheet the photo's own pixels are inverted and the report says so."""
    FILES["photo.png"] = cv2.imencode(".png", np.dstack([boatyard()[0].pixels] * 3))[1].tobytes()
    plain, touched = (
        run_step(
            "intake", {"photos": [{"href": "photo.png"}], "sheet": "none", "touch_up": steps}, _read, silent
        )
        for steps in ([], [{"do": "invert"}])
    )
    assert plain.problem is None
    assert touched.problem is None
    before, after = (
        cv2.imdecode(np.frombuffer(done.files["image"], np.uint8), cv2.IMREAD_GRAYSCALE)
        for done in (plain, touched)
    )
    assert np.array_equal(after, 255 - before)
    assert json.loads(plain.files["report"])["touch_up"] == []
    assert json.loads(touched.files["report"])["touch_up"][0]["do"] == "invert"


def test_a_step_at_fault_is_a_problem_with_its_pointer() -> None:
    """The client learns which step and what to do."""
    steps = [{"do": "invert"}, {"do": "flip", "x": 50, "y": 5}]
    outcome = run_step("tracing", {"image": {"href": "square.svg"}, "touch_up": steps}, _read, silent)
    assert outcome.problem is not None
    assert outcome.problem.errors[0].pointer == "/inputs/touch_up/1"
    assert "upper left" in outcome.problem.remedy
    assert not outcome.files


def test_no_steps_keep_the_curves() -> None:
    """Art without touch-up is written as curves, as before."""
    inputs = {"image": {"href": "dot.svg"}}
    outcome = run_step("tracing", inputs, _read, silent)
    assert b"C" in outcome.files["art"]
