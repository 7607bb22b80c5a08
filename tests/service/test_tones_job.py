"""A sheet drawn in three greys becomes a proven sign in three depths, in one job and step by step.

The sheet is computed from known shapes through a known camera (tests/support/drawn_sheets.py), so where each
tone lies is known without our code.
"""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from api.local_run import LocalResult, run_here
from tests.support.drawn_sheets import DrawnSheet, bar, disc
from workers.pipeline.capabilities import capabilities
from workers.pipeline.run_step import run_step

CORNERS = np.array([(101.3, 60.7), (640.2, 92.4), (690.9, 828.6), (52.8, 860.1)])
GREYS = (
    (disc(74, 80, 50), 0.42),
    (disc(74, 80, 35), 0.16),
    (bar(20, 145, 128, 175), 0.42),
    (bar(56, 145, 128, 175), 0.16),
)
INK = (disc(74, 80, 15), bar(92, 145, 128, 175), bar(20, 185, 128, 188))
SHEET = {"width": 148, "height": 210}
BOARD: dict[str, Any] = {"width": 148, "height": 240, "thickness": 19, "material": "basswood"}
PLACE = {"x": 74, "y": 135}
INCISE = {"bit": "vee-90", "depth_limit": 2.4}
ORDER: dict[str, Any] = {
    "board": BOARD,
    "art": [{"photos": [{"href": "photo.png"}], "sheet": SHEET, "tones": 4, "place": PLACE}],
    "lettering": [{"text": "QUAY", "cap_height": 12, "x": 74, "y": 14}],
    "incise": INCISE,
    "clear": {"bit": "flat-1/8in"},
    "cutout": {"bit": "flat-1/8in"},
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the photo lies."""
    place = tmp_path_factory.mktemp("tones")
    photo = DrawnSheet(148.0, 210.0, CORNERS, 750, 940, INK, greys=GREYS).photograph()
    Image.fromarray(photo).save(place / "photo.png")
    return place


def run(process: str, inputs: dict[str, Any], folder: Path) -> LocalResult:
    """What a request comes to, all its steps done here."""
    return run_here(process, inputs, folder, run_step, lambda fraction, message: None, capabilities)


@pytest.fixture(scope="module")
def made(folder: Path) -> LocalResult:
    """The sign."""
    return run("sign", ORDER, folder)


def test_three_greys_are_carved_to_three_depths(made: LocalResult) -> None:
    """The proof passes, and in the middle of each tone the board is as deep as that tone's limit."""
    assert made.problem is None, made.problem
    proof = json.loads(made.files["proof"])
    scale = proof["depth_map"]
    levels = np.asarray(Image.open(io.BytesIO(made.files["depth_map"])))

    def at(x_mm: float, y_mm: float) -> float:
        """How deep it is at a place of the sheet, from its upper left corner; the ink's box is placed."""
        up_mm = PLACE["y"] + (30 + 188) / 2 - y_mm
        row, column = (int(off_mm / scale["mm_per_px"]) for off_mm in (BOARD["height"] - up_mm, x_mm))
        return float(levels[row, column]) * scale["mm_per_level"]

    assert proof["passed"] is True
    for x_mm, y_mm, expected_mm in [
        (74, 37, 0.8), (74, 55, 1.6), (74, 80, 2.4),  # ring, ring, disc
        (38, 160, 0.8), (74, 160, 1.6), (110, 160, 2.4),  # the bar's three parts
        (74, 186.5, 1.5),  # a line on bare paper, 3 mm wide: as deep as it is wide
        (74, 140, 0.0), (10, 100, 0.0),
    ]:  # fmt: skip
        assert at(x_mm, y_mm) == pytest.approx(expected_mm, abs=0.1), (x_mm, y_mm)


def test_tones_of_the_bundle_are_files_of_their_own(made: LocalResult) -> None:
    """Pictures, outlines and reports of each tone, and the order as it was understood."""
    assert {"art1-image_2", "art1-image_3", "art1-art_2", "art1-art_3", "art1-tracing_3"} <= set(made.files)
    assert json.loads(made.files["order"])["art"][0]["tones"] == 4


def test_the_same_order_gives_the_same_bytes(made: LocalResult, folder: Path) -> None:
    """In tones too."""
    assert run("sign", ORDER, folder).files["bundle"] == made.files["bundle"]


def test_a_front_end_may_chain_the_steps(made: LocalResult, folder: Path, tmp_path: Path) -> None:
    """Intake, a tracing for each tone, layout, and so on by hand: the same programs, the same proof."""

    def step(process: str, inputs: dict[str, Any]) -> dict[str, bytes]:
        result = run(process, inputs, tmp_path)
        assert result.problem is None, result.problem
        return result.files

    def file(name: str, data: bytes) -> dict[str, str]:
        (tmp_path / name).write_bytes(data)
        return {"href": name}

    photo = file("photo.png", (folder / "photo.png").read_bytes())
    pictures = step("intake", {"photos": [photo], "sheet": SHEET, "tones": 4})
    arts = [
        file(f"{name}.svg", step("tracing", {"image": file(f"{name}.png", pictures[name])})["art"])
        for name in ("image", "image_2", "image_3")
    ]
    art = {"svg": arts[0], "darker": arts[1:], "place": PLACE}
    laid_out = step("layout", {"board": BOARD, "art": [art], "lettering": ORDER["lettering"]})
    design = file("design.json", laid_out["design"])
    examined = step("resolvability", {"design": design, "repair": True, **INCISE})
    design = file("repaired.json", examined["design"])
    cuts = {key: ORDER[key] for key in ("incise", "clear", "cutout")}
    paths = step("toolpaths", {"design": design, **cuts})
    written = step("machine-code", {"paths": file("paths.json", paths["paths"])})

    assert paths["paths"] == made.files["paths"]
    programs = {name: data for name, data in made.files.items() if name.startswith("programs/")}
    assert {name: data for name, data in written.items() if name.startswith("programs/")} == programs


def test_more_tones_than_the_sheet_has_are_refused(folder: Path) -> None:
    """The field is the order's, and the picture of what was found leaves with the problem."""
    plain = DrawnSheet(148.0, 210.0, CORNERS, 750, 940, INK).photograph()
    data = io.BytesIO()
    Image.fromarray(plain).save(data, "PNG")
    (folder / "plain.png").write_bytes(data.getvalue())
    art = ORDER["art"][0] | {"photos": [{"href": "plain.png"}]}

    result = run("sign", ORDER | {"art": [art]}, folder)

    assert result.problem is not None
    assert result.problem.errors[0].pointer == "/inputs/art/0/tones"
    assert "2 can be told apart" in result.problem.detail
    assert "art1-found" in result.files
    assert not [name for name in result.files if name.startswith("programs")]


def test_a_tone_cut_to_another_depth_does_not_pass(made: LocalResult, tmp_path: Path) -> None:
    """The programs of this sign against a design whose palest tone may go 0.2 mm less deep."""
    programs = []
    for entry in json.loads(made.files["programs"])["programs"]:
        (tmp_path / entry["name"]).write_bytes(made.files[f"programs/{entry['name']}"])
        programs.append({"href": entry["name"], "bit": entry["bit"], "name": entry["name"]})
    (tmp_path / "design.json").write_bytes(made.files["design"])
    asked = {
        "programs": programs,
        "board": BOARD,
        "design": {"href": "design.json"},
        "incise": INCISE | {"paler_limits": [0.6, 1.6]},
        "cutout": ORDER["cutout"],
    }

    result = run("verification", asked, tmp_path)
    right = run("verification", asked | {"incise": INCISE}, tmp_path)

    assert result.problem is not None
    assert {found.code for found in result.problem.findings} == {"overcut"}
    assert right.problem is None, right.problem
