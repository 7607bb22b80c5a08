"""The views that an order asks for are drawn, each a file of its own, with the grain it says."""

import io

import pytest
from PIL import Image, ImageChops

from schemas.processes import PREVIEW_VIEWS, PROCESSES
from schemas.requests import VerificationInputs
from tests.workers.pipeline.test_proof_stage import BITS, BOTH
from workers.pipeline.outcome import Files
from workers.pipeline.proof_stage import verification
from workers.preview.views import VIEWS

BOARD = {"width": 60, "height": 40, "thickness": 10, "material": "western-redcedar"}


def drawn(preview: dict[str, object]) -> Files:
    """The files of a proof whose pictures are to be like this."""
    programs = [{"href": "theirs.nc", "bits": BITS, "name": "theirs.nc"}]
    inputs = VerificationInputs.model_validate({"programs": programs, "board": BOARD, "preview": preview})
    return verification(inputs, lambda _href: BOTH, lambda *_: None)


def test_every_view_that_can_be_asked_for_can_be_drawn() -> None:
    """The words of an order, the table of outputs and the rooms that draw agree."""
    assert set(PREVIEW_VIEWS) == set(VIEWS)
    outputs = PROCESSES["verification"].outputs
    assert {outputs[name].file for name in PREVIEW_VIEWS.values()} == {
        f"preview-{view}.png" for view in VIEWS
    }


def test_each_view_is_a_picture_and_without_asking_there_is_none() -> None:
    """PNG files beside the one from above."""
    files = drawn({"views": ["oblique", "section"]})
    for name in ("preview", "preview_oblique", "preview_section"):
        assert Image.open(io.BytesIO(files[name])).format == "PNG"
    assert "preview_close_up" not in files
    assert not set(PREVIEW_VIEWS.values()) & set(drawn({}))


@pytest.mark.parametrize(("grain", "is_same"), [(0, True), (90, False)])
def test_grain_runs_along_the_longer_side_unless_the_order_says_otherwise(
    grain: float, is_same: bool
) -> None:
    """A board 60 mm wide and 40 mm high has it along x."""
    usual, said = (
        Image.open(io.BytesIO(drawn(preview)["preview"])).convert("RGB") for preview in ({}, {"grain": grain})
    )
    assert (ImageChops.difference(usual, said).getbbox() is None) is is_same
