"""What reading an SVG had to tell reaches the report of whichever process read it."""

import json
import re
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest

import workers
from tests.support.both_ways import boatyard
from workers.geometry.flattening import flatten
from workers.intake.coverage_file import write_coverage
from workers.intake.svg_document import read_svg
from workers.layout.design_file import read_design
from workers.pipeline.run_step import run_step
from workers.values.progress import silent

SQUARE = b"""<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
<path d="M10 10H30V25H10Z"/></svg>"""
BROKEN = b"""<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
<path d="M2 2H22V12H2Z"/><path d="M12 2H32V12H12Z"/><path d="M5 20L15 20 15 28"/>
<text x="2" y="20" font-family="Harbour Script">Quay</text></svg>"""
FILES = {
    "dot.svg": b'<svg xmlns="http://www.w3.org/2000/svg" width="1mm" height="1mm" viewBox="0 0 2 2">'
    b'<circle cx="1" cy="1" r="1"/></svg>',
    "square.svg": SQUARE,
    "broken.svg": BROKEN,
    "photo.png": cv2.imencode(".png", np.dstack([boatyard()[0].pixels] * 3))[1].tobytes(),
    "yard.png": write_coverage(boatyard()[0]),
}
CODES = {"svg-shapes-overlapping", "svg-outlines-closed", "svg-text-left-out"}
IT = {"href": "broken.svg"}
SET_IN = [{"do": "set_in", "drawing": IT, "x": 10, "y": 10, "width": 10}]
BOARD = {"width": 200, "height": 150, "thickness": 18, "material": "cherry"}
READERS: dict[str, tuple[str, dict[str, Any], str, str]] = {  # process, inputs, its report, how it is called
    "tracing": ("tracing", {"image": IT}, "report", ""),
    "touch-up of a drawing": (
        "tracing",
        {"image": {"href": "square.svg"}, "touch_up": SET_IN},
        "report",
        "the drawing of touch-up step 1: ",
    ),
    "touch-up of a picture": (
        "tracing",
        {"image": {"href": "yard.png"}, "touch_up": SET_IN},
        "report",
        "the drawing of touch-up step 1: ",
    ),
    "touch-up in intake": (
        "intake",
        {"photos": [{"href": "photo.png"}], "sheet": "none", "touch_up": SET_IN},
        "report",
        "the drawing of touch-up step 1: ",
    ),
    "layout": (
        "layout",
        {"board": BOARD, "art": [{"svg": {"href": "square.svg"}}, {"svg": IT}]},
        "layout_report",
        "art 2: ",
    ),
    "resolvability": (
        "resolvability",
        {"art": IT, "bit": "vee-90", "depth_limit": 5, "material": "cherry"},
        "verdicts",
        "",
    ),
}


@pytest.mark.parametrize("reader", READERS)
def test_whoever_reads_a_drawing_tells_what_was_found_in_it(reader: str) -> None:
    """Every process, the same findings in the same form; their message says which drawing it is."""
    process, inputs, report, called = READERS[reader]
    outcome = run_step(process, inputs, FILES.__getitem__, silent)
    assert outcome.problem is None, outcome.problem
    findings = [
        found for found in json.loads(outcome.files[report])["findings"] if found["code"].startswith("svg-")
    ]
    assert {found["code"] for found in findings} == CODES
    assert all(found["message"].startswith(called) for found in findings)
    overlap = next(found for found in findings if found["code"] == "svg-shapes-overlapping")
    assert overlap["at"] == pytest.approx([17, 23], abs=5)


def test_drawings_are_read_through_one_door() -> None:
    """No other module reads an SVG itself, where its findings could be dropped."""
    root = Path(next(iter(workers.__path__)))
    readers = {
        str(path.relative_to(root))
        for path in root.rglob("*.py")
        if re.search(r"import .*\bread_svg\b", path.read_text())
    }
    assert readers == {"pipeline/drawings.py"}


@pytest.mark.parametrize("process", ["layout", "resolvability"])
def test_an_icon_stays_round_however_much_it_is_enlarged(process: str) -> None:
    """A disc of 1 mm made 140 mm wide: no side of its polygon lies farther than 0.03 mm inside the circle.

    Four cubics for a circle leave it by 2.7e-4 of the radius (closed form), 0.019 mm here; 0.005 mm
    are the flattening's.
    """
    inputs = {
        "layout": {
            "board": BOARD,
            "art": [{"svg": {"href": "dot.svg"}, "place": {"x": 100, "y": 75, "width": 140}}],
        },
        "resolvability": {"art": {"href": "dot.svg"}, "width": 140, "bit": "vee-90", "depth_limit": 5},
    }[process]
    outcome = run_step(process, inputs, FILES.__getitem__, silent)
    assert outcome.problem is None, outcome.problem
    ink = (
        read_design(outcome.files["design"], "").ink
        if process == "layout"
        else flatten(read_svg(outcome.files["art"], "").outlines).ink
    )
    corners = np.asarray(ink.polygons.geoms[0].exterior.coords)
    sides = (corners[1:] + corners[:-1]) / 2 - np.asarray(ink.polygons.centroid.coords[0])
    assert 70 - np.hypot(*sides.T).min() < 0.03
