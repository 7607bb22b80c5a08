"""Every process of the contract alone, on the command line: each takes what the one before it left."""

import json
from pathlib import Path
from typing import Any

import pytest

from api.cli import main

SCAN = Path(__file__).parents[1] / "support" / "drawings" / "anchor.scan.png"
BOARD = {"width": "300 mm", "height": "200 mm", "thickness": "18 mm", "material": "basswood"}
INCISE = {"bit": "vee-60", "depth_limit": "2 mm"}
PROGRAM = """%
(written by hand: a slot and two rounds)
G21 G90 G17 G94
S18000 M3
G4 P2
G0 Z5
G0 X40 Y40
G1 Z-2 F300
G1 X90 F900
G3 X90 Y60 I0 J10
G1 X40
G3 X40 Y40 R10
G0 Z5
M5
M2
%
"""


def run(folder: Path, process: str, inputs: dict[str, Any], code: int = 0) -> set[str]:
    """Run a process on a request in a folder; return the files it left under the folder of its name."""
    request = folder / f"{process}.json"
    request.write_text(json.dumps(inputs))
    assert main(["run", process, str(request), "--out", str(folder / process)]) == code
    left = [path for path in (folder / process).rglob("*") if path.is_file() and path.name[0] != "."]
    return {str(path.relative_to(folder / process)) for path in left}


def test_the_stages_hand_on_their_files(tmp_path: Path) -> None:
    """From photo to proof by hand, with the names of the contract."""
    intake = run(tmp_path, "intake", {"photos": [{"href": str(SCAN)}], "sheet": "a4"})
    assert {"image.png", "intake.json"} <= intake
    tracing = run(tmp_path, "tracing", {"image": {"href": "intake/image.png"}})
    assert {"art.svg", "tracing.json"} <= tracing
    examined = run(
        tmp_path,
        "resolvability",
        {"art": {"href": "tracing/art.svg"}, "width": "150 mm", "repair": True, **INCISE},
    )
    assert examined == {"art.svg", "verdicts.json", "overlay.png", "before-after.png"}
    placed = [{"svg": {"href": "resolvability/art.svg"}, "place": {"x": 150, "y": 100}}]
    assert {"design.svg", "design.json"} <= run(tmp_path, "layout", {"board": BOARD, "art": placed})
    cutting = {"incise": INCISE, "cutout": {"bit": "flat-1/4in"}}
    paths = run(tmp_path, "toolpaths", {"design": {"href": "layout/design.svg"}, **cutting})
    assert {"paths.json", "paths.svg"} <= paths
    code = run(tmp_path, "machine-code", {"paths": {"href": "toolpaths/paths.json"}, "dialect": "inch-lines"})
    programs = sorted(name for name in code if name.startswith("programs/"))
    assert [name.split("-")[1] for name in programs] == ["incise", "cutout"]
    bits = ["vee-60", "flat-1/4in"]
    proven = run(
        tmp_path,
        "verification",
        {
            "programs": [
                {"href": f"machine-code/{name}", "bit": bit} for name, bit in zip(programs, bits, strict=True)
            ],
            "board": BOARD,
            "design": {"href": "layout/design.json"},
            "incise": INCISE,
            "cutout": cutting["cutout"],
        },
    )
    assert proven == {"proof.json", "preview.png", "depth.png", "depth-key.png", "relief.glb"}
    assert json.loads((tmp_path / "verification" / "proof.json").read_text())["passed"] is True


@pytest.mark.parametrize(
    ("word", "changed", "finding"),
    [
        ("", "", None),
        ("G1 Z-2 F300", "G1 Z-25 F300", "into-the-bed"),
        ("G0 X40 Y40", "G0 X40 Y40 Z-1", "rapid-through-stock"),
        ("M3", "M5", "spindle-off"),
        ("G0 X40 Y40", "G0 X4000 Y40", "outside-envelope"),
    ],
)
def test_a_foreign_program_is_proven_or_its_fault_named(
    tmp_path: Path, word: str, changed: str, finding: str | None
) -> None:
    """As written it passes; with one word changed the proof fails by the fault's name."""
    text = PROGRAM.replace(word, changed, 1) if word else PROGRAM
    (tmp_path / "foreign.ngc").write_text(text)
    inputs = {"programs": [{"href": "foreign.ngc", "bit": "flat-1/8in"}], "board": BOARD}
    run(tmp_path, "verification", inputs, code=3 if finding else 0)
    proof = json.loads((tmp_path / "verification" / "proof.json").read_text())
    assert proof["passed"] is (finding is None)
    if finding:
        assert finding in [found["code"] for found in proof["findings"]]
