"""Hangers from the words of an order to a bundle: what is left out, what is refused, what a sign has."""

import io
import json
import zipfile
from functools import cache
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from pydantic import ValidationError

from api.local_run import LocalResult, run_here
from schemas.boards import Hanger
from schemas.problems import ProblemCode
from workers.cutting_data.tables import BITS
from workers.layout.design_file import read_design
from workers.pipeline.capabilities import capabilities
from workers.pipeline.run_step import run_step
from workers.values.progress import silent

ORDER: dict[str, Any] = {
    "board": {"width": 120, "height": 80, "thickness": "3/4 in", "material": "basswood", "corner_radius": 8},
    "lettering": [{"text": "OAR", "cap_height": 25, "x": 60, "y": 26}],
    "hangers": [{"x": "30 mm", "y": 48}, {"x": 95, "y": 48, "length": "20 mm", "depth": "3/8 in"}],
}
CUT: dict[str, Any] = {
    "incise": {"bit": "vee-90", "depth_limit": 2},
    "cutout": {"bit": "flat-1/8in"},
    "setup_sheet": {"units": "in"},
}


@cache
def sign() -> LocalResult:
    """A sign with two hangers, made in this process."""
    return run_here("sign", ORDER | CUT, Path(), run_step, silent, capabilities)


def layout_problem(**changes: Any) -> Any:
    """What a layout with another first hanger says."""
    order = ORDER | {"hangers": [ORDER["hangers"][0] | changes]}
    return run_step("layout", order, lambda _href: b"", silent).problem


def test_what_is_left_out_is_as_usual() -> None:
    """A bit of 3/8 in, 14 mm long, a lip as thick as its neck: 3/8 in deep."""
    outcome = run_step("layout", ORDER, lambda _href: b"", silent)
    plain, full = read_design(outcome.files["design"], "").hangers

    assert plain.cutter == BITS["keyhole-3/8in"]
    assert (plain.x_mm, plain.y_mm, plain.length_mm) == (30, 48, 14)
    assert plain.depth_mm == pytest.approx(9.525)
    assert (full.length_mm, full.depth_mm) == (20, 9.525)


@pytest.mark.parametrize(
    ("changes", "code", "pointer", "remedy"),
    [
        ({"bit": "flat-1/4in"}, ProblemCode.PARAMETER_OUT_OF_RANGE, "/bit", "choose a keyhole bit"),
        ({"bit": "keyhole-9in"}, ProblemCode.UNKNOWN_NAME, "/bit", "keyhole-"),
        ({"depth": 18}, ProblemCode.PARAMETER_OUT_OF_RANGE, "/depth", "Lower 'depth' to 17.1 mm"),
        ({"depth": 6}, ProblemCode.PARAMETER_OUT_OF_RANGE, "/depth", "Make 'depth' 7.8 mm or more"),
        ({"length": 5}, ProblemCode.PARAMETER_OUT_OF_RANGE, "/length", "more than 7.1 mm"),
        ({"y": 66}, ProblemCode.PARAMETER_OUT_OF_RANGE, "", "Move it"),
    ],
)
def test_what_does_not_fit_is_refused_by_its_field(
    changes: dict[str, Any], code: ProblemCode, pointer: str, remedy: str
) -> None:
    """Before anything is planned, with what would do."""
    found = layout_problem(**changes)

    assert found.code == code
    assert found.errors[0].pointer == f"/inputs/hangers/0{pointer}"
    assert remedy in (found.errors[0].remedy or found.remedy)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"x": 1}, "Field required"),
        ({"x": 1, "y": 1, "length": 0}, "greater than 0"),
        ({"x": 1, "y": 1, "turn": 90}, "not permitted"),
        (
            {"x": 1, "y": 1, "bit": {"kind": "keyhole", "diameter": 9, "neck": 9, "head_height": 4,
                                     "cutting_length": 12}},
            "thinner than its head",
        ),
        (
            {"x": 1, "y": 1, "bit": {"kind": "keyhole", "diameter": 9, "neck": 5, "head_height": 4,
                                     "cutting_length": 4}},
            "no neck is left over the head",
        ),
    ],
)  # fmt: skip
def test_what_is_no_hanger_is_refused(said: dict[str, Any], words: str) -> None:
    """A slot runs up, always; a bit must be a T."""
    with pytest.raises(ValidationError, match=words):
        Hanger.model_validate(said)


def test_a_bit_in_full_cuts_hangers_too() -> None:
    """Its usual depth has a lip of 3 mm at least."""
    bit = {"kind": "keyhole", "diameter": 8, "neck": 2.5, "head_height": 3, "cutting_length": 10}
    outcome = run_step("layout", ORDER | {"hangers": [{"x": 30, "y": 48, "bit": bit}]}, lambda _: b"", silent)
    [hanger] = read_design(outcome.files["design"], "").hangers

    assert (hanger.depth_mm, hanger.cutter.name) == (6, "keyhole-8mm")


def test_a_hanger_behind_the_carving_that_leaves_too_little_is_refused_in_planning() -> None:
    """A board of 13 mm and letters 2 mm deep before a slot of 9.525 mm."""
    thin = ORDER | CUT | {"board": ORDER["board"] | {"thickness": 13}, "hangers": [{"x": 60, "y": 26}]}
    found = run_here("sign", thin, Path(), run_step, silent, capabilities).problem

    assert found is not None
    assert found.code == ProblemCode.NOT_CUTTABLE
    assert "hanger 1 is 9.53 mm deep behind carving" in found.detail


def test_a_sign_with_hangers_is_proven_and_all_is_in_its_bundle() -> None:
    """The back's program first, its picture, its proof, and the same again from the unpacked bundle."""
    made = sign()
    assert made.problem is None, made.problem
    packed = zipfile.ZipFile(io.BytesIO(made.files["bundle"]))
    proof = json.loads(packed.read("proof.json"))

    assert "programs/01-back-keyhole-3-8in.ngc" in packed.namelist()
    assert packed.read("preview-back.png").startswith(b"\x89PNG")
    assert proof["passed"]
    assert proof["back"]["least_wood_mm"] == pytest.approx(19.05 - 9.525 - 2, abs=0.5)
    assert proof["inputs"]["programs"][0]["side"] == "back"
    assert "preview_back" in made.files


def test_a_proof_of_a_back_is_repeated_from_its_bundle(tmp_path: Path) -> None:
    """The unpacked files give the same proof."""
    zipfile.ZipFile(io.BytesIO(sign().files["bundle"])).extractall(tmp_path)
    proof = json.loads((tmp_path / "proof.json").read_text())
    again = run_here("verification", proof["inputs"], tmp_path, run_step, silent, capabilities)

    assert again.problem is None
    assert json.loads(again.files["proof"])["back"] == proof["back"]


def test_a_sign_without_hangers_has_no_picture_of_its_back() -> None:
    """Nothing is cut there."""
    plain = {key: value for key, value in ORDER.items() if key != "hangers"}
    made = run_here("sign", plain | CUT, Path(), run_step, silent, capabilities)

    assert made.problem is None
    assert "preview_back" not in made.files
    assert "back" not in json.loads(made.files["proof"])


def test_the_set_up_sheet_has_a_page_about_the_back() -> None:
    """How it is turned, where its zero is, the slots' places and figures in inches, what to mind."""
    document = pypdfium2.PdfDocument(sign().files["setup_sheet"])
    first, last = (
        " ".join(page.get_textpage().get_text_range().split()) for page in (document[0], document[1])
    )
    pages = len(document)
    document.close()

    assert pages == 2
    assert "2 slots to hang it by, cut first with the face down: see the last page" in first
    assert "face down" in first
    for words in (
        "THE BACK, CUT FIRST: FACE DOWN",
        "its lower edge stays below; left and right change places",
        "X 0.984 Y 1.890",
        "X 3.543 Y 1.890",
        "Run 01-back-keyhole-3-8in.ngc above the work first",
        "0.375 in",
        "0.188 in of wood over the screw's head carries the sign",
        "NEVER LIFT the bit in a slot",
        "shank thinner than 0.188 in",
        "lip 0.188 in",
        "0.375 in to the face, carving apart",
    ):
        assert words in last, words
    assert "mm" not in last.replace("MANIFEST", "")
