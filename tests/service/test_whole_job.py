"""The main job on real input: photos of drawings become proven programs, or a refusal that names the strokes.

Drawings and their exact ink: tests/support/drawings/README.md (public domain, Debian's openclipart-svg).
"""

import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
import shapely

from api.linked_files import read_request
from api.local_run import LocalResult, run_here
from schemas.problems import ProblemCode
from workers.geometry.flattening import flatten
from workers.intake.svg_document import read_svg
from workers.pipeline.capabilities import capabilities
from workers.pipeline.run_step import run_step

DRAWINGS = Path(__file__).parents[1] / "support" / "drawings"


def truth(name: str) -> dict[str, Any]:
    """What a drawing was made from."""
    record: dict[str, Any] = json.loads((DRAWINGS / f"{name}.truth.json").read_text())
    return record


def order(name: str, picture: str) -> dict[str, Any]:
    """A 300 x 200 mm board with one drawing on it, as large as fits with a margin."""
    known = truth(name)
    points = [point for polygon in known["polygons"] for point in polygon[0]]
    wide = max(x for x, _ in points) - min(x for x, _ in points)
    high = max(y for _, y in points) - min(y for _, y in points)
    size = {"width": "260 mm"} if wide / high > 260 / 160 else {"height": "160 mm"}
    return {
        "board": {"width": "300 mm", "height": "200 mm", "thickness": "18 mm", "material": "basswood"},
        "art": [
            {
                "photos": [{"href": picture}],
                "sheet": {"width": known["sheet_width_mm"], "height": known["sheet_height_mm"]},
                "place": {"x": 150, "y": 100, **size},
            }
        ],
        "incise": {"bit": "vee-90", "depth_limit": "2.5 mm"},
        "clear": {"bit": "flat-1/8in"},
    }


def run_sign(inputs: dict[str, Any]) -> LocalResult:
    """What an order comes to, all its steps done here."""
    return run_here("sign", inputs, DRAWINGS, run_step, lambda fraction, message: None, capabilities)


@pytest.mark.parametrize("name", ["anchor", "teacup", "rope_locker"])
@pytest.mark.parametrize("picture", ["scan.png", "s1.jpg"])
def test_a_drawing_becomes_a_proven_sign(name: str, picture: str) -> None:
    """Scan and careful photo alike end with a bundle whose proof passes."""
    result = run_sign(order(name, f"{name}.{picture}"))
    assert result.problem is None, result.problem
    proof = json.loads(result.files["proof"])
    assert proof["passed"] is True
    packed = zipfile.ZipFile(io.BytesIO(result.files["bundle"])).namelist()
    assert {
        "proof.json",
        "preview.png",
        "setup-sheet.pdf",
        "verdicts.json",
        "overlay.png",
        "design.svg",
        "art.svg",
        "order.json",
        "MANIFEST",
    } <= set(packed)
    assert [entry for entry in packed if entry.startswith("programs/")]


@pytest.mark.parametrize("name", ["anchor", "teacup", "rope_locker"])
def test_the_traced_ink_is_the_drawn_ink(name: str) -> None:
    """On a clean scan, outlines and truth share at least 98.5 % of their union."""
    inputs = order(name, f"{name}.scan.png")["art"][0]
    taken = run_here(
        "layout",
        {"board": order(name, "")["board"], "art": [inputs]},
        DRAWINGS,
        run_step,
        lambda fraction, message: None,
        capabilities,
    )
    assert taken.problem is None, taken.problem
    ink = flatten(read_svg(taken.files["art"], "/inputs/art").outlines).ink.polygons
    known = truth(name)
    drawn = shapely.MultiPolygon(
        [shapely.Polygon(rings[0], rings[1:]) for rings in known["polygons"]]
    ).buffer(0)
    drawn = shapely.transform(drawn, lambda xy: xy * [1, -1] + [0, known["sheet_height_mm"]])
    assert ink.intersection(drawn).area / ink.union(drawn).area > 0.985


def test_strokes_the_bit_cannot_make_are_named() -> None:
    """Without repair, at a size where lines are thinner than the tip, the job ends with their places."""
    inputs = order("teacup", "teacup.scan.png") | {"repair": False}
    inputs["art"][0]["place"] = {"x": 150, "y": 100, "width": "20 mm"}
    inputs["incise"] = {
        "bit": {"kind": "vee", "included_angle": 90, "tip": "0.5 mm", "diameter": "12 mm"},
        "depth_limit": "2 mm",
    }
    result = run_sign(inputs)
    assert result.problem is not None
    assert result.problem.code is ProblemCode.NOT_CUTTABLE
    assert {finding.code for finding in result.problem.findings} == {"stroke-lost"}
    assert all(finding.at for finding in result.problem.findings)
    assert not [name for name in result.files if name.startswith("programs")]
    assert {"verdicts", "overlay"} <= set(result.files)


def test_the_same_order_gives_the_same_bytes() -> None:
    """Nothing of the day, the machine or chance is in a bundle."""
    inputs = order("anchor", "anchor.scan.png")
    assert run_sign(inputs).files == run_sign(inputs).files


CUT_FREE = {"cutout": {"bit": "flat-1/8in"}}
ONE_FILE = {"one_file": True, "pause": "M0", "length_offset": True}


@pytest.mark.parametrize(
    ("dialect", "programs"),
    [("metric-lines", 2), (ONE_FILE, 1)],
    ids=["one file a bit", "one file with pauses and lengths"],
)
def test_the_bundle_alone_repeats_the_proof(tmp_path: Path, dialect: Any, programs: int) -> None:
    """``triglyph run verification proof.json`` in the unpacked bundle says the same, to the byte."""
    result = run_sign(order("anchor", "anchor.scan.png") | CUT_FREE | {"dialect": dialect})
    assert sum(name.startswith("programs/") for name in result.files) == programs
    with zipfile.ZipFile(io.BytesIO(result.files["bundle"])) as packed:
        packed.extractall(tmp_path)
    proof = tmp_path / "proof.json"
    again = run_here(
        "verification", read_request(proof), tmp_path, run_step, lambda fraction, message: None, capabilities
    )
    assert again.problem is None, again.problem
    assert again.files["proof"] == proof.read_bytes() == result.files["proof"]


def test_a_changed_program_fails_the_repeated_proof(tmp_path: Path) -> None:
    """One groove half a millimetre deeper than the design: the proof beside it convicts it."""
    result = run_sign(order("anchor", "anchor.scan.png"))
    with zipfile.ZipFile(io.BytesIO(result.files["bundle"])) as packed:
        packed.extractall(tmp_path)
    program = next((tmp_path / "programs").glob("*incise*"))
    line = next(
        line for line in program.read_text().splitlines() if line.startswith("G1") and " Z-1." in line
    )
    program.write_text(program.read_text().replace(line, line.replace(" Z-1.", " Z-2."), 1))
    again = run_here(
        "verification",
        read_request(tmp_path / "proof.json"),
        tmp_path,
        run_step,
        lambda fraction, message: None,
        capabilities,
    )
    assert again.problem is not None
    assert again.problem.code is ProblemCode.PROOF_FAILED
